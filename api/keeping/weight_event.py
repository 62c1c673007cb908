"""Keeping what happened to weights: the flags it gets, its rows, its log entry, and the receipt of it."""

import json
from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import Connection, insert

from api.keeping.content import Arrived
from api.keeping.held_pieces import held_flags
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.person_like import person_like
from api.keeping.register_checks import unknown
from api.keeping.replay import note_arrival, refuse_other_content
from api.ledger.digests import canonical_bytes, digest_of
from api.metrology.comparison import Comparison, ComparisonVerdict
from api.metrology.judgement import Flag
from api.metrology.weight_life import Span, against_on
from api.models.weight_event import WEIGHT_EVENT, WEIGHT_EVENT_PIECE
from api.queries.calibrations import record_key
from api.queries.log import hash_of_entry
from api.queries.register import find_in_force, forget_register
from api.queries.weight_events import TOUCHED, events_of_set, spans_on_file, weight_event, weight_event_sent
from api.records.cautions import CAUTIONS
from api.records.clocks import corrected, is_off, offset_of
from api.records.documents import document_of
from api.records.log import Touched
from api.records.plan import CautionText
from api.records.weight_event import (
    CheckedOut,
    Compared,
    CountedIn,
    StoredWeightEvent,
    WeightEventReceipt,
    WeightEventSent,
    WeightReleaseAsked,
)

CAUTIONS_OUT = ("C-07", "C-18", "C-21")


def replayed_event(connection: Connection, arrived: Arrived, site: str) -> WeightEventReceipt | None:
    """Note that an event on record arrived again and return its receipt, None where it is new; refuses other content under
    its id (`ContentDiffers`)."""
    known = weight_event_sent(connection, site, arrived.calibration)
    if known is None:
        return None
    refuse_other_content(arrived, known, "Event")
    note_arrival(connection, arrived, "event of weights arrived again", site)
    return weight_receipt(connection, arrived, site, replayed=True)


def counts_from(arrived: Arrived, happened_at: datetime) -> datetime:
    """Return the moment that decides: corrected where the clocks were apart, and never after it was received."""
    moment = corrected(happened_at, offset_of(arrived.received_at, arrived.sent_at))
    return min(moment, arrived.received_at.astimezone(moment.tzinfo))


def flags_of(connection: Connection, arrived: Arrived, sent: WeightEventSent | WeightReleaseAsked) -> list[Flag]:
    """Return everything that somebody has to look at: nothing of it keeps an event from being kept."""
    at = counts_from(arrived, sent.happened_at)
    flags = [*_clock(arrived, sent.happened_at), *person_like(arrived.content)]
    for place, piece in enumerate(sent.pieces):
        if find_in_force(connection, "weight", piece, on=at.date()) is None:
            flags.append(unknown("unknown-weight", "weight", piece, _pointer(sent, place)))
    if (
        not isinstance(sent, WeightReleaseAsked)
        and find_in_force(connection, "technician", sent.by, on=at.date()) is None
    ):
        flags.append(unknown("unknown-technician", "technician", sent.by, "#/by"))
    if isinstance(sent, CheckedOut | CountedIn):
        flags += _of_set(connection, sent, at)
    if isinstance(sent, CheckedOut):
        flags += held_flags(connection, sent.pieces, at, at, [_pointer(sent, n) for n in range(len(sent.pieces))])
    if isinstance(sent, Compared):
        flags += held_flags(connection, sent.against, at, at, [f"#/against/{n}" for n in range(len(sent.against))])
    return flags


def _pointer(sent: WeightEventSent | WeightReleaseAsked, place: int) -> str:
    return "#/piece" if isinstance(sent, Compared | WeightReleaseAsked) else f"#/pieces/{place}"


def _clock(arrived: Arrived, happened_at: datetime) -> list[Flag]:
    flags = []
    offset = offset_of(arrived.received_at, arrived.sent_at)
    if offset is not None and is_off(offset):
        said = f"The app's clock and the service's were {offset:.0f} s apart when it was sent."
        flags.append(Flag("clock-off", said, {"offset": f"{offset:.0f} s"}, "#/happened_at"))
    if corrected(happened_at, offset) > arrived.received_at:
        said = "It is told for a moment after it was received; it counts from when it was received."
        flags.append(Flag("event-in-future", said, {}, "#/happened_at"))
    return flags


def _of_set(connection: Connection, sent: CheckedOut | CountedIn, at: datetime) -> list[Flag]:
    held = find_in_force(connection, "weight set", sent.weight_set, on=at.date())
    if held is None:
        return [unknown("unknown-weight-set", "weight set", sent.weight_set, "#/weight_set")]
    members = {m.piece for m in held.record.members if m.since <= at.date() and (m.to is None or at.date() <= m.to)}
    others = ", ".join(piece for piece in sent.pieces if piece not in members)
    said = f"Not in set {sent.weight_set} that day: {others}."
    return [Flag("piece-not-in-set", said, {"pieces": others}, "#/pieces")] if others else []


