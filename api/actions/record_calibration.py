"""Record a calibration: judge it, keep it, release it where nothing is flagged, and write it in the log. Create-only."""

import json

from sqlalchemy import Connection

from api.keeping.certificate import Issued, issue_certificate
from api.keeping.content import Arrived, keep_arrival, keep_content, keep_judgement, keep_standing
from api.keeping.judge_on_file import Judged, judge_on_file
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.ledger.digests import digest_of
from api.metrology.judgement import Flag
from api.metrology.submission import Submission
from api.queries.calibrations import calibration, record_key
from api.queries.content import SentContent, arrivals_of, content_sent
from api.queries.log import hash_of_entry
from api.records.calibration import Receipt, StoredFlag
from api.records.differences import differing_pointers
from api.records.log import LogHead, Touched
from api.records.problems import ContentDiffers


def record_calibration(connection: Connection, arrived: Arrived, sent: Submission) -> Receipt:
    """Record a submission and return its receipt; the same content again returns the first receipt, marked replayed.

    Refuses other content under an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    known = content_sent(connection, sent.site, arrived.calibration)
    if known is not None:
        return _replay(connection, arrived, sent, known)
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
        "calibration recorded", arrived.by_whom, arrived.received_at, _touched(arrived, sent, judged, issued),
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


def _replay(connection: Connection, arrived: Arrived, sent: Submission, known: SentContent) -> Receipt:
    """The same bytes, or the same values with every text the same, are the same content; anything else is a conflict."""
    if arrived.body != known.body:
        _refuse_other_content(arrived, known)
    hold_log(connection)
    keep_arrival(connection, arrived, sent.site, arrivals_of(connection, sent.site, arrived.calibration) + 1)
    touched = Touched("arrival", record_key(sent.site, arrived.calibration))
    append_to_log(
        connection,
        Draft(
            "calibration arrived again",
            arrived.by_whom,
            arrived.received_at,
            (touched,),
            seal(connection, arrived.body),
        ),
    )
    kept = calibration(connection, arrived.calibration, sent.site)
    return Receipt(
        calibration=kept.calibration,
        site=kept.site,
        revision=kept.revision,
        replayed=True,
        received_at=kept.received_at,
        digest=kept.digest,
        arrived_digest=digest_of(arrived.body),
        log_number=kept.log_number,
        log_hash=hash_of_entry(connection, kept.log_number),
        standing=kept.standing,
        as_found=kept.as_found,
        as_left=kept.as_left,
        certificate=kept.certificate,
        flags=kept.flags,
        notes=_notes_again(arrived, kept.notes),
    )


def _notes_again(arrived: Arrived, kept: tuple[StoredFlag, ...]) -> tuple[StoredFlag, ...]:
    """The notes that were kept, and what has to be said of this arrival."""
    told = {note.code for note in kept}
    return (*kept, *(_stored(note) for note in arrived.unread if note.code not in told))


def _refuse_other_content(arrived: Arrived, known: SentContent) -> None:
    pointers = differing_pointers(arrived.content, json.loads(known.body))
    if pointers:
        raise ContentDiffers(
            f"Calibration {arrived.calibration} is on record with other content; it differs at {', '.join(pointers[:5])}.",
            pointers, kept_digest=digest_of(known.body), sent_digest=digest_of(arrived.body),
        )  # fmt: skip
