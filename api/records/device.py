"""Scales on the register: the model of a scale, and one device of it with its place, state and limits."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from api.metrology.mass import Mass
from api.metrology.scale import Arrangement, Range, Scale
from api.metrology.terms import AccuracyClass, Between, Code, DeviceState, Kind, Line, Many, Name, SchemeName, Whole


@dataclass(frozen=True, slots=True)
class WeighingRange:
    """One range or partial range in one displayed unit: Max, d, e, and Min where it is marked."""

    max: Mass
    d: Mass
    e: Mass
    min: Mass | None = None


@dataclass(frozen=True, slots=True)
class CounterWidths:
    """How many digits the event counters have before they roll over."""

    configuration: Annotated[int, Between(Decimal(2), Decimal(6))] | None = None
    adjustment: Annotated[int, Between(Decimal(2), Decimal(6))] | None = None


@dataclass(frozen=True, slots=True)
class DeviceModel:
    """A model of scale under our own code: kind, class, and its ranges for each unit it can show.

    `additive_tare` is what its tare device can take beyond Max (T+); left out where tare is taken from the range.
    `dead_load` is what stands on it besides what is weighed, out of the safe working load: mattress, accessories and board
    of a bed, the bed on pads.
    """

    code: Code
    kind: Kind
    description: Name
    accuracy_class: AccuracyClass
    arrangement: Arrangement
    ranges: Annotated[tuple[WeighingRange, ...], Many(24, 1)]
    supports: Annotated[int, Between(Decimal(1), Decimal(12))] = 4
    tare_max: Mass | None = None
    additive_tare: Mass | None = None
    safe_working_load: Mass | None = None
    dead_load: Mass | None = None
    unit_lock_possible: bool | None = None
    counters: CounterWidths | None = None
    warm_up_min: Whole | None = None

    def as_scale(self) -> Scale:
        """Return the model as the metrology sees it, ranges ascending by Max within each unit."""
        ranges = [
            Range(r.max.unit, r.max.value, r.d.value, r.e.value, r.min.value if r.min else None) for r in self.ranges
        ]
        ranges.sort(key=lambda r: (r.unit, r.max))
        added = self.additive_tare.kg if self.additive_tare else Decimal(0)
        return Scale(self.kind, self.accuracy_class, self.arrangement, tuple(ranges), self.supports, added)


@dataclass(frozen=True, slots=True)
class ToleranceChoice:
    """Which tolerance the owner chose for a device: a published scheme with its edition, or a house rule by code."""

    scheme: SchemeName
    edition: Name | None = None
    house_rule: Code | None = None


@dataclass(frozen=True, slots=True)
class LimitOfUse:
    """A person's written, dated limit: up to which load the device may be used, why, until when, by whose word."""

    up_to: Mass
    reason: Line
    decided_by: Code
    until: date | None = None


@dataclass(frozen=True, slots=True)
class AdjustedAt:
    """Where the span was last adjusted, and the gravity there."""

    site: Code
    on: date
    g_m_s2: Annotated[Decimal, Between(Decimal("9.7"), Decimal("9.9"))] | None = None


@dataclass(frozen=True, slots=True)
class RegisteredRepeatability:
    """A standard deviation held for the device over several visits, for when a visit has none of its own."""

    standard_deviation: Mass
    degrees_of_freedom: Annotated[int, Between(Decimal(1), Decimal(100_000))]
    source: Line


@dataclass(frozen=True, slots=True)
class Device:
    """One scale: who it is, where it stands since when, its state, its tolerance, its interval."""

    tag: Code
    serial: Name
    model: Code
    site: Code
    ward: Code
    place: Name
    in_place_since: date
    state: DeviceState
    tolerance: ToleranceChoice
    interval_months: Annotated[int, Between(Decimal(1), Decimal(120))]
    on_register_since: date
    state_reason: Line | None = None
    limit: LimitOfUse | None = None
    adjusted_at: AdjustedAt | None = None
    heaviest_load_used: Mass | None = None
    repeatability: RegisteredRepeatability | None = None
    electrical_safety_due: date | None = None
    legal_verification_until: date | None = None
    unit_lock_required: bool = True
    firmware: Name | None = None
    udi: Name | None = None
    previous_tags: Annotated[tuple[Code, ...], Many(10)] = ()

    @property
    def tags(self) -> tuple[str, ...]:
        """The tag and all former ones: its history stands under each."""
        return (self.tag, *self.previous_tags)
