"""What is shown where the site has no page: that it is so, and the ways to what may have been meant."""

from site_builder import addresses
from site_builder.markup import Child, join, tag
from site_builder.page import Page

_WAYS = (
    (addresses.FIND, "every scale by its asset tag"),
    (addresses.CERTIFICATES, "every certificate by its number"),
    (addresses.SITES, "the sites and their wards"),
    (addresses.HOME, "the fleet today"),
)


def no_page() -> Page:
    """Return the page for an address that the site does not have."""
    here = addresses.NO_PAGE
    ways: list[Child] = [tag("li", tag("a", words, href=addresses.link(here, there))) for there, words in _WAYS]
    body = join(
        tag("h1", "There is no page at this address"),
        tag(
            "p",
            "A label's address is fixed for good. Where one leads here, compare it with the label letter by letter; a scale "
            "put on the register since the site was last published has its page after the next publishing.",
            class_="lead",
        ),
        tag("p", "Look among:"),
        tag("ul", ways),
    )
    return Page(here, "No such page", body, "")
