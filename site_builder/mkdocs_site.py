"""Writes pages as a site with MkDocs, in process: the only file that knows MkDocs.

Bodies arrive as ready HTML; Markdown never runs on them, there is no navigation tree, no search index, no site map.
Any warning of MkDocs fails the build.
"""

import logging
import tempfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import jinja2
from mkdocs.commands.build import build
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import MkDocsException
from mkdocs.plugins import BasePlugin
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page as MkDocsPage

from site_builder import addresses, text
from site_builder.page import Page
from site_builder.refused import CannotPublish
from site_builder.whole_site import section_address

THEME: Final = Path(__file__).parent / "theme"
SECTIONS: Final = (
    ("today", "Today"), ("sites", "Sites"), ("find", "Scales"), ("due", "Due"), ("certificates", "Certificates"),
)  # fmt: skip


class SiteNotWritten(CannotPublish):
    """MkDocs refused a page or the configuration, or warned of something."""


def write_site(pages: Sequence[Page], folder: Path, written: Callable[[], None] = lambda: None) -> None:
    """Write every page into a folder, with the stylesheet and the mark beside them; `written` is called after each.

    Refuses whatever MkDocs refuses or warns of (`SiteNotWritten`).
    """
    with tempfile.TemporaryDirectory() as no_documents:
        config = _configured(Path(no_documents), folder)
        config.plugins["steelyard"] = _ReadyPages({_source(page.address): page for page in pages}, written)
        try:
            build(config)
        except MkDocsException as refused:
            raise SiteNotWritten(f"The pages were not written: {refused}") from refused


def _configured(no_documents: Path, folder: Path) -> MkDocsConfig:
    """The whole configuration in code; MkDocs brings two templates of its own that the site does not want."""
    config = MkDocsConfig()
    config.load_dict(
        {
            "site_name": "Steelyard",
            "docs_dir": str(no_documents),
            "site_dir": str(folder),
            "theme": {"name": None, "custom_dir": str(THEME)},
            "plugins": [],
            "use_directory_urls": True,
            "strict": True,
        }
    )
    errors, warnings = config.validate()
    if errors or warnings:
        raise SiteNotWritten(f"The configuration was not accepted: {[*errors, *warnings]}")
    config.theme.static_templates -= {"404.html", "sitemap.xml"}
    return config


def _source(address: str) -> str:
    """The name a page goes by inside MkDocs, which puts `a/b.md` at `a/b/`."""
    return f"{address.removesuffix('/')}.md" if address else "index.md"


class _NoOptions(Config):  # type: ignore[no-untyped-call]  # MkDocs does not type what makes a plugin class
    """The pages need no option of MkDocs."""


class _ReadyPages(BasePlugin[_NoOptions]):  # type: ignore[no-untyped-call]  # the same
    """Hands MkDocs the pages one by one, ready made."""

    def __init__(self, pages: Mapping[str, Page], written: Callable[[], None]) -> None:
        super().__init__()
        self._pages = pages
        self._written = written

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Name every page as a file that exists only here; a template of MkDocs that is not drawn is not copied either."""
        if (left := files.get_file_from_path("sitemap.xml")) is not None:
            files.remove(left)
        for source, page in self._pages.items():
            file = File.generated(config, source, content="", inclusion=InclusionLevel.NOT_IN_NAV)
            if page.address.endswith(".html"):  # a file at its own name, not a folder with an index
                file.dest_uri = file.url = page.address
            files.append(file)
        return files

    def on_env(self, env: jinja2.Environment, *, config: MkDocsConfig, files: Files) -> jinja2.Environment:
        """Give the template the same escaping and the same way of saying numbers and moments as the pages."""
        env.filters |= {"text": text.escaped, "number": text.number, "moment": text.moment}
        return env

    def on_page_content(self, html: str, *, page: MkDocsPage, config: MkDocsConfig, files: Files) -> str:
        """Return the body that was made before."""
        return self._pages[page.file.src_uri].body

    def on_page_context(self, context: Any, *, page: MkDocsPage, config: MkDocsConfig, nav: Any) -> Any:
        """Give the template the page and the links at its head."""
        ours = self._pages[page.file.src_uri]
        links = [
            {"name": name, "href": addresses.link(ours.address, section_address(key)), "here": key == ours.section}
            for key, name in SECTIONS
        ]
        context |= {"ours": ours, "sections": links, "root": addresses.root_from(ours.address)}
        return context

    def on_post_page(self, output: str, *, page: MkDocsPage, config: MkDocsConfig) -> str:
        """Count a page as written."""
        self._written()
        return output


logging.getLogger("mkdocs").setLevel(logging.WARNING)
