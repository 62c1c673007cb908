"""What happened to a scale between its calibrations: what of it is open, first, and the rest on the line of time."""

from collections.abc import Iterable, Sequence
from typing import Any

from api.records.documents import read_mass
from site_builder.cautions import caution
from site_builder.fleet import Fleet, Scale
from site_builder.markup import Child, Html, between, join, tag
from site_builder.page import Document
from site_builder.pages.fleet_lists import scale_link
from site_builder.pages.readings import sentences
from site_builder.pages.tables import section, table, text_columns, when
from site_builder.text import as_shown, capital, day

Entry = tuple[str, int, Child]


def open_section(scale: Scale) -> Html | None:
    """Return what is open about a scale, each with what was told and until what closes it, or None where nothing is."""
    if not scale.open_events:
        return None
    items = [
        _item(event, _told(event), _words(event), tag("p", _ends(event), class_="soft")) for event in scale.open_events
    ]
    seal = any(event["content"].get("seal_broken") for event in scale.open_events)
    return section("What is open", tag("ul", items, class_="line"), caution("C-04") if seal else None, id_="open")


def event_entries(scale: Scale) -> list[Entry]:
    """Return every event of a scale as an entry of its line of time."""
    return [(event["happened_on"], event["log_number"], _entry(event)) for event in scale.events]


def open_at_site(here: str, scales: Iterable[Scale]) -> Html | None:
    """Return what is open about the scales of a site in a table, or None where nothing is."""
    rows: list[list[Child]] = [
        [
            scale_link(here, scale),
            when(event["happened_on"], day(event["happened_on"])),
            join(_told(event), _words(event)),
            _ends(event),
        ]
        for scale in scales
        for event in scale.open_events
    ]
    columns = text_columns("Scale", "Happened", "What was told", "What closes it")
    return section("What is open about its scales", table(columns, rows, None, "scales"), id_="open") if rows else None


def open_on_front(here: str, fleet: Fleet, most: int) -> Html | None:
    """Return which scales of the fleet have something open, each with its newest matter, or None where none has."""
    concerned = [scale for scale in fleet.in_use if scale.open_events]
    if not concerned:
        return None
    items = [
        _item(scale.open_events[0], scale_link(here, scale), _told(scale.open_events[0])) for scale in concerned[:most]
    ]
    more = len(concerned) - most
    rest = tag("p", f"{more} more, on the pages of their sites.") if more > 0 else None
    return section("Told since they were last calibrated", tag("ul", items, class_="line"), rest, id_="told")


def _item(event: Document, *words: Child) -> Html:
    on = event["happened_on"]
    return tag("li", when(on, day(on)), tag("div", words))


def not_linked(events: Sequence[Document]) -> Html | None:
    """Return events of tags that are not on the register in a table, or None where there are none."""
    rows: list[list[Child]] = [
        [
            join(event["device"], tag("small", f"site {event['site']}")),
            when(event["happened_on"], day(event["happened_on"])),
            join(_told(event), _words(event)),
            sentences(event["flags"]),
        ]
        for event in events
    ]
    columns = text_columns("Told of", "Happened", "What was told", "Why it waits")
    heading = "Told about scales that are not on the register"
    return section(heading, table(columns, rows, None, "scales"), id_="not-linked") if rows else None


def _entry(event: Document) -> Html:
    facts = [_stands(event), f"told by {event['recorded_by']}", f"log entry {event['log_number']}"]
    return tag(
        "div", _told(event), _words(event), tag("p", between(" · ", facts), class_="soft"), sentences(event["flags"])
    )


def _told(event: Document) -> Html:
    return tag("p", f"{capital(_SAID[event['kind']](event)).removesuffix('.')}.")


def _report(event: Document) -> str:
    what = {"other": "trouble", "wrong unit": "shows another unit"}.get(event["what"], event["what"])
    return f"reported: {what}; reported for: {event['content']['reported_for']}"


def _check(event: Document) -> str:
    content = event["content"]
    known = content.get("known")
    load = as_shown(known["mass"]) if known else "pieces of the register"
    place = f", {content['position']}" if content.get("position") else ""
    verdict = event.get("verdict", "not judged")
    shown = read_mass(content["indication"]).shown
    return f"check in service with {load}{place}: it showed {shown}, {verdict} at this load and place only"


def _move(event: Document) -> str:
    content = event["content"]
    return f"moved to {content['site']}, {content['ward']}, {content['place']}: {content['reason']}"


def _limit(event: Document) -> str:
    content = event["content"]
    limited = f"limited to {as_shown(content['up_to'])} until {day(content['until'])}"
    return f"{limited} by {event['recorded_by']}: {content['reason']}"


def _repair(event: Document) -> str:
    seal = "; a seal was broken" if event["content"].get("seal_broken") else ""
    return f"{'sent for repair' if event['what'] == 'sent' else 'back from repair'}{seal}"


_SAID: dict[str, Any] = {
    "report": _report,
    "check": _check,
    "move": _move,
    "state": lambda event: f"{event['what']} from this day on: {event['content']['reason']}",
    "limit": _limit,
    "repair": _repair,
}


def _words(event: Document) -> Html | None:
    words = event["content"].get("words")
    return tag("p", f"“{words}”") if words else None


def _ends(event: Document) -> str:
    kind = event["leaves_open"]
    if kind in ("damaged", "other"):
        return "Open until a person closes it in words."
    if kind == "wrong unit":
        return "Open until it is found in the right unit and locked, or a person closes it in words."
    return "Open until a released calibration leaves it within tolerance, or a person closes it in words."


def _stands(event: Document) -> str | None:
    closed = event.get("closed")
    if event["open"]:
        return "open"
    if closed is None:
        return None
    on = day(closed["closed_at"][:10])
    if closed["closed_by"] == "a person":
        return f"closed on {on} by {closed['by_whom']}: “{closed['words']}”"
    return (
        f"closed by the calibration of {on}"
        if closed["closed_by"] == "a calibration"
        else f"closed by its return on {on}"
    )


def has_open(scale: Scale, *kinds: str) -> bool:
    """Return whether something of these kinds is open about a scale."""
    return any(event["leaves_open"] in kinds for event in scale.open_events)
