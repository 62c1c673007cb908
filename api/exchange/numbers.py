"""Numbers out of cells, under one declared convention: a cell that the convention does not fit is refused, never guessed.

What a spreadsheet or a locale did to a number is recognised and named, because the person who mends it has to know.
"""

import re

from api.records.import_faults import CellRefused
from api.records.import_profile import DecimalSign, ThousandsSign

# What stands for a space between thousands: plain, no-break, thin, narrow no-break (U+0020, U+00A0, U+2009, U+202F).
SPACES = " \u00a0\u2009\u202f"
APOSTROPHES = "'\u2019"
_OF = {"none": "", ".": ".", ",": ",", "'": APOSTROPHES, "space": SPACES}
_MONTH = r"(?:jan|feb|mar|mär|mrz|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-zä]*\.?"  # English and German
_BECAME_DATE = re.compile(rf"\d{{1,2}}[-. /]*{_MONTH}(?:[-. /]*\d{{2,4}})?|{_MONTH}[-. /]*\d{{1,4}}", re.IGNORECASE)
_DATE = re.compile(r"\d{1,2}[./-]\d{1,2}[./-]\d{2,4}|\d{4}-\d{2}-\d{2}")
_EXPONENT = re.compile(r"[-+]?\d+(?:[.,]\d+)?[eE][-+]?\d+")
_BOUND = re.compile(r"[<>≤≥~±]\s*\S+")
_TWO = re.compile(r"[-+]?\d+(?:[.,]\d+)?\s*(?:/|;|\||->|→| - )\s*[-+]?\d+(?:[.,]\d+)?")
_SHAPE = re.compile(rf"([-+\u2212]?)([\d.,{SPACES}{APOSTROPHES}]+)")


def decimal_text(cell: str, decimal: DecimalSign | None, thousands: ThousandsSign | None) -> str:
    """Return a cell's number as plain decimal text, every digit kept.

    Refuses what does not fit the convention (`CellRefused`), and says what it looks like.

    >>> decimal_text("1.234,50", ",", ".")
    '1234.50'
    """
    shaped = _SHAPE.fullmatch(cell)
    if shaped is None:
        raise _not_a_number(cell)
    sign, body = shaped.groups()
    if body.isdigit() and body.isascii():
        return ("-" if sign in "-\u2212" and sign else "") + body
    plain = _plain(body, decimal, _OF[thousands or "none"])
    if plain is None:
        raise _misfit(cell, body, decimal, thousands)
    return ("-" if sign in "-\u2212" and sign else "") + plain


def _plain(body: str, decimal: DecimalSign | None, thousands: str) -> str | None:
    """The digits with a decimal point, or None where the convention does not fit."""
    point = re.escape(decimal) if decimal else "(?!)"
    whole = r"[0-9]+"
    if thousands:
        whole = rf"(?:[0-9]+|[0-9]{{1,3}}(?:[{re.escape(thousands)}][0-9]{{3}})+)"
    found = re.fullmatch(rf"({whole})?(?:{point}([0-9]*))?", body)
    if found is None or not (found[1] or found[2]):
        return None
    digits = re.sub(r"[^0-9]", "", found[1] or "0")
    return f"{digits}.{found[2]}" if found[2] else digits


def _misfit(cell: str, body: str, decimal: DecimalSign | None, thousands: ThousandsSign | None) -> CellRefused:
    said = f"the profile says {_convention(decimal, thousands)}"
    one = re.fullmatch(r"([0-9]{1,3})([.,])([0-9]{3})", body)
    if one and one[2] != decimal and one[2] not in _OF[thousands or "none"]:
        return CellRefused(
            "number-ambiguous",
            f"Found {cell!r}, which may be {one[1]}{one[3]} or {one[1]}.{one[3]}; {said}.",
            f'Say which it is: decimal "{one[2]}" or thousands "{one[2]}" for this column.',
        )
    marks = [mark for mark in body if not mark.isdigit()]
    others = [mark for mark in marks if mark != decimal and mark not in _OF[thousands or "none"]]
    last = marks[-1]
    if last in others and last in ".,":
        return _other_sign(cell, body, last, said, decimal)
    if others:
        name = "space" if others[0] in SPACES else "'" if others[0] in APOSTROPHES else others[0]
        return CellRefused(
            "number-thousands",
            f"Found {cell!r}, with a thousands sign inside; {said}.",
            f'Accepted: the digits without it; or set thousands "{name}" for this column.',
        )
    return CellRefused(
        "number-grouping", f"Found {cell!r}, whose digits are not grouped in threes; {said}.", "Type the number again."
    )


def _other_sign(cell: str, body: str, last: str, said: str, decimal: DecimalSign | None) -> CellRefused:
    word = "comma" if last == "," else "point"
    before, _, after = body.rpartition(last)
    meant = re.sub(r"[^0-9]", "", before) + (decimal or ".") + after
    return CellRefused(
        "number-decimal-sign",
        f"Found {cell!r}, which uses a decimal {word}; {said}.",
        f'Accepted: {meant}; or set decimal "{last}" for this column.',
    )


def _convention(decimal: DecimalSign | None, thousands: ThousandsSign | None) -> str:
    words = {".": "decimal point", ",": "decimal comma", None: "nothing of a decimal sign"}
    return f"{words[decimal]} and {'no thousands sign' if thousands in (None, 'none') else f'thousands {thousands!r}'}"


def _not_a_number(cell: str) -> CellRefused:
    """What the cell looks like instead."""
    if cell.startswith("="):
        return CellRefused(
            "number-formula",
            f"Found the formula {cell[:40]!r}; accepted: a number.",
            "Save the values, not the formulas.",
        )
    if _BECAME_DATE.fullmatch(cell) or _DATE.fullmatch(cell):
        return CellRefused(
            "number-became-date",
            f"Found {cell!r}: a spreadsheet has turned the number into a date; accepted: a number.",
            "Type the number again, from the sheet it was copied from: what it was cannot be told.",
        )
    if _EXPONENT.fullmatch(cell):
        return CellRefused(
            "number-exponent", f"Found {cell!r}, a number with an exponent; accepted: plain digits.",
            "Show the column with all its digits and save again.",
        )  # fmt: skip
    if _BOUND.fullmatch(cell):
        return CellRefused(
            "number-bound", f"Found {cell!r}, which is a bound and no reading; accepted: what the display showed.",
            f'Leave the cell empty, or list {cell!r} under "nothing" in the profile.',
        )  # fmt: skip
    if _TWO.fullmatch(cell):
        return CellRefused(
            "two-values", f"Found {cell!r}, two values in one cell; accepted: one number.",
            "Give as found and as left a column or a row each.",
        )  # fmt: skip
    return CellRefused(
        "not-a-number", f"Found {cell!r}; accepted: a number.",
        f'If it means that nothing was written, list {cell!r} under "nothing" in the profile.',
    )  # fmt: skip
