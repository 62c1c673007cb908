"""May I use this piece, or this set, today, and why not: the register, the certificate in force, and its own life."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import Connection

from api.metrology.weight_life import Span, against_on
from api.metrology.weights import Piece
from api.queries.register import in_force
from api.queries.weight_events import events_of_pieces, events_of_set, spans_on_file
from api.queries.weights import pieces_on
from api.records.weight import Weight, WeightSet
from api.records.weight_event import AgainstPiece, OutWith, PieceOfSet, StoredWeightEvent, WeightLife, WeightSetLife

MOST_EVENTS = 100


def life_of_weight(connection: Connection, code: str, on: date) -> WeightLife:
    """Return whether a piece may be counted on, on a day, why not, and its last events; refuses one not on the register then
    (`NotOnRecord`)."""
    weight: Weight = in_force(connection, "weight", code, on=on).record
    piece, spans = pieces_on(connection, (code,), on)[code], spans_on_file(connection, (code,))[code]
    why = _why(weight, piece, spans, on)
    said = piece.certificate
    return WeightLife(
        code, on, not why, why, events_of_pieces(connection, (code,))[:MOST_EVENTS],
        said.number if said else None, said.valid_to if said else None, _out(spans, on),
    )  # fmt: skip


def life_of_set(connection: Connection, code: str, on: date) -> WeightSetLife:
    """Return whether a set may be used on a day, each of its pieces, and its last events; refuses one not on the register
    then (`NotOnRecord`)."""
    held: WeightSet = in_force(connection, "weight set", code, on=on).record
    members = tuple(m.piece for m in held.members if m.since <= on and (m.to is None or on <= m.to))
    spans = spans_on_file(connection, members)
    pieces = tuple(_of_set(connection, piece, spans[piece], on) for piece in members)
    good = sum(piece.may_be_used for piece in pieces)
    out = [piece.out for piece in pieces if piece.out is not None]
    return WeightSetLife(
        code, on, "none of it" if not good else "all of it" if good == len(pieces) else "not all of it", pieces,
        tuple(piece.piece for piece in pieces if any(why.code == "missing" for why in piece.why)),
        _events(connection, code, members), max(out, key=lambda o: o.since, default=None),
    )  # fmt: skip


def _events(connection: Connection, code: str, members: Sequence[str]) -> tuple[StoredWeightEvent, ...]:
    found = {event.event: event for event in events_of_set(connection, code)}
    found |= {event.event: event for event in events_of_pieces(connection, members)}
    newest = sorted(found.values(), key=lambda e: (e.counts_from, e.event), reverse=True)
    return tuple(newest[:MOST_EVENTS])


def _of_set(connection: Connection, code: str, spans: Sequence[Span], on: date) -> PieceOfSet:
    weight: Weight = in_force(connection, "weight", code, on=on).record
    why = _why(weight, pieces_on(connection, (code,), on)[code], spans, on)
    return PieceOfSet(code, not why, why, _out(spans, on))


def _why(weight: Weight, piece: Piece, spans: Sequence[Span], on: date) -> tuple[AgainstPiece, ...]:
    found = [AgainstPiece(s.kind.replace(" ", "-"), s.sentence, s.on, s.event) for s in against_on(spans, on)]
    if weight.state != "active":
        found.append(AgainstPiece("not-active", f"The register has it as {weight.state}."))
    if piece.certificate is None:
        ended = f" {piece.lapsed[0]} ended on {piece.lapsed[1].isoformat()}." if piece.lapsed else ""
        found.append(AgainstPiece("no-certificate", f"No certificate of it is in force that day.{ended}"))
    return tuple(found)


def _out(spans: Sequence[Span], on: date) -> OutWith | None:
    out = next((span for span in spans if span.kind == "out" and span.is_on(on)), None)
    return None if out is None else OutWith(out.by, out.round, out.since)
