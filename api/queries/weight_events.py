"""Events of weights read: by their id, and all that speak of some pieces, as the rule of their life sees them.

An event moves the log's register number, so that what was read is kept until the next one, as the register is.
"""

import json
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, or_, select

from api.ledger.digests import digest_of
from api.metrology.comparison import Comparison
from api.metrology.weight_life import MadeOn, Span, WeightEvent, spans_of
from api.models.log import LOG_TOUCH, SEALED
from api.models.weight_event import WEIGHT_EVENT, WEIGHT_EVENT_PIECE
from api.queries.register import certificates_of, chains_of, derived
from api.records.calibration import StoredFlag
from api.records.documents import record_from
from api.records.problems import NotOnRecord
from api.records.weight_event import StoredWeightEvent

E, P = WEIGHT_EVENT, WEIGHT_EVENT_PIECE
TOUCHED = "weight event"


def weight_event_sent(connection: Connection, site: str, event: str) -> bytes | None:
    """Return the bytes first sent under an id at a site, or None where none were."""
    query = select(SEALED.c.content).join(E, SEALED.c.digest == E.c.sealed).where(E.c.site == site, E.c.event == event)
    return connection.execute(query).scalar()


def weight_event(connection: Connection, event: str, site: str | None = None) -> StoredWeightEvent:
    """Return the event of an id; refuses one that is not on record, or that several sites have (`NotOnRecord`).

    Weights travel: what happened to them is everybody's.
    """
    query = _rows().where(E.c.event == event)
    found = connection.execute(query if site is None else query.where(E.c.site == site)).all()
    if len(found) == 1:
        return _stored(found[0])
    said = f"{len(found)} sites have an event {event}; say which with site=." if found else "It is not on record."
    raise NotOnRecord(said, event=event)


def events_of_pieces(connection: Connection, pieces: Sequence[str]) -> tuple[StoredWeightEvent, ...]:
    """Return all events that name one of some pieces, and every count of a set that one went out with, the newest first."""
    asked = ("events of pieces", tuple(pieces))
    return derived(connection, asked, lambda: _events_of_pieces(connection, pieces))


def _events_of_pieces(connection: Connection, pieces: Sequence[str]) -> tuple[StoredWeightEvent, ...]:
    named = select(P.c.event).where(P.c.site == E.c.site, P.c.event == E.c.event, P.c.piece.in_(pieces)).exists()
    sets = select(E.c.weight_set).where(E.c.kind == "checked out", named).distinct()
    went_out = [row.weight_set for row in connection.execute(sets)]
    counts = (E.c.kind == "counted in") & E.c.weight_set.in_(went_out)
    return _newest_first(connection.execute(_rows().where(or_(named, counts))))


def events_of_set(connection: Connection, weight_set: str) -> tuple[StoredWeightEvent, ...]:
    """Return all check-outs and counts of a set, the newest first."""
    return derived(
        connection,
        ("events of set", weight_set),
        lambda: _newest_first(connection.execute(_rows().where(E.c.weight_set == weight_set))),
    )


def spans_on_file(connection: Connection, pieces: Iterable[str]) -> dict[str, tuple[Span, ...]]:
    """Return for each piece everything that was so with it, by the events and certificates on record."""
    codes = tuple(dict.fromkeys(pieces))
    return derived(connection, ("spans", codes), lambda: _spans(connection, codes))


def _spans(connection: Connection, codes: Sequence[str]) -> dict[str, tuple[Span, ...]]:
    events = [_as_seen(event) for event in events_of_pieces(connection, codes)]
    if not events:
        return dict.fromkeys(codes, ())
    numbers = certificates_of(connection, codes)
    made = _made_on(connection, {number for found in numbers.values() for number in found})
    return {code: spans_of(code, events, {n: made[n] for n in numbers[code] if n in made}) for code in codes}


def life_on_file(connection: Connection, piece: str) -> tuple[tuple[WeightEvent, ...], dict[str, MadeOn]]:
    """Return what the spans of a piece follow from: its events, and when the certificates that speak for it were made."""
    events = tuple(_as_seen(event) for event in events_of_pieces(connection, (piece,)))
    return events, _made_on(connection, certificates_of(connection, (piece,))[piece])


def _made_on(connection: Connection, numbers: Iterable[str]) -> dict[str, MadeOn]:
    chains = chains_of(connection, "weight certificate", numbers)
    return {
        number: MadeOn(chain[-1].record.calibrated_on, chain[-1].record.valid_from)
        for number, chain in chains.items()
        if chain
    }


def _as_seen(event: StoredWeightEvent) -> WeightEvent:
    content = event.content
    basis = content.get("comparison")
    return WeightEvent(
        event.event, event.kind, event.counts_from, event.happened_on, event.pieces,
        content.get("by") or event.recorded_by, event.weight_set, content.get("round"), event.verdict,
        basis.lower() if basis else None, content.get("certificate"),
    )  # fmt: skip


def _rows() -> Select[Any]:
    touch = (LOG_TOUCH.c.kind == TOUCHED) & (LOG_TOUCH.c.key == E.c.site + "/" + E.c.event)
    return (
        select(E, SEALED.c.content, LOG_TOUCH.c.number)
        .join(SEALED, SEALED.c.digest == E.c.sealed)
        .join(LOG_TOUCH, touch)
    )


def _newest_first(rows: Iterable[Row[Any]]) -> tuple[StoredWeightEvent, ...]:
    return tuple(sorted((_stored(row) for row in rows), key=lambda e: (e.counts_from, e.event), reverse=True))


def _stored(row: Row[Any]) -> StoredWeightEvent:
    content = json.loads(row.content)
    return StoredWeightEvent(
        event=row.event,
        site=row.site,
        kind=row.kind,
        happened_at=content["happened_at"],
        happened_on=date.fromisoformat(row.happened_on),
        counts_from=datetime.fromisoformat(row.happened_at),
        received_at=datetime.fromisoformat(row.received_at),
        recorded_by=row.recorded_by,
        pieces=tuple(content["pieces"]) if "pieces" in content else (content["piece"],),
        flags=tuple(record_from(StoredFlag, flag) for flag in json.loads(row.flags)),
        log_number=row.number,
        digest=digest_of(row.content),
        content=content,
        weight_set=row.weight_set,
        verdict=row.verdict,
        comparison=record_from(Comparison, json.loads(row.comparison)) if row.comparison else None,
    )
