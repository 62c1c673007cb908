"""A submission judged against what is on file, with every flag: the same whether it is kept or only checked."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from api.keeping.case_on_file import OnFile, on_file
from api.keeping.person_like import person_like
from api.keeping.stale_definition import stale_definition
from api.ledger.digests import stored_bytes
from api.metrology.judgement import Flag, Judgement
from api.metrology.judging import judge
from api.metrology.submission import Submission
from api.metrology.verdict import Verdict
from api.records.clocks import corrected, is_off, offset_of
from api.records.working import working_of

PROGRAM = "0.1.0"
MOST_AHEAD_SECONDS = 300  # a house choice, no source


@dataclass(frozen=True, slots=True)
class Judged:
    """A submission judged: what was on file, the judgement, its working (and as it is kept)."""

    held: OnFile
    judgement: Judgement
    working: dict[str, Any]
    working_bytes: bytes
    as_found: Verdict | None
    as_left: Verdict | None


def judge_on_file(
    connection: Connection,
    sent: Submission,
    content: Any,
    *,
    received_at: datetime,
    sent_at: datetime | None,
    unread: Sequence[Flag] = (),
    doubles: Sequence[Flag] = (),
) -> Judged:
    """Return a submission judged against the register as it stood on the day of the visit.

    `content` is the same submission as parsed JSON; `sent_at` is the app's clock at sending, where it was told
    and could be read; `unread` are the notes on fields beside the body that could not; `doubles` are flags of other records.
    """
    held, judgement = flagged_judgement(
        connection, sent, content, received_at=received_at, sent_at=sent_at, unread=unread, doubles=doubles
    )
    working = working_of(judgement, {"program": PROGRAM, **held.judged_with()})
    return Judged(held, judgement, working, stored_bytes(working), *verdicts_of(sent, judgement))


def flagged_judgement(
    connection: Connection,
    sent: Submission,
    content: Any,
    *,
    received_at: datetime,
    sent_at: datetime | None,
    unread: Sequence[Flag] = (),
    doubles: Sequence[Flag] = (),
) -> tuple[OnFile, Judgement]:
    """Return what was on file for a submission and its judgement with every flag, without the working."""
    held = on_file(connection, sent)
    judgement = judge(held.case) if held.case is not None else _unjudged(sent)
    extra = [*held.flags, *person_like(content), *_clock(sent, received_at, sent_at), *doubles]
    stale, told = stale_definition(sent, held, judgement)
    flags = (*extra, *stale, *judgement.flags)
    return held, replace(judgement, flags=flags, notes=(*judgement.notes, *told, *unread))


def verdicts_of(sent: Submission, judgement: Judgement) -> tuple[Verdict | None, Verdict | None]:
    """Return the verdicts as found and as left that are kept with a judgement."""
    return _as_found(sent, judgement), _as_left(sent, judgement)


def _unjudged(sent: Submission) -> Judgement:
    return Judgement(None, None, "nothing", bool(sent.adjustments), None, (), (), ())


def _as_found(sent: Submission, judgement: Judgement) -> Verdict | None:
    if judgement.as_found is not None:
        return judgement.as_found.verdict
    return "undecided" if sent.as_found is not None else None


def _as_left(sent: Submission, judgement: Judgement) -> Verdict | None:
    """A scale that was adjusted and not read again is undecided; an attempt without readings has no verdict."""
    if judgement.as_left is not None:
        return judgement.as_left.verdict
    return "undecided" if sent.as_left is not None or sent.as_found is not None or sent.adjustments else None


def _clock(sent: Submission, received_at: datetime, sent_at: datetime | None) -> list[Flag]:
    flags = []
    offset = offset_of(received_at, sent_at)
    if offset is not None and is_off(offset):
        said = f"The app's clock and the service's were {offset:.0f} s apart when it was sent."
        flags.append(Flag("clock-off", said, {"offset": f"{offset:.0f} s"}, "#/performed"))
    if (corrected(sent.performed.end, offset) - received_at).total_seconds() > MOST_AHEAD_SECONDS:
        flags.append(Flag("performed-in-future", "The visit ends after it was received.", {}, "#/performed/end"))
    if sent.performed.end < sent.performed.start:
        flags.append(Flag("ends-before-start", "The visit ends before it begins.", {}, "#/performed"))
    return flags
