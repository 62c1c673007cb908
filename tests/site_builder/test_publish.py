"""Publishing: complete, repeatable, swapped in one step, and never to the harm of what is served."""

import fcntl
import hashlib
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from site_builder import publish as publishing
from site_builder.links import LinkLeadsNowhere, check_links
from site_builder.publish import CannotPublish, publish
from tests.site_builder.conftest import Site
from tests.site_builder.samples import a_04, a_fleet


def contents(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def builds_beside(folder: Path) -> list[str]:
    return sorted(p.name for p in (folder.parent / f".{folder.name}.builds").iterdir() if p.name.startswith("build-"))


def test_a_site_holds_its_pages_and_what_they_show_and_nothing_else(site: Site) -> None:
    beside = {p.relative_to(site.folder).as_posix() for p in site.folder.rglob("*") if p.is_file()} - set(site.pages())

    assert beside == {"build.json", "css/steelyard.css", "img/mark.svg"}


def test_every_internal_link_resolves(site: Site) -> None:
    links = [link for page in site.pages().values() for link in re.findall(r' href="([^"]*)"', page)]

    check_links(site.folder)

    assert len(links) > 1000


def test_a_link_that_leads_nowhere_is_found(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text('<a href="d/x/">x</a> <a href="#here">h</a> <p id="here">', encoding="utf-8")

    with pytest.raises(LinkLeadsNowhere, match="1 links lead nowhere, the first: index.html: d/x/"):
        check_links(tmp_path)


def test_a_link_to_a_place_that_is_not_on_the_page_is_found(tmp_path: Path) -> None:
    (tmp_path / "index.html").write_text('<a href="#gone">x</a>', encoding="utf-8")

    with pytest.raises(LinkLeadsNowhere, match="#gone"):
        check_links(tmp_path)


def test_no_page_reaches_outside_or_carries_a_script_or_a_style(site: Site) -> None:
    for name, page in site.pages().items():
        bare = page.replace('xmlns="http://www.w3.org/2000/svg"', "")
        assert not re.search(r"https?:", bare), name
        assert not re.search(r"<(script|style|iframe|object|embed|base|form|img)\b", bare), name
        assert not re.search(r"\s(style|on\w+)\s*=", re.sub(r'"[^"]*"', '""', bare)), name
        assert not re.search(r'(href|src)="(javascript:|//)', bare), name


def test_the_stylesheet_reaches_nowhere(site: Site) -> None:
    css = (site.folder / "css" / "steelyard.css").read_text(encoding="utf-8")

    assert "url(" not in css
    assert "@import" not in css


def test_ids_are_unique_on_every_page(site: Site) -> None:
    for name, page in site.pages().items():
        ids = re.findall(r' id="([^"]*)"', page)
        assert len(ids) == len(set(ids)), name


def test_two_builds_of_one_record_on_one_day_are_the_same_byte_for_byte(tmp_path: Path) -> None:
    for name in ("one", "two"):
        publish(a_fleet(), tmp_path / name)

    assert contents(tmp_path / "one") == contents(tmp_path / "two")


def test_the_build_names_its_log_entry_its_day_and_every_file_with_its_digest(site: Site) -> None:
    build = json.loads((site.folder / "build.json").read_text(encoding="utf-8"))
    files = {name: hashlib.sha256(data).hexdigest() for name, data in contents(site.folder).items()}
    del files["build.json"]

    assert (build["log_number"], build["as_of"]) == (4812, "2026-11-25")
    assert {page["path"]: page["sha256"] for page in build["pages"]} == files


def test_a_new_build_takes_the_place_of_the_old_one_which_is_removed(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    publish(a_fleet(), folder)
    before = folder.resolve()

    publish(replace(a_fleet(), as_of="2026-11-26"), folder)

    assert not before.exists()
    assert builds_beside(folder) == [folder.resolve().name]
    assert json.loads((folder / "build.json").read_text(encoding="utf-8"))["as_of"] == "2026-11-26"


@pytest.mark.parametrize("step", ["write_site", "check_links", "build_document", "_swap"])
def test_a_build_that_fails_at_any_step_leaves_the_served_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    folder = tmp_path / "site"
    publish(a_fleet(), folder)
    before = contents(folder)

    def fails(*_: object) -> None:
        raise OSError("no space left on device")

    monkeypatch.setattr(publishing, step, fails)
    with pytest.raises(OSError, match="no space left"):
        publish(replace(a_fleet(), as_of="2026-11-26"), folder)

    assert contents(folder) == before
    assert builds_beside(folder) == [folder.resolve().name]


def test_a_record_that_cannot_be_drawn_leaves_the_served_site(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    publish(a_fleet(), folder)
    before = contents(folder)
    broken = replace(a_04(), use={"may": "may use"})

    with pytest.raises(KeyError):
        publish(replace(a_fleet(), scales=(broken,)), folder)

    assert contents(folder) == before


def test_what_a_killed_build_left_behind_is_removed_by_the_next(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    publish(a_fleet(), folder)
    left = folder.resolve().parent / "build-killed"
    left.mkdir()
    (left / "index.html").write_text("half a page", encoding="utf-8")

    publish(a_fleet(), folder)

    assert builds_beside(folder) == [folder.resolve().name]


def test_two_builds_at_once_are_refused(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    publish(a_fleet(), folder)

    with (folder.resolve().parent / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        with pytest.raises(CannotPublish, match="being published already"):
            publish(a_fleet(), folder)


def test_a_folder_that_holds_something_else_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "notes.txt").write_text("mine", encoding="utf-8")

    with pytest.raises(CannotPublish, match="not a published site"):
        publish(a_fleet(), tmp_path / "site")

    assert (tmp_path / "site" / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_an_empty_folder_may_become_the_site(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()

    done = publish(a_fleet(), tmp_path / "site")

    assert (tmp_path / "site" / "index.html").is_file()
    assert done.pages == len(list((tmp_path / "site").resolve().rglob("*.html")))


def test_a_published_site_can_be_moved_with_its_builds_or_read_by_other_users(tmp_path: Path) -> None:
    publish(a_fleet(), tmp_path / "old" / "site")
    (tmp_path / "old").rename(tmp_path / "new")

    assert (tmp_path / "new" / "site" / "index.html").is_file()
    assert (tmp_path / "new" / "site").resolve().stat().st_mode & 0o005 == 0o005


def test_progress_is_told_for_every_page(tmp_path: Path) -> None:
    written: list[None] = []

    done = publish(a_fleet(), tmp_path / "site", lambda: written.append(None))

    assert len(written) == done.pages
