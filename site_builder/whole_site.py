"""Every page of the site, made from what was gathered. Pure: the same fleet gives the same pages, in the same order."""

from collections.abc import Iterator

from site_builder import addresses
from site_builder.fleet import Fleet
from site_builder.page import Document, Page
from site_builder.pages.certificate import certificate_page
from site_builder.pages.device import device_page, moved_page
from site_builder.pages.home import home_page
from site_builder.pages.lists import certificates_page, due_page, find_page
from site_builder.pages.no_page import no_page
from site_builder.pages.plan import plan_page
from site_builder.pages.problem import problem_page, problems_page
from site_builder.pages.site import site_page, sites_page
from site_builder.pages.ward import ward_page
from site_builder.refused import CannotPublish


class TwoPagesOneAddress(CannotPublish):
    """Two things of the record fold to the same address, so that one page would hide the other."""


def every_page(fleet: Fleet) -> tuple[Page, ...]:
    """Return every page, each address once; refuses two pages for one address (`TwoPagesOneAddress`)."""
    pages: dict[str, Page] = {}
    for page in _pages(fleet):
        if page.address in pages:
            raise TwoPagesOneAddress(
                f"{pages[page.address].title!r} and {page.title!r} share the address {page.address}."
            )
        pages[page.address] = page
    return tuple(pages[address] for address in sorted(pages))


def page_count(fleet: Fleet) -> int:
    """Return how many pages a fleet has, without drawing them."""
    former = sum(len(scale.device.get("previous_tags") or []) for scale in fleet.scales)
    listed = 6 + (1 + len(fleet.problems) if fleet.problems else 0)
    planned = sum(1 for scale in fleet.scales if scale.plan)
    return listed + planned + len(fleet.sites) + len(fleet.wards) + len(fleet.scales) + former + len(fleet.certificates)


def _pages(fleet: Fleet) -> Iterator[Page]:
    yield from (home_page(fleet), sites_page(fleet), due_page(fleet), find_page(fleet), certificates_page(fleet))
    yield no_page()
    yield from (site_page(fleet, site) for site in fleet.sites)
    yield from (ward_page(fleet, ward) for ward in fleet.wards)
    for scale in fleet.scales:
        yield device_page(fleet, scale)
        if scale.plan:
            yield plan_page(scale, scale.plan)
        yield from (moved_page(tag, scale) for tag in scale.device.get("previous_tags") or [])
    yield from _certificates(fleet)
    if fleet.problems:
        yield problems_page(fleet)
        yield from (problem_page(problem) for problem in fleet.problems)


def _certificates(fleet: Fleet) -> Iterator[Page]:
    revisions: dict[str, list[int]] = {}
    for stored in fleet.certificates:
        revisions.setdefault(stored["document"]["number"], []).append(stored["document"]["revision"])
    for stored in fleet.certificates:
        document = stored["document"]
        due = _due_printed(fleet, document)
        waits = fleet.waiting_amendments.get((document["site"]["code"], document["calibration"]))
        yield certificate_page(stored | {"amendment": waits}, revisions[document["number"]], unit_of(document), due)


def unit_of(document: Document) -> str:
    """Return the unit a certificate is written in: grams for a balance that shows grams, else kilograms."""
    units = {r["d"]["unit"] for r in document["model"]["ranges"]}
    return "g" if units <= {"g", "mg"} else "kg"


def _due_printed(fleet: Fleet, document: Document) -> str | None:
    """The due date, only where the policy the certificate was made under puts it there, and it is the newest visit."""
    if not (document.get("policy") or {}).get("due_date_on_certificate"):
        return None
    scale = fleet.scale_of_tag.get(document["device"]["tag"])
    newest = scale.newest if scale else None
    if scale is None or newest is None or newest["calibration"] != document["calibration"]:
        return None
    due = scale.due.get("due")
    return str(due) if due else None


def section_address(section: str) -> str:
    """Return the address that a part of the site begins at, for the links at the head of every page."""
    return {"today": addresses.HOME, "sites": addresses.SITES, "due": addresses.DUE, "find": addresses.FIND,
            "certificates": addresses.CERTIFICATES, "problems": addresses.PROBLEMS}[section]  # fmt: skip
