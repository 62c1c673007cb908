"""Masses out of cells: a number and the unit that holds for it, from the cell itself, its row, its column or the profile."""

import re

from api.exchange.numbers import decimal_text
from api.metrology.mass import KILOGRAMS_PER, UNIT_HINTS
from api.records.import_faults import CellRefused
from api.records.import_profile import DecimalSign, ThousandsSign

_WITH_UNIT = re.compile(r"(.*[0-9.,])[ \u00a0\u202f]*([^\s0-9.,'\u2019<>=%/|;-][^0-9;|]*)")
_IN_HEADER = re.compile(r".*[\[(]\s*([^\])]+?)\s*[\])]\s*$")


def split_unit(cell: str) -> tuple[str, str | None]:
    """Return the number and the unit that a cell itself writes behind it, None where it writes none.

    >>> split_unit("10,0 kg")
    ('10,0', 'kg')
    """
    found = _WITH_UNIT.fullmatch(cell)
    return (found[1], found[2].strip()) if found else (cell, None)


def unit_in_header(header: str) -> str | None:
    """Return the unit that a header names in brackets at its end: `Reading (kg)` is in kilograms."""
    found = _IN_HEADER.fullmatch(header)
    return found[1] if found and (found[1] in KILOGRAMS_PER or found[1] in UNIT_HINTS) else None


def unit_code(text: str) -> str:
    """Return the UCUM code of a unit as written; refuses what is none, with the code that may be meant (`CellRefused`)."""
    if text in KILOGRAMS_PER:
        return text
    hint = UNIT_HINTS.get(text, UNIT_HINTS.get(text.lower()))
    listed = ", ".join(KILOGRAMS_PER)
    raise CellRefused(
        "unit-unknown",
        f"Found the unit {text!r}; accepted: {listed}.",
        f'If {hint} is meant, say so in the profile: a word for the field unit, found {text!r}, means "{hint}".'
        if hint
        else "Write the unit's code, or say in the profile which unit the word means.",
    )


def mass_text(
    cell: str, unit: str | None, decimal: DecimalSign | None, thousands: ThousandsSign | None, words: dict[str, str]
) -> dict[str, str]:
    """Return a cell's mass in the wire's form; `unit` is the one that holds for its row or column.

    Refuses a number that the convention does not fit, a unit that is unknown, missing, or another than the one that holds.
    """
    number, written = split_unit(cell)
    code = None if written is None else _code_written(cell, written, words)
    if code is not None and unit is not None and code != unit:
        raise CellRefused(
            "unit-differs",
            f"Found {cell!r}, in {code}; the unit that holds here is {unit}.",
            "Mend the cell, or leave the unit out of the profile where each cell writes its own.",
        )
    held = code or unit
    value = decimal_text(number, decimal, thousands)
    if held is None:
        raise CellRefused(
            "unit-missing", f"Found {cell!r}, and nothing says in which unit; accepted: a number and its unit.",
            "Give the profile a unit for the column or the file, or the file a column of units.",
        )  # fmt: skip
    return {"value": value, "unit": held}


def _code_written(cell: str, written: str, words: dict[str, str]) -> str:
    """The unit's code; what is neither a unit nor like one makes the whole cell no number."""
    meant = words.get(written, written)
    if meant in KILOGRAMS_PER or meant in UNIT_HINTS or meant.lower() in UNIT_HINTS:
        return unit_code(meant)
    decimal_text(cell, None, None)
    return unit_code(meant)


# What a slip of the unit makes of a reading: a thousand times or a thousandth (g and kg), or the pound's 0.453 592 37.
SLIPS = {"1000": 1000.0, "1/1000": 0.001, "0.4536": 0.45359237, "2.2046": 1 / 0.45359237}
# How near a ratio has to be: common practice, no source; a scale that errs by 3 % is not a slip of the unit.
SLIP_WITHIN = 0.03


def unit_slip(load_kg: float, indication_kg: float) -> str | None:
    """Return the factor by which a reading looks like its load in another unit, None where it does not.

    >>> unit_slip(10.0, 10000.2)
    '1000'
    """
    if load_kg <= 0 or indication_kg <= 0:
        return None
    ratio = indication_kg / load_kg
    return next((name for name, slip in SLIPS.items() if abs(ratio / slip - 1) <= SLIP_WITHIN), None)
