"""The addresses of the published pages, fixed for good because labels carry them, and the links between them.

Every link is relative, so that a site can be read from any folder or host, and from a disk. One page's are not: what is
shown in place of a page that is not there stands at whatever address was asked for.
"""

from api.records.addresses import folded

HOME = ""
SITES = "s/"
DUE = "due/"
FIND = "find/"
CERTIFICATES = "c/"
PROBLEMS = "problems/"
# A file, not a folder: servers of static files look for it under this name.
NO_PAGE = "404.html"


def device(tag: str) -> str:
    """Return the address of a scale's page, by its asset tag."""
    return f"d/{folded(tag)}/"


def plan(tag: str) -> str:
    """Return the address of a scale's plan sheet."""
    return f"{device(tag)}plan/"


def certificate(number: str, revision: int | None = None) -> str:
    """Return the address of a certificate; with a revision, that of an earlier revision kept beside the newest."""
    return f"c/{folded(number)}/" + (f"{revision}/" if revision is not None else "")


def ward(code: str) -> str:
    """Return the address of a ward's page."""
    return f"w/{folded(code)}/"


def site(code: str) -> str:
    """Return the address of a site's page."""
    return f"s/{folded(code)}/"


def problem(code: str) -> str:
    """Return the address of the page that explains one type of problem the service answers with."""
    return f"problems/{folded(code)}/"


def root_from(here: str) -> str:
    """Return the way from a page back to the root: `../../` from `d/a-04/`, `./` from the home page.

    From the page for what is not there it is the root of the host.
    """
    if here == NO_PAGE:
        return "/"
    return "../" * here.count("/") or "./"


def link(here: str, there: str) -> str:
    """Return the relative link from one page to another, or to a file of the site."""
    return root_from(here) + there
