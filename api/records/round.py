"""The weights to take on a round of several scales: what is asked, and the list that is the answer. Masses in kilograms."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from api.metrology.lifting import LiftingIndex
from api.metrology.mass import Mass
from api.metrology.plan_steps import Lifting
from api.metrology.refusals import Refusal
from api.metrology.stock import LeftOut
from api.metrology.substitution import Substitution
from api.metrology.terms import Code, Kind, Many
from api.records.plan import CautionText, HeldPiece


class NoRound(Refusal):
    """The round names devices, weight sets or a technician that are not on the register that day."""

    code = "no-round"


@dataclass(frozen=True, slots=True)
class RoundAsked:
    """A round: its day, the devices, the sets to choose from (all in force where none is named), who goes, and the
    heaviest piece that may be taken; of this and the technician's own limit the lower counts."""

    on: date
    devices: Annotated[tuple[Code, ...], Many(60, 1)]
    sets: Annotated[tuple[Code, ...], Many(40)] = ()
    technician: Code | None = None
    largest_piece: Mass | None = None


@dataclass(frozen=True, slots=True)
class PieceToTake:
    """A piece to take and its nominal mass."""

    piece: Code
    nominal: Mass


@dataclass(frozen=True, slots=True)
class SetToTake:
    """What is taken of one set."""

    weight_set: Code
    kg: Decimal
    pieces: tuple[PieceToTake, ...]


@dataclass(frozen=True, slots=True)
class LoadOnRound:
    """A load of a device: what is asked, what the pieces come to, the tolerance there, and the pieces' errors against it."""

    load_kg: Decimal
    made_kg: Decimal
    pieces: tuple[Code, ...]
    tolerance_kg: Decimal
    error_bound_kg: Decimal


@dataclass(frozen=True, slots=True)
class LoadNotOnRound:
    """A load that the pieces at hand cannot make: why, and the nearest that they can."""

    load_kg: Decimal
    why: str
    nearest_kg: Decimal | None = None


@dataclass(frozen=True, slots=True)
class DeviceOnRound:
    """A device of the round: its loads with their pieces, how far it is proven, what is impossible, and what is lifted.

    `loads` go up one after the other; `others` are for the corners, the repeated weighings and the kind's own steps. `lifts`
    and `moved_kg` are of the loads going up; `whole_plan` is of every step of the plan with these weights.
    """

    device: Code
    kind: Kind
    ward: Code
    place: str
    proves: str
    proven_kg: Decimal
    top_kg: Decimal
    loads: tuple[LoadOnRound, ...]
    impossible: tuple[LoadNotOnRound, ...]
    ballast: tuple[Substitution, ...]
    lifts: int
    moved_kg: Decimal
    lifting: str
    others: tuple[LoadOnRound, ...] = ()
    whole_plan: Lifting | None = None
    heaviest_kg: Decimal | None = None
    index: LiftingIndex | None = None


@dataclass(frozen=True, slots=True)
class NotOnRound:
    """A device that these weights do not go to, and why."""

    device: Code
    why: str


@dataclass(frozen=True, slots=True)
class RoundAnswer:
    """The weights to take: as few kilograms as make every load, then as few pieces, then as few lifts.

    `proven` says that no lot is lighter, or as light with fewer pieces; where the search ended before that, none is lighter
    than `least_kg`. `pieces_out` is the number to count out, and in again. `held` pieces may not be counted on, and stay.
    """

    on: date
    total_kg: Decimal
    pieces_out: int
    sets: tuple[SetToTake, ...]
    least_kg: Decimal
    gap_kg: Decimal
    proven: bool
    lifts: int
    moved_kg: Decimal
    lifts_proven: bool
    devices: tuple[DeviceOnRound, ...]
    not_with_these: tuple[NotOnRound, ...]
    left_out: tuple[LeftOut, ...]
    cautions: tuple[CautionText, ...]
    held: tuple[HeldPiece, ...] = ()
