"""The lists that lead to everything: what is due when, every scale by tag, and every certificate."""

from itertools import groupby

from site_builder import addresses
from site_builder.fleet import Fleet, Scale
from site_builder.markup import Child, Html, join, tag
from site_builder.page import Document, Page, Touch, latest
from site_builder.pages.fleet_lists import answer_words, scale_link
from site_builder.pages.tables import section, table, text_columns, when
from site_builder.text import counted, day, month, number

_PRESSING = (("overdue", "Overdue"), ("due today", "Due today"), ("never calibrated", "Never calibrated"))


def due_page(fleet: Fleet) -> Page:
    """Return the due list: what presses first, then month by month."""
    here = addresses.DUE
    scales = sorted(fleet.in_use, key=lambda s: (s.due.get("due") or "", s.tag))
    parts: list[Child] = []
    for state, heading in _PRESSING:
        group = [s for s in scales if s.due["state"] == state]
        if group:
            parts.append(_group(here, heading, group))
    coming = [s for s in scales if s.due["state"] == "not yet due" and s.due.get("due")]
    for name, group_ in groupby(coming, key=lambda s: month(s.due["due"])):
        parts.append(_group(here, name, list(group_)))
    body = join(
        tag("h1", "Due list"),
        tag(
            "p",
            f"{counted(len(fleet.in_use), 'scale')} in service, by the day they are due. As of {day(fleet.as_of)}.",
            class_="label",
        ),
        parts or tag("p", "No scale is on the register."),
    )
    return Page(here, "Due list", body, "due", _touch(fleet))


def _group(here: str, heading: str, scales: list[Scale]) -> Html:
    rows: list[list[Child]] = [
        [
            scale_link(here, s),
            when(s.due["due"], day(s.due["due"])) if s.due.get("due") else "no date",
            answer_words(s),
            s.model["description"],
            join(s.ward["name"], tag("small", s.site["name"])),
            when(s.due["last_calibrated"], day(s.due["last_calibrated"])) if s.due.get("last_calibrated") else "never",
        ]
        for s in scales
    ]
    columns = text_columns("Scale", "Due", "May I use it", "What it is", "Ward", "Last calibrated")
    return section(f"{heading} · {number(len(scales))}", table(columns, rows, None, "scales by-day"))


def find_page(fleet: Fleet) -> Page:
    """Return every scale by tag, to be searched with the browser's own search."""
    here = addresses.FIND
    letters = [tag("a", first, href=f"#tag-{first.lower()}") for first in sorted({_first(s) for s in fleet.scales})]
    groups = [
        tag("section", tag("h2", letter, id=f"tag-{letter.lower()}"), _find_table(here, list(group)))
        for letter, group in groupby(sorted(fleet.scales, key=lambda s: (_first(s), s.tag)), key=_first)
    ]
    body = join(
        tag("h1", "Find a scale"),
        tag(
            "p",
            f"All {counted(len(fleet.scales), 'scale')} by asset tag, with serial and former tags. ",
            "Search this page with your browser (Ctrl F, or “find in page”).",
            class_="label",
        ),
        tag("nav", letters, class_="letters", aria_label="First letter of the tag") if len(letters) > 1 else None,
        groups,
    )
    return Page(here, "Find a scale", body, "find", _touch(fleet))


def _first(scale: Scale) -> str:
    return addresses.device(scale.tag)[2].upper()


def _find_table(here: str, scales: list[Scale]) -> Html:
    rows: list[list[Child]] = [
        [
            join(scale_link(here, s), _former(s)),
            s.device["serial"],
            join(s.model["description"], tag("small", s.model["kind"])),
            join(s.ward["name"], tag("small", f"{s.site['name']}, {s.device['place']}")),
            "retired" if s.retired else answer_words(s),
        ]
        for s in scales
    ]
    return table(text_columns("Scale", "Serial", "What it is", "Ward", "May I use it"), rows, None, "scales by-tag")


def _former(scale: Scale) -> Html | None:
    tags = scale.device.get("previous_tags") or []
    return tag("small", f"was {', '.join(tags)}") if tags else None


def certificates_page(fleet: Fleet) -> Page:
    """Return every certificate in each of its revisions, newest first, with what became of it."""
    here = addresses.CERTIFICATES
    stored = sorted(fleet.certificates, key=lambda c: c["log_number"], reverse=True)
    newest: dict[str, int] = {}
    for document in (one["document"] for one in stored):
        newest[document["number"]] = max(document["revision"], newest.get(document["number"], 1))
    rows: list[list[Child]] = [
        [
            tag("a", d["number"], href=addresses.link(here, _address(d, newest))),
            f"revision {d['revision']}",
            s["state"],
            tag("a", d["device"]["tag"], href=addresses.link(here, addresses.device(d["device"]["tag"]))),
            when(d["performed_from"], day(d["performed_from"])),
            when(d["issued_at"], day(d["issued_at"])),
            d["site"]["name"],
        ]
        for s in stored
        for d in (s["document"],)
    ]
    columns = text_columns("Certificate", "Revision", "State", "Scale", "Calibrated", "Issued", "Issued by")
    body = join(
        tag("h1", "Certificates"),
        table(columns, rows, f"{counted(len(rows), 'certificate')}, newest first", "scales")
        if rows
        else tag("p", "None has been issued yet."),
    )
    return Page(here, "Certificates", body, "certificates", _touch(fleet))


def _address(document: Document, newest: dict[str, int]) -> str:
    number, revision = document["number"], document["revision"]
    return addresses.certificate(number, None if revision == newest[number] else revision)


def _touch(fleet: Fleet) -> Touch:
    return latest([scale.touch for scale in fleet.scales] or [fleet.log])
