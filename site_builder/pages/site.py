"""A site's page: where it is, its gravity, its wards and their scales; and the list of all sites."""

from typing import Any

from site_builder import addresses
from site_builder.cautions import caution
from site_builder.fleet import Fleet
from site_builder.markup import Child, Html, join, tag
from site_builder.page import Page, Touch, latest
from site_builder.pages.device_events import not_linked, open_at_site
from site_builder.pages.fleet_lists import COUNT_COLUMNS, answer_tiles, counts_row, scales_table
from site_builder.pages.tables import Column, facts, section, table
from site_builder.pages.unlinked import unlinked
from site_builder.pages.weights_kept import weights_kept
from site_builder.text import MINUS, counted, number


def sites_page(fleet: Fleet) -> Page:
    """Return the list of all sites."""
    here = addresses.SITES
    rows: list[list[Child]] = [
        [
            tag("a", site["name"], href=addresses.link(here, addresses.site(site["code"]))),
            number(len(fleet.wards_of_site.get(site["code"], ()))),
            *counts_row(fleet.scales_of_site.get(site["code"], ())),
        ]
        for site in fleet.sites
    ]
    columns = (Column("Site"), Column("Wards", numeric=True), *COUNT_COLUMNS)
    body = join(tag("h1", "Sites"), table(columns, rows, "Scales by the answer to “may I use it”", "counts"))
    touches = [fleet.place_touches["site", site["code"]] for site in fleet.sites]
    touches += [scale.touch for scale in fleet.scales]
    return Page(here, "Sites", body, "sites", latest(touches or [fleet.log]))


def site_page(fleet: Fleet, site: dict[str, Any]) -> Page:
    """Return the page of one site."""
    here = addresses.site(site["code"])
    scales = fleet.scales_of_site.get(site["code"], ())
    wards = fleet.wards_of_site.get(site["code"], ())
    waiting = [item for item in fleet.unlinked if item["site"] == site["code"]]
    told = [event for event in fleet.not_linked if event["site"] == site["code"]]
    weights = [held for held in fleet.weights if held.weight["site"] == site["code"]]
    standing = [s for s in scales if not s.retired]
    gravity = site.get("gravity") or {}
    body = join(
        tag("p", tag("a", "Sites", href=addresses.link(here, addresses.SITES)), class_="where"),
        tag("h1", site["name"]),
        tag(
            "p",
            f"Site {site['code']} · {counted(len(wards), 'ward')} · {counted(len(standing), 'scale')} in service",
            class_="label",
        ),
        answer_tiles(standing),
        open_at_site(here, standing),
        [_ward(here, fleet, ward) for ward in wards],
        unlinked(waiting),
        not_linked(told),
        weights_kept(weights),
        section("The place", facts(_place(site, gravity)), caution("C-13") if gravity else None),
    )
    touches = [fleet.place_touches["site", site["code"]], *(scale.touch for scale in scales)]
    touches += [fleet.place_touches["ward", ward["code"]] for ward in wards]
    touches += [held.touch for held in weights]
    touches += [Touch(item["log_number"], item["received_at"]) for item in (*waiting, *told)]
    return Page(here, site["name"], body, "sites", latest(touches))


def _ward(here: str, fleet: Fleet, ward: dict[str, Any]) -> Html:
    scales = fleet.scales_of_ward.get(ward["code"], ())
    link = tag("a", ward["name"], href=addresses.link(here, addresses.ward(ward["code"])))
    caption = f"{ward['use_tier']} · call {ward['call_role']}, {ward['call_number']}"
    inside = (
        scales_table(here, scales, caption) if scales else tag("p", f"No scale stands here. {caption}", class_="soft")
    )
    return tag("section", tag("h2", link), inside)


def _place(site: dict[str, Any], gravity: dict[str, Any]) -> list[tuple[str, Child]]:
    required = "required here" if site.get("legal_verification_required") else "not required here"
    g = (
        f"{gravity['g_m_s2']} m/s², standard uncertainty {gravity['standard_uncertainty_m_s2']} m/s²"
        if gravity
        else "not on the register"
    )
    return [
        ("Gravity", g),
        ("Where it comes from", gravity.get("source")),
        ("Latitude", f"{site['latitude_deg']}°".replace("-", MINUS)),
        ("Height", f"{number(site['height_m'])} m"),
        ("Time zone", site["time_zone"]),
        ("Local code", site.get("local_code")),
        ("Legal verification", required),
    ]
