"""Pieces that may not be counted on: what their own life says against them, beside the register and the certificates."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from sqlalchemy import Connection

from api.metrology.judgement import Flag
from api.metrology.weight_life import Span, against_on
from api.queries.weight_events import spans_on_file


def held_on(connection: Connection, pieces: Iterable[str], on: date) -> dict[str, Span]:
    """Return the pieces that may not be counted on at the end of a day, each with the first thing that speaks against it."""
    spans = spans_on_file(connection, pieces)
    found = ((piece, against_on(spans[piece], on)) for piece in spans)
    return {piece: against[0] for piece, against in found if against}


def held_flags(
    connection: Connection, pieces: Sequence[str], start: datetime, end: datetime, pointers: Sequence[str]
) -> list[Flag]:
    """Return a flag for each piece that could not be counted on at any moment between two, pointing at where it is named."""
    spans = spans_on_file(connection, pieces)
    flags = []
    for piece, pointer in zip(pieces, pointers, strict=True):
        against = next((s for s in spans[piece] if s.speaks_against and s.overlaps(start, end)), None)
        if against is not None:
            flags.append(_flag(piece, against, pointer))
    return flags


def _flag(piece: str, span: Span, pointer: str) -> Flag:
    said = f"Piece {piece} could not be counted on then. {span.sentence} Whoever releases it says on which comparison."
    facts = {"piece": piece, "since": span.since.isoformat(), "event": span.event, "what": span.kind}
    return Flag("held-weight", said, facts, pointer)
