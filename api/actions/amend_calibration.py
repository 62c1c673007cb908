"""Amend a calibration: a whole new content beside the one it supersedes, judged anew. A person releases it, never a rule.

Until then what was released stands; but bad news in the amendment counts at once.
"""

from sqlalchemy import Connection

from api.keeping.content import Amends, Arrived, JudgedAs, keep_arrival, keep_content, keep_judgement
from api.keeping.judge_on_file import Judged, judge_on_file
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.possible_duplicates import still_possible
from api.keeping.record_in_hand import Act, InHand, check_words, in_hand, touched_places
from api.keeping.release_rule import flagged_words
from api.keeping.replay import is_same_content, note_arrival, receipt_of
from api.keeping.standing import StandsAt, Word, keep_standings
from api.ledger.digests import canonical_bytes, digest_of
from api.queries.calibrations import calibration, record_key
from api.queries.content import RevisionSent, arrivals_of
from api.records.calibration import Receipt
from api.records.life import AmendmentAsked
from api.records.log import Touched
from api.records.problems import ContentDiffers, KeyDiffers, NothingAmended


def amend_calibration(connection: Connection, arrived: Arrived, site: str, asked: AmendmentAsked) -> Receipt:
    """Keep an amendment and return its receipt; the same amendment again returns that receipt, marked replayed.

    Refuses a digest that is not that of the newest content (`RevisionDiffers`), a void record (`RecordVoid`), a content that
    changes nothing (`NothingAmended`) or is of another site (`KeyDiffers`), and another reason for the same amendment
    (`ContentDiffers`).
    """
    check_words(asked.because)
    held = in_hand(connection, Act(site, arrived.calibration, arrived.by_whom, arrived.received_at, arrived.body))
    if asked.content.site != site:
        said = f"The record is of site {site}, the amendment of {asked.content.site}; a visit does not change its site."
        raise KeyDiffers(said, record=site, amendment=asked.content.site)
    for known in held.sent:
        if known.supersedes == asked.supersedes and is_same_content(arrived, known.body):
            _refuse_other_reason(arrived, known, asked)
            return _replayed(connection, arrived, site, known)
    held.check_not_void()
    held.check_seen(asked.supersedes)
    if is_same_content(arrived, held.newest.body):
        raise NothingAmended(f"It is the content of revision {held.newest.revision}, which stands as it is.")
    return _kept(connection, arrived, held, asked)


def _refuse_other_reason(arrived: Arrived, known: RevisionSent, asked: AmendmentAsked) -> None:
    """The reason stands on the certificate: another one is not passed over as if it were kept."""
    if known.because != asked.because:
        said = f"This amendment is on record as revision {known.revision}, for another reason: {known.because}"
        raise ContentDiffers(said, ("#/because",), kept_digest=known.digest, sent_digest=digest_of(arrived.body))


def _replayed(connection: Connection, arrived: Arrived, site: str, known: RevisionSent) -> Receipt:
    keep_arrival(connection, arrived, site, arrivals_of(connection, site, arrived.calibration) + 1, known.revision)
    note_arrival(connection, arrived, "amendment arrived again", site)
    return receipt_of(
        connection, arrived, calibration(connection, arrived.calibration, site, known.revision), again=True
    )


def _kept(connection: Connection, arrived: Arrived, held: InHand, asked: AmendmentAsked) -> Receipt:
    sent, site = asked.content, held.record.site
    revision = held.newest.revision + 1
    judged = judge_on_file(
        connection, sent, arrived.content, received_at=arrived.received_at, sent_at=arrived.sent_at,
        unread=arrived.unread, doubles=still_possible(connection, held.record),
    )  # fmt: skip
    sealed = keep_content(connection, arrived, sent, judged, Amends(revision, asked.supersedes, asked.because))
    at = JudgedAs(arrived.calibration, arrived.received_at, f"amendment: {asked.because}", revision)
    why = canonical_bytes({"supersedes": asked.supersedes, "because": asked.because})  # the content does not say it
    digests = {"judgement": keep_judgement(connection, at, sent, judged), "amendment": seal(connection, why)}
    keep_arrival(connection, arrived, site, arrivals_of(connection, site, arrived.calibration) + 1, revision)
    word = Word(arrived.by_whom, arrived.received_at, _waits(asked, judged))
    keep_standings(connection, [(StandsAt(site, arrived.calibration, revision), "provisional", word)])
    touched = [
        Touched("calibration", record_key(site, arrived.calibration), revision), Touched("device", sent.device),
        *touched_places(held),
    ]  # fmt: skip
    if held.certificate is not None:
        touched.append(Touched("certificate", held.certificate))
    if judged.held.ward is not None:
        touched.append(Touched("ward", judged.held.ward.key))
    append_to_log(
        connection,
        Draft("calibration amended", arrived.by_whom, arrived.received_at, tuple(touched), sealed, digests),
    )
    return receipt_of(connection, arrived, calibration(connection, arrived.calibration, site), again=False)


def _waits(asked: AmendmentAsked, judged: Judged) -> str:
    codes = [flag.code for flag in judged.judgement.flags]
    held = f"; {flagged_words(codes)}" if codes else ""
    return f"amended: {asked.because}; a person releases it{held}"
