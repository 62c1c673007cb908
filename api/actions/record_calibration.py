"""Record a calibration: judge it, keep it, release it where nothing is flagged, and write it in the log. Create-only."""

from sqlalchemy import Connection

from api.keeping.certificate import Issued, issue_certificate
from api.keeping.content import Arrived, keep_arrival, keep_content, keep_judgement, keep_standing
from api.keeping.judge_on_file import Judged, judge_on_file
from api.keeping.log import Draft, append_to_log
from api.keeping.replay import replayed
from api.ledger.digests import digest_of
from api.metrology.judgement import Flag
from api.metrology.submission import Submission
from api.queries.calibrations import record_key
from api.queries.content import content_sent
from api.records.calibration import Receipt, StoredFlag
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
        unread=arrived.unread,
    )  # fmt: skip
    sealed = keep_content(connection, arrived, sent, judged)
    digests = {"judgement": keep_judgement(connection, arrived, sent, judged, "first judgement")}
    keep_arrival(connection, arrived, sent.site, 1)
    issued = _stand(connection, arrived, sent, judged)
    if issued is not None:
        digests["certificate"] = issued.digest
    draft = Draft(
        "calibration recorded", arrived.by_whom, arrived.recorded_at, _touched(arrived, sent, judged, issued),
        sealed, digests,
    )  # fmt: skip
    return _receipt(arrived, sent, judged, issued, append_to_log(connection, draft))


def _stand(connection: Connection, arrived: Arrived, sent: Submission, judged: Judged) -> Issued | None:
    """What has no flag is released at once; a certificate is born where something was measured."""
    if judged.judgement.flags:
        codes = ", ".join(dict.fromkeys(flag.code for flag in judged.judgement.flags))
        keep_standing(connection, arrived, sent.site, "provisional", f"flagged: {codes}")
        return None
    keep_standing(connection, arrived, sent.site, "released", "nothing is flagged")
    if judged.judgement.as_found is None and judged.judgement.as_left is None:
        return None
    return issue_certificate(connection, arrived, sent, judged)


def _touched(arrived: Arrived, sent: Submission, judged: Judged, issued: Issued | None) -> tuple[Touched, ...]:
    touched = [Touched("calibration", record_key(sent.site, arrived.calibration), 1), Touched("device", sent.device)]
    if issued is not None:
        touched.append(Touched("certificate", issued.number, 1))
    touched.append(Touched("site", sent.site))
    if judged.held.ward is not None:
        touched.append(Touched("ward", judged.held.ward.key))
    return tuple(touched)


def _receipt(arrived: Arrived, sent: Submission, judged: Judged, issued: Issued | None, head: LogHead) -> Receipt:
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
        standing="provisional" if judged.judgement.flags else "released",
        as_found=judged.as_found,
        as_left=judged.as_left,
        certificate=issued.number if issued else None,
        flags=tuple(_stored(flag) for flag in judged.judgement.flags),
        notes=tuple(_stored(note) for note in judged.judgement.notes),
    )


def _stored(flag: Flag) -> StoredFlag:
    return StoredFlag(flag.code, flag.sentence, flag.facts, flag.pointer)
