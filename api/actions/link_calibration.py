"""Link a code of a calibration, as it was sent, to what the register has got since; it is judged again beside.

What was sent stays as it is. The new judgement stands as on receipt: flagged, held by the rule, or released by it.
"""

from dataclasses import replace
from datetime import timedelta

from sqlalchemy import Connection, insert

from api.database import Prepared
from api.keeping.certificate import Certified, Issued, issue_certificate, links_told, was_measured
from api.keeping.content import JudgedAs, keep_judgement, keep_linked_piece
from api.keeping.judge_on_file import Judged, judge_on_file
from api.keeping.linked_codes import check_linkable, with_codes_linked
from api.keeping.possible_duplicates import still_possible
from api.keeping.record_in_hand import Act, InHand, acted, check_words, in_hand, log_act
from api.keeping.release_rule import release_rule, standing_on_receipt
from api.keeping.standing import StandsAt, Word, keep_standings, stands_of
from api.keeping.unread_fields import CLOCK_NOT_READ, SENDER_NOT_READ
from api.metrology.submission import Submission
from api.models.record import LINK
from api.queries.judgements import CodeLinked
from api.records.calibration import Standing
from api.records.documents import record_from
from api.records.life import Acted, LinkAsked
from api.records.log import Touched
from api.records.problems import NotToLink

_LINK = Prepared(insert(LINK))


def link_calibration(connection: Connection, act: Act, asked: LinkAsked) -> Acted:
    """Link a code that was not known to a key of the register, and return where the record stands by the new judgement.

    The same link again changes nothing. Refuses what was not sent, was known or is released (`NotToLink`), and a key that
    is not on the register on the day of the visit (`ReferenceMissing`).
    """
    check_words(asked.because)
    held = in_hand(connection, act)
    held.check_not_void()
    if any((link.kind, link.as_sent, link.key) == (asked.kind, asked.as_sent, asked.key) for link in held.links):
        return acted(connection, act)
    if held.record.standing != "provisional":
        raise NotToLink("It is released already: what is to be said otherwise is an amendment.")
    sent = record_from(Submission, held.newest.content)
    check_linkable(connection, held, sent, asked)
    return _judged_again(connection, act, held, sent, asked)


def _judged_again(connection: Connection, act: Act, held: InHand, sent: Submission, asked: LinkAsked) -> Acted:
    record = held.record
    at = JudgedAs(
        act.calibration, act.moment, f"linked: {asked.kind} {asked.as_sent!r} as sent is {asked.key!r}; {asked.because}",
        record.revision, record.judgement + 1,
    )  # fmt: skip
    new = CodeLinked(
        record.revision, asked.kind, asked.as_sent, asked.key, asked.because, at.number, act.by_whom, act.moment
    )
    linked = replace(held, linked=(*held.linked, new))
    meant = with_codes_linked(sent, linked.links)
    judged = _judge(connection, linked, meant)
    digests = {"judgement": keep_judgement(connection, at, meant, judged)}
    _keep_link(connection, act, linked, new)
    if asked.kind == "weight":
        key = {"site": act.site, "calibration": act.calibration, "revision": record.revision}
        keep_linked_piece(connection, key, meant, asked.key)
    issued = _stand(connection, act, linked, sent, judged, at)
    more = [Touched(asked.kind, asked.key)] if asked.kind in ("device", "ward") else []
    return acted(connection, act, log_act(connection, "calibration linked", act, linked, issued, more, digests).number)


def _judge(connection: Connection, held: InHand, meant: Submission) -> Judged:
    """Judged as on receipt: the moments of its arrival, and the notes of what could not be read then."""
    record = held.record
    offset = record.clock_offset_seconds
    sent_at = None if offset is None else record.received_at - timedelta(seconds=float(offset))
    told = {note.code for note in record.notes}
    unread = [note for note in (CLOCK_NOT_READ, SENDER_NOT_READ) if note.code in told]
    return judge_on_file(
        connection, meant, held.newest.content, received_at=record.received_at, sent_at=sent_at, unread=unread,
        doubles=still_possible(connection, record),
    )  # fmt: skip


def _keep_link(connection: Connection, act: Act, held: InHand, new: CodeLinked) -> None:
    _LINK.run(
        connection,
        {
            "site": act.site, "calibration": act.calibration, "revision": new.revision, "place": len(held.links),
            "kind": new.kind, "as_sent": new.as_sent, "key": new.key, "because": new.because, "number": new.number,
            "by_whom": new.by_whom, "moment": new.moment.isoformat(),
        },
    )  # fmt: skip


def _stand(
    connection: Connection, act: Act, held: InHand, sent: Submission, judged: Judged, at: JudgedAs
) -> Issued | None:
    """Where it stands now; an amendment is never released by rule, nor is what a reviewer held back."""
    rule = release_rule(connection, act.moment.date())
    standing: Standing
    standing, because = standing_on_receipt(rule, judged.judgement.flags, held.technicians)
    if standing == "released" and (at.revision > 1 or held.record.remarks):
        why = "an amendment" if at.revision > 1 else "what a reviewer remarked on"
        standing, because = "provisional", f"nothing is flagged any more; a person releases {why}"
    word = Word(act.by_whom, act.moment, f"{at.reason}; {because}")
    stood = next(one for one in stands_of(connection, act.site, act.calibration) if one.revision == at.revision)
    keep_standings(connection, [(StandsAt(act.site, act.calibration, at.revision, stood.place), standing, word)])
    if standing != "released" or held.record.imported is not None or not was_measured(judged.working):
        return None
    return issue_certificate(
        connection,
        Certified(
            act.calibration, at.revision, at.number, sent, held.newest.body, judged.working, judged.working_bytes,
            held.record.received_at, act.moment, {"by_rule": rule.document()}, None, links_told(held.links),
        ),
    )  # fmt: skip
