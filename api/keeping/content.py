"""Keeping what was sent and how it was judged: rows only, everything decided before."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, insert, select

from api.database import Prepared
from api.keeping.judge_on_file import PROGRAM, Judged
from api.keeping.log import seal
from api.ledger.digests import digest_of
from api.metrology.judgement import Flag, Judgement, PhaseJudgement
from api.metrology.submission import Submission
from api.models.attachment import ATTACHMENT_NAMED
from api.models.record import ARRIVAL, CONTENT, FLAG, JUDGED_POINT, JUDGEMENT, READING_PIECE
from api.records.attachment import named_in
from api.records.clocks import offset_of

_CONTENT, _READING_PIECE, _JUDGEMENT, _POINT, _FLAG, _ARRIVAL = (
    Prepared(insert(table)) for table in (CONTENT, READING_PIECE, JUDGEMENT, JUDGED_POINT, FLAG, ARRIVAL)
)

_NAMED = Prepared(insert(ATTACHMENT_NAMED))


@dataclass(frozen=True, slots=True)
class Arrived:
    """One arrival: under which id, which bytes (and the JSON they hold), from whom, when sent and received, and
    the notes on fields beside the body that could not be read.

    `taken_up_at` is when it was recorded, where that was later: it lay in quarantine.
    """

    calibration: str
    body: bytes
    content: Any
    by_whom: str
    received_at: datetime
    sent_at: datetime | None = None
    unread: tuple[Flag, ...] = ()
    taken_up_at: datetime | None = None

    @property
    def recorded_at(self) -> datetime:
        """The moment of the record itself."""
        return self.taken_up_at or self.received_at


@dataclass(frozen=True, slots=True)
class Amends:
    """What a content amends: the revision that it becomes, the digest of the content that it supersedes, and why."""

    revision: int
    supersedes: str
    because: str


def keep_content(
    connection: Connection, arrived: Arrived, sent: Submission, judged: Judged, amends: Amends | None = None
) -> str:
    """Keep the content of a submission, which piece stood in which readings, and which attachments it names.

    Returns its salted digest.
    """
    sealed = seal(connection, arrived.body)
    held = judged.held
    key = {"site": sent.site, "calibration": arrived.calibration, "revision": amends.revision if amends else 1}
    _CONTENT.run(
        connection,
        {
            **key,
            "schema": sent.schema,
            "device_as_sent": sent.device,
            "device": held.device.key if held.device else None,
            "device_revision": sent.device_revision,
            "technician_as_sent": sent.technicians[0],
            "technician": held.technician.key if held.technician else None,
            "ward_as_sent": sent.ward,
            "ward": held.ward.key if held.ward else None,
            "performed_from": sent.performed.start.astimezone(UTC).isoformat(),
            "performed_to": sent.performed.end.astimezone(UTC).isoformat(),
            "performed_on": sent.performed_on.isoformat(),
            "purpose": sent.purpose,
            "outcome": sent.outcome,
            "installation": sent.installation.id if sent.installation else None,
            "installation_counter": sent.installation.counter if sent.installation else None,
            "supersedes": amends.supersedes if amends else None,
            "amended_because": amends.because if amends else None,
            "recorded_at": arrived.recorded_at.isoformat(),
            "recorded_by": arrived.by_whom,
            "sealed": sealed,
        },
    )
    if pieces := _reading_pieces(key, sent):
        _READING_PIECE.run(connection, pieces)
    if named := named_in(arrived.content):
        _NAMED.run(
            connection, [{**key, "place": place, "digest": one.digest} for place, one in enumerate(named, start=1)]
        )
    return sealed


def keep_linked_piece(connection: Connection, key: dict[str, Any], sent: Submission, piece: str) -> None:
    """Keep in which readings a piece stood that is known under this key by now; `sent` names it so.

    A phase that named it under the key as well has its row already.
    """
    rows = [row for row in _reading_pieces(key, sent) if row["piece"] == piece]
    of = [READING_PIECE.c[name] == value for name, value in {**key, "piece": piece}.items()]
    there = set(connection.scalars(select(READING_PIECE.c.phase).where(*of)))
    if new := [row for row in rows if row["phase"] not in there]:
        _READING_PIECE.run(connection, new)


def _reading_pieces(key: dict[str, Any], sent: Submission) -> list[dict[str, Any]]:
    rows = []
    day = sent.performed_on.isoformat()
    for name, phase in (("as_found", sent.as_found), ("as_left", sent.as_left)):
        used: dict[str, list[str]] = {}
        for reading in phase.readings if phase else ():
            for piece in dict.fromkeys(reading.pieces):
                used.setdefault(piece, []).append(str(reading.seq))
        rows += [
            {**key, "phase": name, "piece": piece, "readings": ",".join(seqs), "performed_on": day}
            for piece, seqs in used.items()
        ]
    return rows


@dataclass(frozen=True, slots=True)
class JudgedAs:
    """Which judgement of which revision of a record, when it was made, and why."""

    calibration: str
    moment: datetime
    reason: str = "first judgement"
    revision: int = 1
    number: int = 1


def keep_judgement(connection: Connection, at: JudgedAs, sent: Submission, judged: Judged) -> str:
    """Keep a judgement of a content, its points and flags; return the digest of its working."""
    digest = digest_of(judged.working_bytes)
    key = {"site": sent.site, "calibration": at.calibration, "revision": at.revision, "number": at.number}
    app = sent.app_verdict
    _JUDGEMENT.run(
        connection,
        {
            **key,
            "reason": at.reason,
            "judged_at": at.moment.isoformat(),
            "program": PROGRAM,
            "as_found": judged.as_found,
            "as_left": judged.as_left,
            "adjusted": judged.judgement.adjusted,
            "app_as_found": app.as_found if app else None,
            "app_as_left": app.as_left if app else None,
            "working": judged.working_bytes.decode(),
            "working_version": judged.working["version"],
            "working_digest": digest,
        },
    )
    if points := _points(key, judged.judgement):
        _POINT.run(connection, points)
    if judged.judgement.flags:
        _FLAG.run(connection, _flags(key, judged.judgement.flags))
    return digest


def _points(key: dict[str, Any], judgement: Judgement) -> list[dict[str, Any]]:
    phases: list[tuple[str, PhaseJudgement]] = []
    if judgement.as_found is not None:
        phases.append(("as_found", judgement.as_found))
    if judgement.as_left is not None and judgement.as_left is not judgement.as_found:
        phases.append(("as_left", judgement.as_left))
    return [
        {
            **key,
            "phase": name,
            "seq": point.reading.seq,
            "test": point.reading.test,
            "load_kg": f"{point.nominal_kg:f}",
            "indication_kg": f"{point.reading.indication.kg:f}",
            "error_kg": _figures(point.error_kg),
            "tolerance_kg": _figures(point.tolerance.kg if point.tolerance else None),
            "expanded_kg": _figures(point.budget.printed if point.budget else None),
            "verdict": point.verdict,
        }
        for name, phase in phases
        for point in phase.points
    ]


def _figures(value: Decimal | None) -> str | None:
    return None if value is None else f"{value:f}"


def _flags(key: dict[str, Any], flags: Sequence[Flag]) -> list[dict[str, Any]]:
    return [
        {
            **key, "place": place, "code": flag.code, "sentence": flag.sentence, "facts": json.dumps(flag.facts),
            "pointer": flag.pointer,
        }
        for place, flag in enumerate(flags, start=1)
    ]  # fmt: skip


def keep_arrival(connection: Connection, arrived: Arrived, site: str, place: int, revision: int = 1) -> None:
    """Keep that a content of an id arrived, the first time or again, and how far the clocks were apart."""
    offset = offset_of(arrived.received_at, arrived.sent_at)
    _ARRIVAL.run(
        connection,
        {
            "site": site, "calibration": arrived.calibration, "place": place,
            "sent_at": arrived.sent_at.isoformat() if arrived.sent_at else None,
            "received_at": arrived.received_at.isoformat(),
            "offset_seconds": None if offset is None else f"{offset:.3f}", "revision": revision,
        },
    )  # fmt: skip
