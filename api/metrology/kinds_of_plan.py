"""What is particular to each of the twelve kinds of scale when it is tested. Data only; `plan` reads it.

Typical loads, places and repeats are common practice without a published source unless a row says otherwise; the schemes'
own rules (steps of the tolerance, share of the eccentric load) are worked out elsewhere and come on top.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.terms import Kind, Position, TestName


@dataclass(frozen=True, slots=True)
class Extra:
    """A step that only this kind has: what to do, its test's word where it has one, places, loads in kg, the source.

    In its words `{load}` stands for the load really made, `{added}` for what goes on top of it, `{net}` for what is to be
    shown. An eccentricity step without a load of its own takes the load of the corners. `added_kg` are loads put on top, one
    after the other, each read as a step of its own with the words `then`. `tare_kg` is typed in as tare beforehand. `each`
    names the readings where there are several; with `readings` of 0 it is only looked at. A step with `only_if` begins and
    ends with nothing on the scale, so that it can be left out.
    """

    name: str
    do: str
    test: TestName | None = None
    positions: tuple[Position, ...] = ()
    load_kg: str | None = None
    added_kg: tuple[str, ...] = ()
    then: str = ""
    tare_kg: str | None = None
    readings: int = 1
    each: tuple[str, ...] = ()
    only_if: str | None = None
    source: str = "common practice, no source"

    @property
    def count(self) -> int:
        """How many readings a step takes."""
        return len(self.each) or self.readings


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
# OIML R 76-1:2006 A.4.7.4, from memory: a rolling load is read at the beginning, in the middle and at the end of the
# platform, and in the reverse direction; 3.6.2.4, second hand: it is at most 0.8 Max. 60 kg in the seat is our choice.
_ROLLING: Final = "OIML R 76-1:2006 3.6.2.4 and A.4.7.4, second hand and from memory; 60 kg in the seat: our choice"
_ROLLED_IF: Final = (
    "only with two persons, and a wheelchair and a ramp both rated for the pieces and the chair; else write: not tested"
)


def _difference(base_kg: str) -> Extra:
    """1, 2 and 3 kg on top of a base load: what is taken off in a treatment is the difference, not the weight."""
    return Extra(
        f"difference at {base_kg} kg", "Put {load} on, wait until steady, read. It stays on for the next three readings.",
        "difference", load_kg=base_kg, added_kg=("1", "2", "3"), then="Leave {load} on, {added} on top of it: read.",
    )  # fmt: skip


KIND_PLANS: Final = (
    KindPlan(
        "stand-on", ("60", "100", "150"), _QUADRANTS, 3, None, _FLOOR,
        (Extra("handrail", "Hang {load} on the handrail and write down what is shown: does a hand on the rail count?",
               load_kg="5"),
         Extra("carpet", "{load} where it was found, then on a hard floor: read both.", load_kg="60",
               each=("as found", "hard floor"), only_if="only if it was found on carpet or a mat")),
    ),
    KindPlan(
        "portable platform", ("60", "100", "150"), _QUADRANTS, 3, None,
        _FLOOR + " Castors up.",
        (Extra("moved", "Lift it, carry it 5 m, put it down, level it, press zero. Put {load} on and read.", "increasing",
               load_kg="60"),
         Extra("toe edge", "Put {load} on the edge where the toes stand.", "eccentricity", ("front",)),
         Extra("battery", "If it runs on a battery: see that it warns, not drifts, when the battery is low.", readings=0)),
    ),
    KindPlan(
        "chair", ("25", "75", "100", "150"), ("centre", "front", "back", "left", "right"), 3, "150",
        "Brakes on, not leaning on a wall; armrests down and footrest open, as a person sits.",
        (Extra("armrests", "Put {load} on one armrest, then on the other: a person's arms rest there.", "eccentricity",
               ("left armrest", "right armrest"), "10"),
         Extra("footrest", "Put {load} on the footrest.", "eccentricity", ("footrest",), "10"),
         Extra("arms and footrest", "Empty. Move each and read: zero must not change.",
               each=("armrests up", "armrests down", "footrest folded", "footrest open"))),
    ),
    KindPlan(
        "wheelchair platform", ("25", "75", "100", "150", "200"), _QUADRANTS, 3, "150",
        _FLOOR + " Ramps must not bind or lie on the platform.",
        (Extra("wheel tracks", "{load} on each wheel track: front, middle, back; left and right.", "eccentricity",
               _TRACKS),
         Extra("preset tare", "Type in 20 kg as tare. Put {load} on: it must show {net}. Clear the tare.",
               load_kg="60", tare_kg="20", source="no tolerance applies: OIML R 76-1:2006 3.5.3.3, from memory"),
         Extra("wheelchair tared", "Roll the empty wheelchair on, brakes on. Write down what it weighs, then press tare: "
               "zero.", readings=1, only_if=_ROLLED_IF, source=_ROLLING),
         Extra("rolling load", "{load} in the seat, tied down. Two persons roll it over: stop, brakes on, hands off, read. "
               "Once up the ramp forwards, once backwards.", "rolling load", ("front", "centre", "back"), "60",
               each=("forwards", "backwards"), only_if=_ROLLED_IF, source=_ROLLING),
         Extra("tare cleared", "Wheelchair off. Clear the tare: zero.", only_if=_ROLLED_IF, source=_ROLLING)),
    ),
    KindPlan(
        "bed", ("20", "50", "100", "150"), _BED, 3, "100",
        "The bed empty and flat, castors on a flat floor and locked, rails in the position used, cables, pumps and bags off.",
        (Extra("rails and brake", "Empty. Move each and read: what is shown must not change by more than the tolerance.",
               each=("rails up", "rails down", "brake on", "brake off")),
         Extra("freeze", "Press freeze (hold) with nothing on, put {load} on, release: {load} must show. Bed-exit alarm on "
               "again afterwards.", load_kg="5"),
         Extra("linen tare", "Put {load} on as linen. Write down what it shows, then set the bed's zero.", "tare",
               load_kg="5", added_kg=("50",), then="Leave the linen on and add {added}: it must show {net}. Then all off, "
               "and set the bed's zero again."),
         Extra("posture", "{load}, restrained and spread on a board that was on when it was zeroed. Nobody at the foot end, "
               "hands clear. Read in each posture, tilt last.", load_kg="60", each=("flat", "head up", "knees up", "tilt"),
               only_if="only if the load can be restrained; else write: not tested")),
        eccentric_most_kg="60", dead_load_kg="30", cautions=("C-19",),
    ),
    KindPlan(
        "bed pads", ("100", "250", "400"), ("support 1", "support 2", "support 3", "support 4"), 3, None,
        "Pads on a hard floor under the castors, each on the place its label names; zero with the bed on them.",
        (Extra("pads interchanged", "Change two pads over, zero with the bed on them, put {load} on: the same must show as "
               "before.", load_kg="100"),),
        dead_load_kg="150", cautions=("C-19",),
    ),
    KindPlan(
        "sling", ("20", "60", "100", "150"), (), 5, "100",
        "Lifting examination in date, else stop: not tested. Base spread, nobody under the boom or in its fall line, "
        "never over a bed. Rated basket and sling on. Raise only until the load is clear of the floor; no swinging.",
        (Extra("off centre", "{load} at the hanger point, and no more than 20 kg off the centre; then with the boom moved.",
               positions=("left", "right"), load_kg="20", each=("boom in", "boom out")),
         Extra("battery", "Lift {load} with the battery low: what is shown must not sag.", load_kg="20",
               only_if="only if a low battery can be had")),
    ),
    KindPlan(
        "infant", ("0.5", "1", "2.5", "5", "10", "15"), _BED, 5, "5",
        "On a firm table, never on foam or a wobbly trolley; tray seated, radiant warmer and draughts off; hold and "
        "averaging off.",
        (Extra("head and foot", "Put {load} at the head end, then at the foot end of the tray.", "eccentricity",
               ("head", "foot"), "3"),
         Extra("averaging", "Averaging on, {load} on the tray: rock the tray gently and read, three times. Each must come "
               "within the tolerance. Averaging off.", load_kg="5", readings=3),
         Extra("pad tare", "Put {load} on as the pad. Write down what it shows, then press tare: zero.", "tare",
               load_kg="0.5", added_kg=("2.5",),
               then="Leave the pad on and add {added}: it must show {net}. Clear the tare.")),
    ),
    KindPlan(
        "incubator", ("0.5", "1", "2", "4"), _BED, 5, "2",
        "In place with its mattress, hoses and leads slack. Inside it is 33 to 37 degrees C: let the pieces warm, "
        "watch the air stream.",
        (Extra("tilt", "{load} lying safely: tilt within its range and read.", load_kg="2",
               each=("flat", "head up", "head down")),),
        eccentric_most_kg="3", cautions=("C-19",),
    ),
    KindPlan(
        "dialysis platform", ("60", "80", "100", "150"), _QUADRANTS, 6, "80",
        _FLOOR,
        (Extra("wheel tracks", "{load} on each wheel track: front, middle, back; left and right.", "eccentricity", _TRACKS),
         _difference("60"), _difference("80"), _difference("100")),
    ),
    KindPlan(
        "pharmacy balance", ("0.01", "0.05", "0.1", "0.2", "1"), _QUADRANTS, 10, None,
        "Level, doors shut, no draught, on for as long as its model asks; pieces at room temperature, held with "
        "tweezers or gloves.",
        (Extra("smallest use", "Weigh {load} ten times, or the smallest load that is used: the base of the minimum weight.",
               "repeatability", load_kg="0.01", readings=10),
         Extra("internal adjustment", "Print the internal adjustment's result before and after; keep both prints.",
               readings=0)),
    ),
    KindPlan(
        "analytical balance", ("0.001", "0.01", "0.1"), _QUADRANTS, 10, None,
        "On its stone table, level, doors shut, on for an hour or more; pieces acclimatised, no static; write down "
        "temperature, pressure and humidity.",
        (Extra("light load", "Weigh {load}, about 5 % of Max, ten times.", "repeatability", load_kg="0.01", readings=10),),
    ),
)  # fmt: skip
PLAN_OF: Final = {plan.kind: plan for plan in KIND_PLANS}
