"""What arrived in a schema newer than this program: known by id, site and schema, kept whole, judged later."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class NewerSubmission:
    """A submission in a schema that this program does not know yet: only what every version of it has was read."""

    schema: str
    site: str
    device: str | None


@dataclass(frozen=True, slots=True)
class QuarantineReceipt:
    """What the sender of a newer schema gets: the bytes are kept, under which digest and log entry; nothing was judged.

    The app may delete its copy when `digest` or `arrived_digest` is the SHA-256 of the bytes it holds.
    """

    calibration: str
    site: str
    schema: str
    replayed: bool
    received_at: datetime
    digest: str
    arrived_digest: str
    log_number: int
    log_hash: str


@dataclass(frozen=True, slots=True)
class Quarantined:
    """A submission that waits for a program that knows its schema."""

    calibration: str
    site: str
    schema: str
    device: str | None
    received_at: datetime
    received_by: str
    digest: str
    log_number: int


@dataclass(frozen=True, slots=True)
class QuarantinedArrival:
    """The same with what is needed to take it up: the bytes, the app's clock, and the codes of what was noted then."""

    told: Quarantined
    body: bytes
    sent_at: datetime | None
    unread: tuple[str, ...]
