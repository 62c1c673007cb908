"""Checks a written site before it is served: every link leads to a page or file of the site, and to a place on it."""

import html
import posixpath
import re
from pathlib import Path
from typing import Final

from site_builder.refused import CannotPublish

_LINK: Final = re.compile(r' href="([^"]*)"')
_ID: Final = re.compile(r' id="([^"]*)"')


class LinkLeadsNowhere(CannotPublish):
    """A page of the site links to something that the site does not have."""


def check_links(folder: Path) -> None:
    """Follow every link of every page in a folder; refuses the first few that lead nowhere (`LinkLeadsNowhere`)."""
    pages = {path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8") for path in folder.rglob("*.html")}
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    places = {name: set(_ID.findall(text)) for name, text in pages.items()}
    broken = [
        f"{name}: {link}"
        for name, text in pages.items()
        for link in dict.fromkeys(_LINK.findall(text))
        if not _leads_somewhere(name, html.unescape(link), files, places)
    ]
    if broken:
        raise LinkLeadsNowhere(f"{len(broken)} links lead nowhere, the first: {'; '.join(broken[:5])}")


def _leads_somewhere(page: str, link: str, files: set[str], places: dict[str, set[str]]) -> bool:
    path, _, place = link.partition("#")
    target = page if not path else _target(page, path)
    if target not in files:
        return False
    return not place or place in places.get(target, set())


def _target(page: str, path: str) -> str:
    joined = posixpath.normpath(posixpath.join("/", posixpath.dirname(page), path)).lstrip("/")
    if path.endswith("/") or path in (".", ".."):
        return f"{joined}/index.html" if joined else "index.html"
    return joined
