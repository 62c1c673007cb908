"""The weights that a site keeps: class, certificate in force, and where the two do not agree."""

from collections.abc import Sequence

from site_builder.fleet import HeldWeight
from site_builder.markup import Child, Html
from site_builder.pages.register_notes import register_notes
from site_builder.pages.tables import Column, section, table, unfold, when
from site_builder.text import as_shown, counted, day


def weights_kept(weights: Sequence[HeldWeight]) -> Html | None:
    """Return a site's weights by code, folded unless one of them has a note; None where it keeps none."""
    if not weights:
        return None
    rows: list[list[Child]] = [
        [
            held.weight["code"],
            as_shown(held.weight["nominal"]),
            held.weight["weight_class"],
            held.weight["state"],
            held.certificate or "none in force",
            when(held.valid_to, day(held.valid_to)) if held.valid_to else None,
            register_notes(held.notes),
        ]
        for held in weights
    ]
    noted = sum(1 for held in weights if held.notes)
    columns = (
        Column("Piece"), Column("Nominal", numeric=True), Column("Class"), Column("State"), Column("Certificate"),
        Column("Valid to"), Column("To be looked at"),
    )  # fmt: skip
    said = f"{counted(len(weights), 'piece')}, {noted} with something to be looked at"
    return section("Weights kept here", unfold(said, table(columns, rows), open_=noted > 0), id_="weights")
