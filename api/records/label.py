"""The label of a visit: as it is sent when it is stuck on, what happens to it later, and as it is read back."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Name, SiteCode, Uuid
from api.metrology.visit_label import LabelSays, NotRight
from api.records.calibration import StoredFlag

LabelEventKind = Literal["printed again", "void", "removed"]


@dataclass(frozen=True, slots=True)
class OldLabel:
    """The label that was on the scale before: taken off, not there, or still on it; and what stood on it as its number."""

    was: Literal["removed", "not there", "could not be removed"]
    id: Name | None = None


@dataclass(frozen=True, slots=True)
class LabelSent:
    """A label stuck on a scale after a visit: of which record, which label of it, what it says, and the old one.

    `tested_on` is the day of the visit. With a limit it says up to which load; "do not use" promises no date.
    """

    schema: Literal["label/1"]
    site: SiteCode
    device: Code
    calibration: Uuid
    says: LabelSays
    tested_on: date
    by: Code
    stuck_at: datetime
    old_label: OldLabel
    place: Annotated[int, Between(Decimal(1), Decimal(99))] = 1
    due: date | None = None
    up_to: Mass | None = None


@dataclass(frozen=True, slots=True)
class LabelEventSent:
    """What happens to a label: printed again and stuck over, made void because of a slip, or taken off."""

    schema: Literal["label-event/1"]
    kind: LabelEventKind
    happened_at: datetime
    by: Code
    reason: Line
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class LabelEvent:
    """Something that happened to a label, as it is kept."""

    event: str
    kind: LabelEventKind
    happened_at: datetime
    by: str
    recorded_by: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class StoredLabel:
    """A label as it is kept: its id, what was sent, its flags, and what happened to it, in the order it happened."""

    label: str
    site: str
    sent: LabelSent
    content: dict[str, Any]
    flags: tuple[StoredFlag, ...]
    received_at: datetime
    recorded_by: str
    log_number: int
    digest: str
    events: tuple[LabelEvent, ...]


@dataclass(frozen=True, slots=True)
class LabelRead:
    """A label with whether it is right on a day, and every reason why it is not. `address` is that of the scale's page."""

    label: str
    site: str
    device: str
    calibration: str
    says: LabelSays
    tested_on: date
    by: str
    stuck_at: datetime
    old_label: OldLabel
    address: str
    right: bool
    why: tuple[NotRight, ...]
    events: tuple[LabelEvent, ...]
    flags: tuple[StoredFlag, ...]
    received_at: datetime
    recorded_by: str
    log_number: int
    digest: str
    due: date | None = None
    up_to: Mass | None = None


@dataclass(frozen=True, slots=True)
class LabelReceipt:
    """What the sender of a label, or of an event of one, gets: that it is kept, and the label as it stands now."""

    replayed: bool
    arrived_digest: str
    log_number: int
    log_hash: str
    label: LabelRead
