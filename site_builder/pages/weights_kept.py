"""The weights that a site keeps: class, certificate in force, whether each may be counted on, and what happened to it."""

from collections.abc import Sequence
from typing import Final

from site_builder.fleet import HeldWeight
from site_builder.markup import Child, Html, tag
from site_builder.page import Document
from site_builder.pages.register_notes import register_notes
from site_builder.pages.tables import Column, section, table, unfold, when
from site_builder.text import as_shown, counted, day, moment, with_days

MOST_EVENTS: Final = 3


def weights_kept(weights: Sequence[HeldWeight]) -> Html | None:
    """Return a site's weights by code, folded unless one of them has a note or is held; None where it keeps none."""
    if not weights:
        return None
    rows: list[list[Child]] = [
        [
            held.weight["code"],
            as_shown(held.weight["nominal"]),
            held.weight["weight_class"],
            _state(held),
            held.certificate or "none in force",
            when(held.valid_to, day(held.valid_to)) if held.valid_to else None,
            _events((held.life or {}).get("events", ())),
            register_notes(held.notes),
        ]
        for held in weights
    ]
    noted, stay = sum(1 for held in weights if held.notes), sum(1 for held in weights if _against(held))
    columns = (
        Column("Piece"), Column("Nominal", numeric=True), Column("Class"), Column("State"), Column("Certificate"),
        Column("Valid to"), Column("What happened last"), Column("To be looked at"),
    )  # fmt: skip
    said = f"{counted(len(weights), 'piece')}, {noted} with something to be looked at, {stay} not to be counted on"
    return section("Weights kept here", unfold(said, table(columns, rows), open_=noted + stay > 0), id_="weights")


def _against(held: HeldWeight) -> list[Document]:
    return list((held.life or {}).get("why", ()))


def _state(held: HeldWeight) -> Child:
    """The register's word, where nothing speaks against the piece; else that it may not be counted on, and why."""
    against = _against(held)
    if against:
        why = " ".join(with_days(reason["sentence"]) for reason in against)
        return [tag("strong", "Do not count on it."), f" {why}"]
    out = (held.life or {}).get("out")
    return f"{held.weight['state']}, out with {out['by']}" if out else held.weight["state"]


def _events(events: Sequence[Document]) -> Child:
    """Moment and kind only: what was typed beside them stands on no page."""
    return (
        tag("ul", [tag("li", f"{moment(e['counts_from'])}: {e['kind']}") for e in events[:MOST_EVENTS]])
        if events
        else None
    )
