"""What is sent of a scale between calibrations: trouble, checks in service, moves, states, limits, repairs, closings.

Shape is `schemas`' to check; what each leaves open is told in `api.metrology.device_events`. Whoever it was reported for is
told by role: no person's name, and no patient data (C-11).
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Literal

from api.metrology.device_events import RepairStage, Trouble
from api.metrology.in_service_check import KnownLoad
from api.metrology.mass import Mass
from api.metrology.terms import Code, Line, Many, Name, Note, Placed, Position, SiteCode, Uuid

# `limited` is set with its limit, by `WrittenLimit`: a limit that nobody wrote down limits nothing.
StateAsked = Literal["in service", "held back", "out of service", "lent out", "not found", "retired"]


@dataclass(frozen=True, slots=True)
class TroubleReport:
    """Trouble with a scale, as the ward or the desk tells it: what, when, for which role it is reported, in which words.

    `other` needs words. `device` may be left out where the address names it; `id` where it stands in the address.
    """

    schema: Literal["report/1"]
    site: SiteCode
    kind: Trouble
    happened_at: datetime
    reported_for: Name
    device: Code | None = None
    words: Note | None = None
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class InServiceCheck:
    """A check by ward staff: one known load, where it stood, what was shown. It speaks for that load and place only.

    The load is named by its pieces, or as one that the ward knows: one of the two. `stable` is false where the display was
    read before it was at rest.
    """

    schema: Literal["check/1"]
    site: SiteCode
    device: Code
    happened_at: datetime
    checked_for: Name
    indication: Mass
    placed: Placed
    pieces: Annotated[tuple[Code, ...], Many(20, 1)] | None = None
    known: KnownLoad | None = None
    position: Position | None = None
    stable: bool | None = None
    words: Note | None = None
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class DeviceMove:
    """A scale stands elsewhere from a moment on: site, ward, place, and why."""

    schema: Literal["move/1"]
    site: SiteCode
    ward: Code
    place: Name
    happened_at: datetime
    reason: Line
    id: Uuid


@dataclass(frozen=True, slots=True)
class StateChange:
    """A scale is in another state from a moment on, and why. A limit goes with the state it was written for."""

    schema: Literal["state/1"]
    state: StateAsked
    happened_at: datetime
    reason: Line
    id: Uuid


@dataclass(frozen=True, slots=True)
class WrittenLimit:
    """A person's limit in writing: up to which load a scale may be used, until which day at the latest, and why."""

    schema: Literal["limit/1"]
    up_to: Mass
    until: date
    happened_at: datetime
    reason: Line
    id: Uuid


@dataclass(frozen=True, slots=True)
class Repair:
    """A scale was sent for repair, or came back: what is wrong or what was done, and whether a seal was broken."""

    schema: Literal["repair/1"]
    stage: RepairStage
    happened_at: datetime
    words: Note
    id: Uuid
    seal_broken: bool | None = None


@dataclass(frozen=True, slots=True)
class ClosingAsked:
    """Why an open event is closed, in a person's own words."""

    words: Line


EventSent = TroubleReport | InServiceCheck | DeviceMove | StateChange | WrittenLimit | Repair
