"""What is particular to each of the twelve kinds of scale when it is tested. Data only; `plan` reads it.

Typical loads, places and repeats are common practice without a published source unless a row says otherwise; the schemes'
own rules (steps of the tolerance, share of the eccentric load) are worked out elsewhere and come on top.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from api.metrology.terms import Kind, Position

# The words under which readings of a plan are sent, where there is a word for them.
PlanTest = Literal[
    "zero found", "zero set", "first loading", "increasing", "decreasing", "eccentricity", "repeatability",
    "discrimination", "creep", "tare", "unit switch", "power cycle", "rolling load", "difference",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Extra:
    """A step that only this kind has: what to do, its test's word where it has one, place, load in kg, the source.

    An eccentricity step without a load of its own takes the load of the corners. `readings` says how many it takes.
    """

    name: str
    do: str
    test: PlanTest | None = None
    positions: tuple[Position, ...] = ()
    load_kg: str | None = None
    readings: int = 1
    source: str = "common practice, no source"


@dataclass(frozen=True, slots=True)
class KindPlan:
    """How one kind is tested: typical loads (kg), places, repeats and their load (kg), what is particular, cautions.

    `eccentric_most_kg` caps the load of the corners, `dead_load_kg` is what a bed or hoist carries before any piece.
    """

    kind: Kind
    typical_kg: tuple[str, ...]
    places: tuple[Position, ...]
    repeats: int
    repeat_kg: str | None
    set_up: str
    extras: tuple[Extra, ...] = ()
    eccentric_most_kg: str | None = None
    dead_load_kg: str = "0"
    cautions: tuple[str, ...] = ()
    source: str = "common practice, no source"

    @property
    def typical(self) -> tuple[Decimal, ...]:
        """The typical loads, in kilograms."""
        return tuple(Decimal(text) for text in self.typical_kg)


_QUADRANTS: Final[tuple[Position, ...]] = ("centre", "front left", "front right", "back left", "back right")
_BED: Final[tuple[Position, ...]] = ("centre", "head left", "head right", "foot left", "foot right")
_TRACKS: Final[tuple[Position, ...]] = ("front left", "left", "back left", "front right", "right", "back right")
_FLOOR = (
    "Stand it on a hard, flat floor, away from walls; feet down, bubble in its ring, nothing touching the platform."
)

KIND_PLANS: Final = (
    KindPlan(
        "stand-on", ("60", "100", "150"), _QUADRANTS, 3, None, _FLOOR,
        (Extra("handrail", "Hang 5 kg on the handrail and write down what is shown: does a hand on the rail count?",
               load_kg="5"),
         Extra("carpet", "If it was found on carpet or a mat: repeat one load where it was found and once on a hard floor.")),
    ),
    KindPlan(
        "portable platform", ("60", "100", "150"), _QUADRANTS, 3, None,
        _FLOOR + " Castors up.",
        (Extra("moved", "Lift it, carry it 5 m, put it down, level it, and repeat one load.", "increasing"),
         Extra("toe edge", "Put a load on the edge where the toes stand.", "eccentricity", ("front",)),
         Extra("battery", "If it runs on a battery: see that it warns, not drifts, when the battery is low.")),
    ),
    KindPlan(
        "chair", ("25", "75", "100", "150"), ("centre", "front", "back", "left", "right"), 3, "150",
        "Brakes on, not leaning on a wall; armrests down and footrest open, as a person sits.",
        (Extra("armrests", "Put 10 kg on one armrest, then on the other: a person's arms rest there.", "eccentricity",
               ("left armrest", "right armrest"), "10"),
         Extra("footrest", "Put 10 kg on the footrest.", "eccentricity", ("footrest",), "10"),
         Extra("arms and footrest", "Empty: armrests up and down, footrest folded and open. Zero must not change.")),
    ),
    KindPlan(
        "wheelchair platform", ("25", "75", "100", "150", "200"), _QUADRANTS, 3, "150",
        _FLOOR + " Ramps must not bind or lie on the platform.",
        (Extra("wheel tracks", "Put the load on each wheel track: front, middle, back; left and right.", "eccentricity",
               _TRACKS),
         Extra("rolling load", "Two persons roll a loaded empty-seat wheelchair on, brakes on when read, and off. The "
               "load is the least of the chair's rating, the ramp's rating and 0.8 of Max. If that cannot be had: not "
               "tested.",
               "rolling load", source="OIML R 76-1:2006 3.6.2.4, rolling load at most 0.8 Max, second hand"),
         Extra("preset tare", "Enter 20.0 kg as tare, place a load, and read the net weight.", "tare", load_kg="20")),
    ),
    KindPlan(
        "bed", ("20", "50", "100", "150"), _BED, 3, "100",
        "The bed empty and flat, castors on a flat floor and locked, rails in the position used, cables, pumps and bags off.",
        (Extra("rails and brake", "Empty: rails up and down, brake on and off. What is shown must not change by more "
               "than the tolerance."),
         Extra("posture", "Only with a load of at most 60 kg, restrained and spread on a weighed board, nobody at the "
               "foot end, hands clear: head up, knees up, tilt last. If it cannot be restrained: not tested.", load_kg="60"),
         Extra("freeze", "Freeze (hold), put 5 kg on, release: the 5 kg must show. Bed-exit alarm on again afterwards."),
         Extra("linen tare", "Put 5 kg on as linen, set the bed's zero, add a load, and read it.", "tare", load_kg="5")),
        eccentric_most_kg="60", dead_load_kg="30", cautions=("C-19",),
    ),
    KindPlan(
        "bed pads", ("100", "250", "400"), ("support 1", "support 2", "support 3", "support 4"), 3, None,
        "Pads on a hard floor under the castors, each on the place its label names; zero with the bed on them.",
        (Extra("pads interchanged", "Change two pads over and repeat one load: the sum must be the same."),),
        dead_load_kg="150", cautions=("C-19",),
    ),
    KindPlan(
        "sling", ("20", "60", "100", "150"), (), 5, "100",
        "Lifting examination in date, else stop: not tested. Base spread, nobody under the boom or in its fall line, "
        "never over a bed. Rated basket and sling on. Raise only until the load is clear of the floor; no swinging.",
        (Extra("off centre", "Hanger point left and right, and other boom positions: at 20 kg at most.", load_kg="20"),
         Extra("battery", "Lift once more with the battery low, if it can be had: what is shown must not sag.")),
    ),
    KindPlan(
        "infant", ("0.5", "1", "2.5", "5", "10", "15"), _BED, 5, "5",
        "On a firm table, never on foam or a wobbly trolley; tray seated, radiant warmer and draughts off; hold and "
        "averaging off.",
        (Extra("head and foot", "Put 3 kg at the head end, then at the foot end of the tray.", "eccentricity",
               ("head", "foot"), "3"),
         Extra("averaging", "Averaging on: rock the tray gently with 5 kg on it three times; what is shown must come "
               "within the tolerance.", load_kg="5"),
         Extra("pad tare", "Put the pad on, press tare, add 3 kg: 3 kg must show.", "tare", load_kg="3")),
    ),
    KindPlan(
        "incubator", ("0.5", "1", "2", "4"), _BED, 5, "2",
        "In place with its mattress, hoses and leads slack. Inside it is 33 to 37 degrees C: let the pieces warm, "
        "watch the air stream.",
        (Extra("tilt", "Tilt head up and down within its range with 2 kg on, lying safely; write down what is shown.",
               load_kg="2"),),
        eccentric_most_kg="3", cautions=("C-19",),
    ),
    KindPlan(
        "dialysis platform", ("60", "80", "100", "150"), _QUADRANTS, 6, "80",
        _FLOOR,
        (Extra("wheel tracks", "Put the load on each wheel track: front, middle, back; left and right.", "eccentricity",
               _TRACKS),
         Extra("difference at 60 kg", "With 60 kg on, read; add 1, then 2, then 3 kg, and read each.", "difference",
               load_kg="60", readings=4),
         Extra("difference at 80 kg", "With 80 kg on, read; add 1, then 2, then 3 kg, and read each.", "difference",
               load_kg="80", readings=4),
         Extra("difference at 100 kg", "With 100 kg on, read; add 1, then 2, then 3 kg, and read each. The "
               "differences, not the weights, decide how much fluid is taken off.", "difference", load_kg="100", readings=4)),
    ),
    KindPlan(
        "pharmacy balance", ("0.01", "0.05", "0.1", "0.2", "1"), _QUADRANTS, 10, None,
        "Level, doors shut, no draught, on for as long as its model asks; pieces at room temperature, held with "
        "tweezers or gloves.",
        (Extra("smallest use", "Weigh the smallest load that is used ten times; it is the base of the minimum weight.",
               "repeatability", readings=10),
         Extra("internal adjustment", "Print the internal adjustment's result before and after.")),
    ),
    KindPlan(
        "analytical balance", ("0.001", "0.01", "0.1"), _QUADRANTS, 10, None,
        "On its stone table, level, doors shut, on for an hour or more; pieces acclimatised, no static; write down "
        "temperature, pressure and humidity.",
        (Extra("light load", "Weigh about 5 % of Max ten times.", "repeatability", readings=10),),
    ),
)  # fmt: skip
PLAN_OF: Final = {plan.kind: plan for plan in KIND_PLANS}
