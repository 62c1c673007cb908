"""The whole visit as a field app sends it, in frozen values. Shape was checked by `schemas`; nothing is judged here."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Literal

from api.metrology.mass import Mass
from api.metrology.readings import Phase
from api.metrology.terms import (
    AdjustmentType,
    AfterVisit,
    Celsius,
    Code,
    Digest,
    Hectopascal,
    Line,
    Many,
    Note,
    Outcome,
    Purpose,
    Reason,
    RelativeHumidity,
    Uuid,
    Whole,
)  # fmt: skip
from api.metrology.verdict import Verdict


@dataclass(frozen=True, slots=True)
class Performed:
    """When the visit began and ended, each with its offset from UTC."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Installation:
    """The app's installation and its own counter, which orders its submissions even under a wrong clock."""

    id: Code
    counter: Whole


@dataclass(frozen=True, slots=True)
class Procedure:
    """The written procedure followed, its revision, and the digest of the plan the app worked from."""

    code: Code
    revision: Code
    plan: Digest | None = None


@dataclass(frozen=True, slots=True)
class IdentityItem:
    """One thing on the device compared with the register: what was seen, and whether it matched."""

    item: Literal[
        "asset tag", "serial", "model", "capacity label", "interval label", "class mark", "firmware", "udi", "location"
    ]
    matches: bool
    seen: Line | None = None


@dataclass(frozen=True, slots=True)
class Seals:
    """The seal found and the seal left."""

    before: Line | None = None
    after: Line | None = None


@dataclass(frozen=True, slots=True)
class EventCounters:
    """The instrument's own event counters, as its menu shows them."""

    configuration: Whole | None = None
    adjustment: Whole | None = None


@dataclass(frozen=True, slots=True)
class CountersRead:
    """The event counters before anything was touched, and at the end."""

    before: EventCounters | None = None
    after: EventCounters | None = None


@dataclass(frozen=True, slots=True)
class Configuration:
    """How the instrument was set: what it shows, and everything that changes what it shows."""

    capacity: Mass | None = None
    interval: Mass | None = None
    decimal_point: Whole | None = None
    unit: Literal["kg", "g", "mg", "[lb_av]", "[oz_av]", "[stone_av]", "compound"] | None = None
    unit_locked: bool | None = None
    tare_in_memory: Mass | None = None
    bed_zero: Mass | None = None
    zero_tracking: bool | None = None
    filter: Line | None = None
    hold: bool | None = None
    gravity_setting: Line | None = None
    resolution: Line | None = None


@dataclass(frozen=True, slots=True)
class ConfigurationRead:
    """The configuration before anything was touched, and as the scale was left."""

    before: Configuration | None = None
    after: Configuration | None = None


@dataclass(frozen=True, slots=True)
class Setup:
    """How and where the scale stood while it was tested."""

    surface: Literal["hard floor", "carpet", "uneven", "trolley", "table", "suspended", "in its bed"] | None = None
    level: bool | None = None
    warm_up_min: Whole | None = None
    cleaned_before: bool | None = None
    cleaned_after: bool | None = None
    tested_at: Line | None = None


@dataclass(frozen=True, slots=True)
class CheckItem:
    """One item looked at: safety, wear, accessories."""

    item: Line
    result: Literal["in order", "not in order", "does not apply"]
    text: Note | None = None


@dataclass(frozen=True, slots=True)
class Air:
    """The air and the weights at one moment."""

    temperature_c: Celsius | None = None
    weights_temperature_c: Celsius | None = None
    humidity_pct: RelativeHumidity | None = None
    pressure_hpa: Hectopascal | None = None


@dataclass(frozen=True, slots=True)
class Environment:
    """The surroundings at start and end, and the instruments they were measured with."""

    start: Air | None = None
    end: Air | None = None
    measured_with: Annotated[tuple[Code, ...], Many(8)] = ()


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One adjustment: of what, at which load with which pieces, by whom authorised, and what it changed."""

    type: AdjustmentType
    at_load: Mass | None = None
    pieces: Annotated[tuple[Code, ...], Many(60)] = ()
    platform_empty: bool | None = None
    before_value: Line | None = None
    after_value: Line | None = None
    authorised_by: Code | None = None
    reason: Line | None = None


@dataclass(frozen=True, slots=True)
class PiecesCounted:
    """How many pieces were taken to the scale and how many came back."""

    out: Whole
    back: Whole


@dataclass(frozen=True, slots=True)
class TakenDown:
    """Who read the display, who typed the readings, who compared the two; and the digest of the sheet they come from."""

    read_by: Code | None = None
    typed_by: Code | None = None
    compared_by: Code | None = None
    from_sheet: Digest | None = None


@dataclass(frozen=True, slots=True)
class NamedAttachment:
    """A file that belongs to the visit, named by the digest of its bytes, and what it shows. It travels on its own."""

    digest: Digest
    what: Line


@dataclass(frozen=True, slots=True)
class Informed:
    """Whom in the ward the technician told, by role, and when."""

    role: Line
    at: datetime


@dataclass(frozen=True, slots=True)
class AppVerdict:
    """What the app itself concluded; kept beside ours, never used."""

    as_found: Verdict | None = None
    as_left: Verdict | None = None


@dataclass(frozen=True, slots=True)
class Submission:
    """A visit to one scale: what was found, done and left, or all the reasons why nothing could be.

    `id` is the visit's own, where it does not stand in the address.
    """

    schema: Literal["calibration/1"]
    site: Code
    device: Code
    performed: Performed
    technicians: Annotated[tuple[Code, ...], Many(6, 1)]
    purpose: Purpose
    outcome: Outcome
    reasons: Annotated[tuple[Reason, ...], Many(12)] = ()
    device_revision: Whole | None = None
    ward: Code | None = None
    installation: Installation | None = None
    procedure: Procedure | None = None
    identity: Annotated[tuple[IdentityItem, ...], Many(20)] = ()
    seals: Seals | None = None
    counters: CountersRead | None = None
    configuration: ConfigurationRead | None = None
    setup: Setup | None = None
    checks: Annotated[tuple[CheckItem, ...], Many(60)] = ()
    environment: Environment | None = None
    weight_set: Code | None = None
    as_found: Phase | None = None
    adjustments: Annotated[tuple[Adjustment, ...], Many(20)] = ()
    as_left: Phase | None = None
    pieces_counted: PiecesCounted | None = None
    decision: AfterVisit | None = None
    label: Code | None = None
    informed: Informed | None = None
    taken_down: TakenDown | None = None
    remarks: Note | None = None
    attachments: Annotated[tuple[NamedAttachment, ...], Many(20)] = ()
    app_verdict: AppVerdict | None = None
    id: Uuid | None = None

    @property
    def performed_on(self) -> date:
        """The day of the visit by the clock of the place: the day the weights had to be in force."""
        return self.performed.start.date()

    @property
    def pieces_used(self) -> tuple[str, ...]:
        """Every piece named by a reading or an adjustment, once each, in the order first named."""
        phases = [phase for phase in (self.as_found, self.as_left) if phase is not None]
        loads = [reading.pieces for phase in phases for reading in phase.readings]
        loads += [adjustment.pieces for adjustment in self.adjustments]
        return tuple(dict.fromkeys([code for load in dict.fromkeys(loads) for code in load]))
