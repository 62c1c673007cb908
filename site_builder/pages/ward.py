"""A ward's page: what it uses weights for, whom to call, and each of its scales with the answer on use."""

from typing import Any

from site_builder import addresses
from site_builder.cautions import caution
from site_builder.fleet import Fleet
from site_builder.markup import Child, Html, join, tag
from site_builder.page import Page, latest
from site_builder.pages.device_cautions import unit_is_locked
from site_builder.pages.fleet_lists import answer_tiles, scales_table
from site_builder.pages.tables import facts, section
from site_builder.text import as_shown, listed, number

_TIERS = {
    "dose-critical": "dose-critical: a dose is counted from the weight",
    "monitoring": "monitoring: a change of weight is watched",
    "record": "record: the weight is written down",
}


def ward_page(fleet: Fleet, ward: dict[str, Any]) -> Page:
    """Return the page of one ward."""
    here = addresses.ward(ward["code"])
    scales = fleet.scales_of_ward.get(ward["code"], ())
    site = next(s for s in fleet.sites if s["code"] == ward["site"])
    site_link = tag("a", site["name"], href=addresses.link(here, addresses.site(site["code"])))
    standing = [s for s in scales if not s.retired]
    body = join(
        tag("p", site_link, class_="where"),
        tag("h1", ward["name"]),
        tag("p", _call(ward), class_="lead"),
        caution("C-18") if ward.get("magnet_zone") else None,
        answer_tiles(standing),
        section("The scales of this ward", scales_table(here, scales) if scales else tag("p", "No scale stands here.")),
        caution("C-03", _unlocked(fleet, ward)),
        section("What this ward needs", facts(_needs(ward))),
    )
    touches = [fleet.place_touches["ward", ward["code"]], *(scale.touch for scale in scales)]
    return Page(here, ward["name"], body, "sites", latest(touches))


def _call(ward: dict[str, Any]) -> Html:
    return join(
        "A scale reads oddly, was dropped or moved? Call ",
        tag("strong", f"{ward['call_role']}, {ward['call_number']}"),
        ".",
    )


def _unlocked(fleet: Fleet, ward: dict[str, Any]) -> str:
    scales = fleet.scales_of_ward.get(ward["code"], ())
    open_ = [s.tag for s in scales if not s.retired and not unit_is_locked(s)]
    return f"The unit is not known to be locked on {listed(open_)}. " if open_ else ""


def _needs(ward: dict[str, Any]) -> list[tuple[str, Child]]:
    limit = ward.get("clinical_limit") or {}
    bounds = [
        as_shown(limit["mass"]) if limit.get("mass") else "",
        f"{number(limit['percent'])} % of the weight" if limit.get("percent") else "",
    ]
    said = listed((b for b in bounds if b), "or")
    source = f" ({limit['source']})" if limit.get("source") else ""
    per_day = ward.get("weighings_per_day")
    return [
        ("Uses weights for", _TIERS[ward["use_tier"]]),
        ("Largest error that does not matter here", f"{said}{source}" if said else "not stated by the ward"),
        ("Weighings a day, about", number(per_day) if per_day is not None else None),
        ("Infection", "flagged: ask before going in; clean before and after" if ward.get("infection_flag") else None),
        ("Magnet zone", "yes: no test weights inside" if ward.get("magnet_zone") else None),
        ("Ward code", ward["code"]),
    ]
