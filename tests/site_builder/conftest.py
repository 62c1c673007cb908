"""The invented fleet, published once for every test that reads written pages."""

from dataclasses import dataclass
from pathlib import Path

import pytest

from site_builder.publish import publish
from tests.site_builder.samples import a_fleet


@dataclass(frozen=True)
class Site:
    """A published site on the disk."""

    folder: Path

    def page(self, address: str) -> str:
        """Return the written HTML of one address."""
        return (self.folder / address / "index.html").read_text(encoding="utf-8")

    def pages(self) -> dict[str, str]:
        """Return every written page, by its path in the site."""
        found = sorted(self.folder.rglob("*.html"))
        return {path.relative_to(self.folder).as_posix(): path.read_text(encoding="utf-8") for path in found}


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    folder = tmp_path_factory.mktemp("published") / "site"
    publish(a_fleet(), folder)
    return Site(folder.resolve())
