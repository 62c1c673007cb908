"""What is placed on each kind of scale during a visit, and the pieces that make a load together.

Loads are nominal kilograms. Beds stop at 200 kg (safe working load less mattress and accessories), chairs and the
300 kg scale at the 220 kg that one set makes.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.demo.weights import SET_CODED, deviation_ppm


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
