"""A calibration as it is read back: what was sent, how it was judged, where it stands."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final, Literal

from api.metrology.verdict import Verdict
from api.records.attachment import AttachmentOfVisit
from api.records.file_import import Imported

Standing = Literal["provisional", "released", "superseded", "void"]
CertificateState = Literal["in force", "superseded", "withdrawn"]
# What stands counts: a provisional record for bad news, a released one for good news too. The other two are ends.
STANDS: Final[tuple[Standing, ...]] = ("provisional", "released")


@dataclass(frozen=True, slots=True)
class StoredFlag:
    """A flag or note as it was kept: code, sentence, facts, and where in what was sent."""

    code: str
    sentence: str
    facts: dict[str, str]
    pointer: str | None = None


def notes_of_missing(attachments: tuple[AttachmentOfVisit, ...]) -> tuple[StoredFlag, ...]:
    """Return a note for each attachment that is named and has not arrived; it holds nothing, and goes when it does."""
    return tuple(
        StoredFlag(
            "attachment-missing", "An attachment that this visit names has not arrived yet.",
            {"digest": one.digest}, one.pointer,
        )
        for one in attachments
        if one.received_at is None
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class StandsSince:
    """Why a record stands where it stands, by whose word, and since when."""

    because: str
    by_whom: str
    moment: datetime


@dataclass(frozen=True, slots=True)
class Remark:
    """What a reviewer said of a record without releasing it."""

    words: str
    by_whom: str
    moment: datetime


@dataclass(frozen=True, slots=True)
class Calibration:
    """One revision of a calibration: identity, times, one judgement, standing, flags, content and working.

    An amendment is a revision after the first: `supersedes` is the digest of the content before it.
    `clock_offset_seconds` is how far the app's clock was behind the service's when it was first sent; where that puts the
    moments in doubt, `corrected_from` and `corrected_to` stand beside them.
    `attachments` are those that it names, whether they have arrived or not: a missing one is a note until it does.
    `imported` says where it comes from if it was not sent by an app but read out of a file of old records.
    """

    calibration: str
    site: str
    revision: int
    device: str
    device_on_register: bool
    performed_from: str
    performed_to: str
    performed_on: str
    purpose: str
    outcome: str
    reasons: tuple[str, ...]
    technicians: tuple[str, ...]
    standing: Standing
    adjusted: bool
    as_found: Verdict | None
    as_left: Verdict | None
    certificate: str | None
    flags: tuple[StoredFlag, ...]
    notes: tuple[StoredFlag, ...]
    received_at: datetime
    log_number: int
    digest: str
    content: dict[str, Any]
    working: dict[str, Any]
    judgement: int
    stands: StandsSince
    remarks: tuple[Remark, ...]
    recorded_by: str
    recorded_at: datetime
    clock_offset_seconds: Decimal | None = None
    corrected_from: str | None = None
    corrected_to: str | None = None
    imported: Imported | None = None
    certificate_revision: int | None = None
    supersedes: str | None = None
    amended_because: str | None = None
    attachments: tuple[AttachmentOfVisit, ...] = ()

    @property
    def is_partial(self) -> bool:
        """Whether it is an old record that lacks what statistics need: its readings are shown, and counted nowhere."""
        return self.imported is not None and self.imported.partial

    @property
    def counts(self) -> bool:
        """Whether this revision stands: what is superseded or void is shown, and speaks for nothing."""
        return self.standing in STANDS


def newest_that_stand(history: Iterable[Calibration]) -> list[Calibration]:
    """Return of each visit the newest revision that stands, in the order given: a visit has one voice.

    Only the answer on use listens to all that stand: an amendment that waits is heard beside what it amends.
    """
    found: dict[tuple[str, str], Calibration] = {}
    for one in history:
        key = (one.site, one.calibration)
        if one.counts and (key not in found or found[key].revision < one.revision):
            found[key] = one
    return list(found.values())


@dataclass(frozen=True, slots=True)
class CalibrationListed:
    """One calibration in a list: what it is of, when, by whom, how it was judged and where it stands; not its readings.

    Moments are in UTC; `technician` is the one named first; `log_number` is that of the last entry that touched it.
    """

    calibration: str
    site: str
    revision: int
    device: str
    device_on_register: bool
    technician: str
    performed_from: datetime
    performed_to: datetime
    performed_on: str
    purpose: str
    outcome: str
    standing: Standing
    adjusted: bool
    flags: tuple[str, ...]
    recorded_at: datetime
    log_number: int
    ward: str | None = None
    as_found: Verdict | None = None
    as_left: Verdict | None = None
    certificate: str | None = None


@dataclass(frozen=True, slots=True)
class Receipt:
    """What the sender gets: that it is kept, under which digest and log entry, and what was made of it.

    The app may delete its copy when `digest` or `arrived_digest` is the SHA-256 of the bytes it holds: the one is of the
    content as first kept, the other of this arrival, which is kept as well. Log number and hash are those of the first.
    """

    calibration: str
    site: str
    revision: int
    replayed: bool
    received_at: datetime
    digest: str
    arrived_digest: str
    log_number: int
    log_hash: str
    standing: Standing
    as_found: Verdict | None
    as_left: Verdict | None
    certificate: str | None
    flags: tuple[StoredFlag, ...]
    notes: tuple[StoredFlag, ...]


@dataclass(frozen=True, slots=True)
class Checked:
    """What a calibration would be judged if it were sent now, and where it would stand; nothing of it was kept."""

    site: str
    device: str
    standing: Standing
    as_found: Verdict | None
    as_left: Verdict | None
    flags: tuple[StoredFlag, ...]
    notes: tuple[StoredFlag, ...]
    working: dict[str, Any]


@dataclass(frozen=True, slots=True)
class StoredCertificate:
    """A certificate as stored: its number and revision, the bytes it is, their digest, and the log entry that holds it.

    `state` and `because` are not in the bytes: they are what became of it since.
    """

    number: str
    revision: int
    site: str
    calibration: str
    device: str
    issued_at: datetime
    document: bytes
    digest: str
    log_number: int
    state: CertificateState
    because: str


@dataclass(frozen=True, slots=True)
class CertificateRevision:
    """One revision of a certificate: what it is of, when it was issued, its digest, and what became of it and why."""

    revision: int
    site: str
    calibration: str
    device: str
    issued_at: datetime
    digest: str
    log_number: int
    state: CertificateState
    because: str
