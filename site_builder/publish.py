"""Builds the whole site beside the one that is served, checks it, and swaps the two in one step.

The served folder is a symbolic link to a build. A new build is complete and checked before the link moves; one that
fails leaves everything as it was. Two builds of one record on one day are the same, byte for byte.
"""

import errno
import fcntl
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from site_builder.fleet import Fleet
from site_builder.links import check_links
from site_builder.mkdocs_site import write_site
from site_builder.refused import CannotPublish
from site_builder.whole_site import every_page

BUILD_FILE: Final = "build.json"
_VERSION: Final = "site-build/1"


@dataclass(frozen=True, slots=True)
class Published:
    """What was published: where, how many pages, of which log entry and day."""

    folder: Path
    pages: int
    log_number: int
    as_of: str


def publish(fleet: Fleet, into: Path, written: Callable[[], None] = lambda: None) -> Published:
    """Publish the whole site into a folder and return what was published; `written` is called after each page.

    Refuses a folder that holds something else, and a second build at the same time (`CannotPublish`).
    """
    builds = into.parent / f".{into.name}.builds"
    _check_target(into, builds)
    builds.mkdir(parents=True, exist_ok=True)
    with _alone(builds):
        _clear(builds, keep=_served(into))
        staged = Path(tempfile.mkdtemp(prefix="build-", dir=builds))
        try:
            count = _build(fleet, staged, written)
            _swap(into, staged)
        except BaseException:
            shutil.rmtree(staged, ignore_errors=True)
            raise
        _clear(builds, keep=staged)
    return Published(into, count, fleet.log.number, fleet.as_of)


def _check_target(into: Path, builds: Path) -> None:
    if into.is_symlink():
        if Path(os.readlink(into)).parent.name != builds.name:
            raise CannotPublish(f"{into} is a link to somewhere else. Name another folder, or remove the link.")
    elif into.exists() and (not into.is_dir() or any(into.iterdir())):
        raise CannotPublish(f"{into} holds something that is not a published site. Name another folder, or empty it.")


@contextmanager
def _alone(builds: Path) -> Iterator[None]:
    """Hold the lock of this site's builds; the system lets it go when the process ends, however it ends."""
    with (builds / "lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as refused:
            if refused.errno not in (errno.EACCES, errno.EAGAIN):
                raise
            raise CannotPublish("The site is being published already. Wait for that build to end.") from refused
        yield


def _served(into: Path) -> Path | None:
    return into.parent / os.readlink(into) if into.is_symlink() else None


def _clear(builds: Path, keep: Path | None) -> None:
    """Remove every build but one: what a killed build left, and the one that was served before."""
    for build in builds.glob("build-*"):
        if keep is None or build.name != keep.name:
            shutil.rmtree(build)


def _build(fleet: Fleet, folder: Path, written: Callable[[], None]) -> int:
    pages = every_page(fleet)
    write_site(pages, folder, written)
    check_links(folder)
    (folder / BUILD_FILE).write_text(build_document(fleet, folder), encoding="utf-8")
    folder.chmod(0o755)
    return len(pages)


def build_document(fleet: Fleet, folder: Path) -> str:
    """Return what a build says of itself: log entry, day, and every file with its digest."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    listed = [
        {"path": path.relative_to(folder).as_posix(), "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}
        for path in files
    ]
    document = {
        "version": _VERSION,
        "log_number": fleet.log.number,
        "log_moment": fleet.log.moment,
        "as_of": fleet.as_of,
        "pages": listed,
    }
    return json.dumps(document, indent=1, ensure_ascii=False) + "\n"


def _swap(into: Path, staged: Path) -> None:
    """Point the served name at the new build in one step, once everything is on the disk."""
    os.sync()
    if into.is_dir() and not into.is_symlink():
        into.rmdir()
    aside = staged.parent / "next"
    aside.unlink(missing_ok=True)
    aside.symlink_to(Path(staged.parent.name) / staged.name)
    os.replace(aside, into)
