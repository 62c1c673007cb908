"""Cells as text: trimmed, in one Unicode form, without the quote that guards against formulas; what spreadsheets did to them.

Labels and serials are text for ever: their zeros, their length and their digits count.
"""

import re
import unicodedata
from collections.abc import Set

from api.records.import_faults import CellRefused

# An export puts one quote before a text that a spreadsheet would run as a formula (OWASP, CSV injection), and before one that
# begins with such quotes; one is taken off.
_GUARDED = re.compile("'+[=+\\-@\t\r\uff1d\uff0b\uff0d\uff20]")
_EXPONENT = re.compile(r"[0-9](?:[.,][0-9]+)?E\+[0-9]+", re.IGNORECASE)
# A spreadsheet keeps fifteen digits of a number and fills the rest with zeros (IEEE 754 double precision).
_CUT = re.compile(r"[0-9]{15}0+")


def cleaned(cell: str) -> str:
    """Return a cell without space at its ends, in Unicode's composed form, without a guarding quote."""
    text = unicodedata.normalize("NFC", cell.strip(" \t\r\n\u00a0\u202f\ufeff"))
    return text[1:] if _GUARDED.match(text) else text


def value_of(cell: str, nothing: Set[str]) -> str | None:
    """Return what a cell holds, None where it is empty or says that nothing was written. Blank is never zero."""
    text = cleaned(cell)
    return None if not text or text in nothing else text


def is_formula(text: str) -> bool:
    """Return whether a text would run as a formula in a spreadsheet."""
    return text.startswith("=")


def label_text(cell: str) -> str:
    """Return a label or serial as it stands; refuses what a spreadsheet has made a number of (`CellRefused`)."""
    if _EXPONENT.fullmatch(cell):
        raise CellRefused(
            "label-exponent", f"Found {cell!r}: a spreadsheet has made a number of a label; accepted: the label.",
            "Type the label again, in a column that is formatted as text.",
        )  # fmt: skip
    if _CUT.fullmatch(cell):
        raise CellRefused(
            "label-cut", f"Found {cell!r}: a spreadsheet has cut a label after 15 digits; accepted: the label.",
            "Type the label again, in a column that is formatted as text.",
        )  # fmt: skip
    return cell


def with_zeros(tag: str, known: Set[str]) -> str | None:
    """Return the one known tag that a tag would be if its leading zeros had been lost, None where there is none.

    >>> with_zeros("417", {"00417", "A-04"})
    '00417'
    """
    if tag in known or not tag.isdigit():
        return None
    found = [other for other in known if other.isdigit() and other.lstrip("0") == tag.lstrip("0")]
    return found[0] if len(found) == 1 else None
