"""Lifts, kilograms moved, and the lifting index of a piece: numbers to plan with, not advice. A person's limit is their own.

The recommended weight limit is NIOSH's: RWL = 23 HM VM DM AM FM CM (Revised NIOSH Lifting Equation, Applications Manual,
DHHS 94-110, 1994: the formula as quoted in public excerpts, the ends of its multipliers, AM, FM and CM from memory). The
lifting index is the mass over that limit; above 1 the limit is exceeded.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT
from api.metrology.terms import Kind

LOAD_CONSTANT_KG: Final = 23.0  # DHHS 94-110 section 1.1
# Frequency multiplier of one lift a minute for up to an hour, and coupling multiplier of a good grip (DHHS 94-110 tables 5
# and 7, from memory). Other rounds, other pieces: other values, given by the caller.
ONE_LIFT_A_MINUTE: Final = 0.94
GOOD_GRIP: Final = 1.0


@dataclass(frozen=True, slots=True)
class Situation:
    """How a piece is carried onto a scale: distance of the hands from the ankles at the worse end, their heights where it is
    picked up and put down, in cm, and the twist of the body in degrees."""

    name: str
    horizontal_cm: float
    from_cm: float
    to_cm: float
    twist_deg: float
    source: str


_COMMON: Final = "common practice, no source"
FLOOR_PLATFORM: Final = Situation("floor platform, from a trolley", 30, 70, 8, 0, _COMMON)
BED_CENTRE: Final = Situation("centre of a bed, from a trolley", 50, 70, 70, 30, _COMMON)
SEAT: Final = Situation("seat of a chair, from a trolley", 40, 70, 50, 0, _COMMON)
BENCH: Final = Situation("tray or balance on a bench, from a trolley", 40, 70, 90, 0, _COMMON)

SITUATION_OF: Final[dict[Kind, Situation]] = {
    "stand-on": FLOOR_PLATFORM,
    "portable platform": FLOOR_PLATFORM,
    "wheelchair platform": FLOOR_PLATFORM,
    "dialysis platform": FLOOR_PLATFORM,
    "bed pads": FLOOR_PLATFORM,
    "sling": FLOOR_PLATFORM,  # the basket stands on the floor while it is filled
    "chair": SEAT,
    "bed": BED_CENTRE,
    "infant": BENCH,
    "incubator": BENCH,
    "pharmacy balance": BENCH,
    "analytical balance": BENCH,
}


@dataclass(frozen=True, slots=True)
class Placement:
    """Pieces that stand on a scale together, and where: the centre, or a position of the eccentricity test."""

    pieces: tuple[str, ...]
    position: str = "centre"


@dataclass(frozen=True, slots=True)
class Moves:
    """How often a piece is lifted by hand, and the kilograms moved that way, exact."""

    lifts: int
    kg: Decimal


@dataclass(frozen=True, slots=True)
class LiftingIndex:
    """The recommended weight limit of a situation in kg, and the mass of a piece over it."""

    situation: str
    limit_kg: float
    index: float


def moves_of(placements: Sequence[Placement], nominal_kg: Mapping[str, Decimal]) -> Moves:
    """Return the lifts and kilograms moved for placements one after the other, from the empty scale to the empty scale.

    A piece put on, taken off, or shifted from one position to another is one lift; a piece that stays is none. A second
    weighing of the same load is a placement of its own, with an empty one between them.
    """
    lifts, moved = 0, Decimal(0)
    before = Placement(())
    for now in (*placements, Placement(())):
        staying = set(before.pieces) & set(now.pieces) if before.position == now.position else set()
        for code in {*before.pieces, *now.pieces} - staying:
            lifts += 1
            moved = EXACT.add(moved, nominal_kg[code])
        before = now
    return Moves(lifts, moved)


def recommended_limit(situation: Situation, frequency: float = ONE_LIFT_A_MINUTE, coupling: float = GOOD_GRIP) -> float:
    """Return the recommended weight limit in kilograms: the lower of picking up and putting down; 0 where none is lifted.

    >>> round(recommended_limit(FLOOR_PLATFORM), 1)
    12.8
    """
    travelled = abs(situation.to_cm - situation.from_cm)
    common = LOAD_CONSTANT_KG * _horizontal(situation.horizontal_cm) * _distance(travelled)
    heights = min(_vertical(situation.from_cm), _vertical(situation.to_cm))
    return common * heights * _asymmetry(situation.twist_deg) * frequency * coupling


def lifting_index(
    mass_kg: Decimal, kind: Kind, frequency: float = ONE_LIFT_A_MINUTE, coupling: float = GOOD_GRIP
) -> LiftingIndex:
    """Return the lifting index of a piece of a mass, carried onto a scale of a kind."""
    situation = SITUATION_OF[kind]
    limit = recommended_limit(situation, frequency, coupling)
    return LiftingIndex(situation.name, limit, float(mass_kg) / limit)


# The multipliers' ends: from memory of DHHS 94-110 tables 1 to 4. Beyond the last nothing may be lifted.
def _horizontal(cm: float) -> float:
    return 0.0 if cm > 63 else 25 / max(cm, 25)


def _vertical(cm: float) -> float:
    return 0.0 if cm > 175 else 1 - 0.003 * abs(cm - 75)


def _distance(cm: float) -> float:
    return 0.0 if cm > 175 else 0.82 + 4.5 / max(cm, 25)


def _asymmetry(degrees: float) -> float:
    return 0.0 if degrees > 135 else 1 - 0.0032 * degrees
