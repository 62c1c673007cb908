"""An event of a scale as it is read back: what was sent, what was made of it, and what closed it."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Literal

from api.metrology.device_events import EventKind, OpenKind
from api.metrology.verdict import Verdict
from api.records.calibration import StoredFlag


@dataclass(frozen=True, slots=True)
class Closing:
    """What closed an event: a person in words, a released calibration that began after it, or the return from repair."""

    closed_by: Literal["a person", "a calibration", "its return"]
    closed_at: datetime
    by_whom: str | None = None
    words: str | None = None
    calibration: str | None = None


@dataclass(frozen=True, slots=True)
class DeviceEvent:
    """One event: identity, times, content, flags; for a check its verdict with the whole working; where it stands.

    `happened_at` is as sent; `counts_from` is the moment that decides: corrected where the clocks were apart, and never
    after it was received. `leaves_open` is missing where it leaves nothing open: a state, a limit, a check that passed or
    decides nothing. `open` and `closed` are of the day asked; read from the record alone, only a person's closing is known.
    """

    event: str
    site: str
    kind: EventKind
    what: str
    device: str
    device_on_register: bool
    happened_at: str
    happened_on: date
    counts_from: datetime
    received_at: datetime
    recorded_by: str
    open: bool
    flags: tuple[StoredFlag, ...]
    notes: tuple[StoredFlag, ...]
    log_number: int
    digest: str
    content: dict[str, Any]
    clock_offset_seconds: Decimal | None = None
    verdict: Verdict | None = None
    working: dict[str, Any] | None = None
    leaves_open: OpenKind | None = None
    closed: Closing | None = None


@dataclass(frozen=True, slots=True)
class EventReceipt:
    """What the sender of an event gets: that it is kept, under which digest and log entry, and what it does at once.

    The app may delete its copy when `digest` or `arrived_digest` is the SHA-256 of the bytes it holds. `leaves_open` says
    what it leaves open until it is closed; `cautions` are what to do now.
    """

    event: str
    site: str
    kind: EventKind
    what: str
    device: str
    device_on_register: bool
    replayed: bool
    received_at: datetime
    digest: str
    arrived_digest: str
    log_number: int
    log_hash: str
    flags: tuple[StoredFlag, ...]
    notes: tuple[StoredFlag, ...]
    cautions: tuple[str, ...]
    leaves_open: OpenKind | None = None
    verdict: Verdict | None = None
