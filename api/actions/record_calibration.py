"""Record a calibration: judge it, keep it, release it where the owner's rule does, and write it in the log. Create-only."""

from sqlalchemy import Connection

from api.keeping.certificate import Certified, Issued, issue_certificate, was_measured
from api.keeping.content import Arrived, JudgedAs, keep_arrival, keep_content, keep_judgement
from api.keeping.judge_on_file import Judged, judge_on_file
from api.keeping.log import Draft, append_to_log
from api.keeping.possible_duplicates import possible_duplicates
from api.keeping.release_rule import ReleaseRule, release_rule, standing_on_receipt
from api.keeping.replay import replayed
from api.keeping.standing import StandsAt, Word, keep_standings
from api.ledger.digests import digest_of
from api.metrology.judgement import Flag
from api.metrology.submission import Submission
from api.queries.attachments import attachments_named
from api.queries.calibrations import record_key
from api.queries.content import content_sent
from api.records.calibration import Receipt, Standing, StoredFlag, notes_of_missing
from api.records.log import LogHead, Touched


def record_calibration(connection: Connection, arrived: Arrived, sent: Submission) -> Receipt:
    """Record a submission and return its receipt; the same content again returns the first receipt, marked replayed.

    Refuses other content under an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    known = content_sent(connection, sent.site, arrived.calibration)
    if known is not None:
        return replayed(connection, arrived, sent.site, known)
    judged = judge_on_file(
        connection, sent, arrived.content, received_at=arrived.received_at, sent_at=arrived.sent_at,
        unread=arrived.unread, doubles=possible_duplicates(connection, sent, arrived.content, arrived.calibration),
    )  # fmt: skip
    sealed = keep_content(connection, arrived, sent, judged)
    at = JudgedAs(arrived.calibration, arrived.recorded_at)
    digests = {"judgement": keep_judgement(connection, at, sent, judged)}
    keep_arrival(connection, arrived, sent.site, 1)
    standing, issued = _stand(connection, arrived, sent, judged)
    if issued is not None:
        digests["certificate"] = issued.digest
    draft = Draft(
        "calibration recorded", arrived.by_whom, arrived.recorded_at, _touched(arrived, sent, judged, issued),
        sealed, digests,
    )  # fmt: skip
    missing = notes_of_missing(attachments_named(connection, [(sent.site, arrived.content)])[0])
    return _receipt(arrived, sent, judged, standing, issued, append_to_log(connection, draft), missing)


def _stand(
    connection: Connection, arrived: Arrived, sent: Submission, judged: Judged
) -> tuple[Standing, Issued | None]:
    """Where it stands on receipt: released where nothing is flagged and the rule releases that."""
    rule = release_rule(connection, arrived.recorded_at.date())
    standing, because = standing_on_receipt(rule, judged.judgement.flags, sent.technicians)
    word = Word(arrived.by_whom, arrived.recorded_at, because)
    keep_standings(connection, [(StandsAt(sent.site, arrived.calibration, 1), standing, word)])
    if standing != "released" or not was_measured(judged.working):
        return standing, None
    return standing, issue_certificate(connection, _certified(arrived, sent, judged, rule))


def _certified(arrived: Arrived, sent: Submission, judged: Judged, rule: ReleaseRule) -> Certified:
    """A certificate is born where something was measured."""
    return Certified(
        arrived.calibration, 1, 1, sent, arrived.body, judged.working, judged.working_bytes, arrived.received_at,
        arrived.recorded_at, {"by_rule": rule.document()},
    )  # fmt: skip


def _touched(arrived: Arrived, sent: Submission, judged: Judged, issued: Issued | None) -> tuple[Touched, ...]:
    touched = [Touched("calibration", record_key(sent.site, arrived.calibration), 1), Touched("device", sent.device)]
    if issued is not None:
        touched.append(Touched("certificate", issued.number, 1))
    touched.append(Touched("site", sent.site))
    if judged.held.ward is not None:
        touched.append(Touched("ward", judged.held.ward.key))
    return tuple(touched)


def _receipt(
    arrived: Arrived,
    sent: Submission,
    judged: Judged,
    standing: Standing,
    issued: Issued | None,
    head: LogHead,
    missing: tuple[StoredFlag, ...],
) -> Receipt:
    return Receipt(
        calibration=arrived.calibration,
        site=sent.site,
        revision=1,
        replayed=False,
        received_at=arrived.received_at,
        digest=(digest := digest_of(arrived.body)),
        arrived_digest=digest,
        log_number=head.number,
        log_hash=head.hash,
        standing=standing,
        as_found=judged.as_found,
        as_left=judged.as_left,
        certificate=issued.number if issued else None,
        flags=tuple(_stored(flag) for flag in judged.judgement.flags),
        notes=(*(_stored(note) for note in judged.judgement.notes), *missing),
    )


def _stored(flag: Flag) -> StoredFlag:
    return StoredFlag(flag.code, flag.sentence, flag.facts, flag.pointer)
