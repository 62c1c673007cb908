"""Release a calibration: a person who did not make the visit closes every flag in words; a certificate is born.

What it amends is superseded from then on, and its certificate goes on as the next revision of the same number.
"""

import json

from sqlalchemy import Connection

from api.keeping.certificate import (
    Certified,
    Document,
    Issued,
    issue_certificate,
    lacks_of_certificate,
    links_told,
)
from api.keeping.flag_answers import keep_flag_answers, open_codes_of
from api.keeping.record_in_hand import Act, InHand, acted, check_words, in_hand, log_act
from api.keeping.standing import StandsAt, Word, keep_standings, stands_of
from api.metrology.submission import Submission
from api.queries.certificates import certificate_of
from api.queries.judgements import stored_working
from api.records.calibration import Standing
from api.records.documents import document_of, record_from
from api.records.life import Acted, ReleaseAsked
from api.records.problems import CannotCertify, FlagsOpen, OwnWork, RevisionDiffers


def release_calibration(connection: Connection, act: Act, asked: ReleaseAsked) -> Acted:
    """Release the newest revision of a record, and return where it stands; one that is released is answered as it is.

    Refuses another content or judgement than the newest (`RevisionDiffers`), a void record (`RecordVoid`), a technician of
    the visit (`OwnWork`), a flag that is not answered (`FlagsOpen`), what no certificate could name (`CannotCertify`).
    """
    held = in_hand(connection, act)
    held.check_not_void()
    _check_seen(held, asked)
    if held.record.standing == "released":
        return acted(connection, act)
    _check_reviewer(act, held)
    _check_answers(connection, held, asked)
    working_bytes = stored_working(connection, act.site, act.calibration, held.record.revision, held.record.judgement)
    to_certify = _to_certify(held, json.loads(working_bytes))
    keep_flag_answers(connection, act, held.record, asked.answers)
    keep_standings(connection, _standings(connection, act, held, asked))
    issued = _issue(connection, act, held, asked, working_bytes) if to_certify else None
    return acted(connection, act, log_act(connection, "calibration released", act, held, issued).number)


def _check_seen(held: InHand, asked: ReleaseAsked) -> None:
    held.check_seen(asked.digest)
    if asked.judgement != held.record.judgement:
        newest = str(held.record.judgement)
        said = f"It was judged again since: the newest judgement is {newest}, not {asked.judgement}."
        raise RevisionDiffers(said, judgement=newest, named=str(asked.judgement))


def _check_reviewer(act: Act, held: InHand) -> None:
    if act.by_whom in held.technicians:
        listed = ", ".join(held.technicians)
        said = f"{act.by_whom} was a technician of this visit ({listed}); somebody else has to release it."
        raise OwnWork(said, person=act.by_whom, technicians=listed)


def _check_answers(connection: Connection, held: InHand, asked: ReleaseAsked) -> None:
    """Every flag is closed by its name, and nothing is closed that is not flagged: that would be a slip."""
    flagged = open_codes_of(connection, held.record)
    answered = [answer.code for answer in asked.answers]
    open_codes = [code for code in flagged if code not in answered]
    others = [code for code in answered if code not in flagged]
    twice = [code for code in dict.fromkeys(answered) if answered.count(code) > 1]
    if not (open_codes or others or twice):
        return check_words(*(answer.words for answer in asked.answers))
    told = {"open": open_codes, "not_flagged": others, "twice": twice}
    facts = {name: ", ".join(codes) for name, codes in told.items() if codes}
    said = "; ".join(f"{name.replace('_', ' ')}: {listed}" for name, listed in facts.items())
    raise FlagsOpen(f"Each flag is closed once, by its code and in words. {said[0].upper()}{said[1:]}.", **facts)


def _to_certify(held: InHand, working: Document) -> bool:
    """Whether a certificate is issued: not of old records out of files, nor where nothing was measured."""
    record = held.record
    if record.imported is not None or (record.as_found is None and record.as_left is None):
        return False
    if lacks := lacks_of_certificate(working):
        listed = ", ".join(lacks)
        said = f"A certificate has to name the {listed}, which the register did not hold when this was judged."
        raise CannotCertify(f"{said} Put it on the register, link it to the record, and release that.", lacks=listed)
    return True


def _standings(
    connection: Connection, act: Act, held: InHand, asked: ReleaseAsked
) -> list[tuple[StandsAt, Standing, Word]]:
    closed = "; ".join(f"{answer.code}: {answer.words}" for answer in asked.answers)
    newest = held.record.revision
    words = {True: f"released by {act.by_whom}" + (f"; {closed}" if closed else ""),
             False: f"superseded by revision {newest}: {held.newest.because}"}  # fmt: skip
    return [
        (at, "released" if at.revision == newest else "superseded",
         Word(act.by_whom, act.moment, words[at.revision == newest]))
        for at in stands_of(connection, act.site, act.calibration)
    ]  # fmt: skip


def _issue(connection: Connection, act: Act, held: InHand, asked: ReleaseAsked, working_bytes: bytes) -> Issued:
    record, newest = held.record, held.newest
    released = {"by": act.by_whom, "at": act.moment.isoformat(), "answers": document_of(asked.answers)}
    return issue_certificate(
        connection,
        Certified(
            act.calibration, record.revision, record.judgement, record_from(Submission, newest.content), newest.body,
            json.loads(working_bytes), working_bytes, record.received_at, act.moment, released,
            _replaced(connection, act, held),
            links_told(held.links),
        ),
    )  # fmt: skip


def _replaced(connection: Connection, act: Act, held: InHand) -> Document | None:
    """The revision of the certificate that this one replaces, and every reason since for which it does."""
    before = certificate_of(connection, act.site, act.calibration)
    if before is None:
        return None
    stated = json.loads(before.document)["record_revision"]
    since = [one for one in held.sent if one.revision > stated]
    return {
        "number": before.number, "revision": before.revision, "digest": before.digest,
        "because": [one.because for one in since], "amended_by": [one.recorded_by for one in since],
    }  # fmt: skip
