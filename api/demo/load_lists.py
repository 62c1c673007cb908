"""What is placed on each kind of scale during a visit, and the pieces that make a load together.

Loads are nominal kilograms. Beds stop at 200 kg (safe working load less mattress and accessories), chairs and the
300 kg scale at the 220 kg that one set makes. Wheelchair platforms and bed pads go on above it by a substitute load.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from api.demo.weights import SET_CODED, deviation_ppm

# The tests beyond the usual ones, each done with a load by `special_tests`.
Doing = Literal[
    "more repeats", "armrests and footrest", "tare", "rolling load", "substitution", "difference", "creep",
    "return to zero", "unit switch", "power cycle",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Further:
    """One test beyond the usual ones: what is done, with which load in kilograms, how often or for how many minutes.

    `carried` is what stands there before: a chair or linen that is tared, in kilograms.
    """

    doing: Doing
    load: Decimal
    times: int = 1
    carried: Decimal = Decimal(0)


def _loads(text: str) -> tuple[Decimal, ...]:
    return tuple(Decimal(word) for word in text.split())


@dataclass(frozen=True, slots=True)
class LoadList:
    """The loads of a visit in kilograms, how often one is repeated, and the procedure they come from."""

    increasing: tuple[Decimal, ...]
    decreasing: tuple[Decimal, ...]
    eccentric: Decimal
    repeated: Decimal
    repeats: int
    discrimination: Decimal
    as_left: tuple[Decimal, ...]
    procedure: str
    further: tuple[Further, ...] = ()
    # Small weights bring the display to its change-over points.
    change_over: bool = False


LOAD_LISTS: Final = {
    "COL-200": LoadList(
        _loads("2 50 100 150 200"), _loads("150 100 50"), Decimal(60), Decimal(160), 3, Decimal(100),
        _loads("2 50 100 150 200"), "WP-STAND",
    ),
    "DUO-300": LoadList(
        _loads("2 50 100 150 200 220"), _loads("150 100 50"), Decimal(100), Decimal(160), 3, Decimal(100),
        _loads("2 50 100 200 220"), "WP-STAND",
    ),
    "CHR-250": LoadList(
        _loads("1 25 75 100 150 200 220"), _loads("150 75 25"), Decimal(80), Decimal(150), 3, Decimal(100),
        _loads("1 25 75 150 220"), "WP-CHAIR",
    ),
    "BED-250": LoadList(
        _loads("20 50 100 150 200"), _loads("150 100 50"), Decimal(60), Decimal(100), 3, Decimal(100),
        _loads("20 50 100 150 200"), "WP-BED",
    ),
    "INF-20": LoadList(
        _loads("0.1 0.5 1 2.5 5 10 15 20"), _loads("10 5 1"), Decimal(7), Decimal(5), 5, Decimal(5),
        _loads("0.5 2.5 5 10 20"), "WP-INFANT",
    ),
    "WCH-300": LoadList(
        _loads("1 25 75 100 150 200 220"), _loads("150 75 25"), Decimal(100), Decimal(140), 3, Decimal(100),
        _loads("1 25 75 150 220"), "WP-WHEELCHAIR",
        (
            Further("more repeats", Decimal(60), 3),
            Further("substitution", Decimal(300)),
            Further("tare", Decimal(60), carried=Decimal("18.4")),
            Further("rolling load", Decimal(120), carried=Decimal("18.4")),
        ),
    ),
    "DIA-200": LoadList(
        _loads("1 25 60 80 100 150 200"), _loads("150 100 60"), Decimal(65), Decimal(80), 6, Decimal(100),
        _loads("1 25 60 80 100 150 200"), "WP-DIALYSIS",
        (
            Further("more repeats", Decimal(160), 3),
            Further("difference", Decimal(60)),
            Further("difference", Decimal(80)),
            Further("difference", Decimal(100)),
        ),
        change_over=True,
    ),
    "PAD-500": LoadList(
        _loads("4 50 100 150 200 220"), _loads("150 100 50"), Decimal(160), Decimal(200), 5, Decimal(100),
        _loads("4 50 100 150 200 220"), "WP-PADS", (Further("substitution", Decimal(340)),),
    ),
    "PHB-2": LoadList(
        _loads("0.002 0.01 0.05 0.1 0.2 0.5 1 2"), _loads("1 0.5 0.1"), Decimal("0.7"), Decimal(2), 10, Decimal(1),
        _loads("0.01 0.1 0.5 1 2"), "WP-BALANCE", (Further("more repeats", Decimal("0.01"), 10),),
    ),
}  # fmt: skip


def pieces_for(set_code: str, load_kg: Decimal) -> tuple[str, ...]:
    """Return the pieces of a set that make a load, the heavy ones first.

    >>> pieces_for("FS-1", Decimal("25"))
    ('FS1-20-01', 'FS1-5')
    """
    chosen, rest = [], load_kg
    for code, nominal in SET_CODED[set_code].pieces:
        if nominal.kg <= rest:
            chosen.append(code)
            rest -= nominal.kg
    if rest:
        raise ValueError(f"{set_code} cannot make {load_kg} kg.")
    return tuple(chosen)


def true_load(set_code: str, pieces: tuple[str, ...]) -> float:
    """Return what pieces of a set really weigh in kilograms, each with its lasting deviation."""
    plan = SET_CODED[set_code]
    nominal_kg = {code: float(nominal.kg) for code, nominal in plan.pieces}
    return sum(nominal_kg[code] * (1 + deviation_ppm(code, plan.largest_ppm) * 1e-6) for code in pieces)