def keep_weight_event(
    connection: Connection,
    arrived: Arrived,
    sent: WeightEventSent | WeightReleaseAsked,
    flags: list[Flag],
    comparison: Comparison | None = None,
) -> WeightEventReceipt:
    """Keep an event of weights with its flags, write it in the log, and return its receipt.

    It moves the register's number in the log: judgements and plans rest on what may be counted on.
    """
    at, sealed = counts_from(arrived, sent.happened_at), seal(connection, arrived.body)
    key = {"site": sent.site, "event": arrived.calibration}
    connection.execute(
        insert(WEIGHT_EVENT),
        [key | {
            "kind": sent.kind, "weight_set": _set_of(sent), "happened_at": at.astimezone(UTC).isoformat(),
            "happened_on": at.date().isoformat(), "received_at": arrived.received_at.isoformat(),
            "sent_at": arrived.sent_at.isoformat() if arrived.sent_at else None, "recorded_by": arrived.by_whom,
            "flags": json.dumps(document_of(flags)), "verdict": _verdict(sent, comparison, flags),
            "comparison": canonical_bytes(document_of(comparison)).decode() if comparison else None, "sealed": sealed,
        }],
    )  # fmt: skip
    if pieces := dict.fromkeys(sent.pieces):
        connection.execute(insert(WEIGHT_EVENT_PIECE), [key | {"piece": piece} for piece in pieces])
    touched = (
        Touched(TOUCHED, record_key(sent.site, arrived.calibration)), *(Touched("weight", piece) for piece in pieces),
        *(Touched("weight set", code) for code in (_set_of(sent),) if code is not None), Touched("site", sent.site),
    )  # fmt: skip
    draft = Draft(f"weights {sent.kind}", arrived.by_whom, arrived.received_at, touched, sealed, changes_register=True)
    append_to_log(connection, draft)
    forget_register(connection)
    return weight_receipt(connection, arrived, sent.site, replayed=False)


def _verdict(
    sent: WeightEventSent | WeightReleaseAsked, comparison: Comparison | None, flags: Iterable[Flag]
) -> ComparisonVerdict | None:
    """A comparison that cannot be worked out, or with a standard that is held itself, tells nothing of the piece."""
    if not isinstance(sent, Compared):
        return None
    if comparison is None or any(flag.code == "held-weight" for flag in flags):
        return "cannot tell"
    return comparison.verdict


def _set_of(sent: WeightEventSent | WeightReleaseAsked) -> str | None:
    return sent.weight_set if isinstance(sent, CheckedOut | CountedIn) else None


def weight_receipt(connection: Connection, arrived: Arrived, site: str, *, replayed: bool) -> WeightEventReceipt:
    """Return the receipt of an event that is on record, for this arrival of it; what it does is told as things stand now."""
    kept = weight_event(connection, arrived.calibration, site)
    today = arrived.received_at.astimezone(UTC).date()
    against = {piece: against_on(spans, today) for piece, spans in _concerned(connection, kept).items()}
    missing = sorted(piece for piece, spans in against.items() if any(span.kind == "missing" for span in spans))
    return WeightEventReceipt(
        event=kept.event,
        site=kept.site,
        kind=kept.kind,
        replayed=replayed,
        received_at=kept.received_at,
        digest=kept.digest,
        arrived_digest=digest_of(arrived.body),
        log_number=kept.log_number,
        log_hash=hash_of_entry(connection, kept.log_number),
        flags=kept.flags,
        not_counted_on=tuple(sorted(piece for piece, spans in against.items() if spans)),
        missing=tuple(missing) if kept.kind == "counted in" else (),
        cautions=_cautions(kept.kind),
        verdict=kept.verdict,
        comparison=kept.comparison,
    )


def _concerned(connection: Connection, kept: StoredWeightEvent) -> dict[str, tuple[Span, ...]]:
    """What was so with the pieces of an event, and with all that went out with its set."""
    of_set = events_of_set(connection, kept.weight_set) if kept.weight_set else ()
    return spans_on_file(connection, sorted({piece for event in (kept, *of_set) for piece in event.pieces}))


def _cautions(kind: str) -> tuple[CautionText, ...]:
    shown = CAUTIONS_OUT if kind == "checked out" else ("C-21",) if kind == "counted in" else ()
    return tuple(CautionText(code, CAUTIONS[code]) for code in shown)
