"""How a table for people is written: two dialects of CSV, and texts that no spreadsheet runs as a formula.

`comma` is RFC 4180 with decimal points; `semicolon` is what spreadsheets expect where the comma is the decimal sign, with
the mark by which they know UTF-8. A text that a spreadsheet would take for a formula gets one quote before it, and so does
one that begins with such quotes already: taking one quote off gives the text back (`cell_text.cleaned` does). Numbers are
never touched.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.records.import_profile import DecimalSign, Delimiter

Cell = str | int | bool | Decimal | None
# OWASP, CSV injection: what spreadsheets run, the full-width forms included; and what is quoted so already.
_RUNS = re.compile("'*[=+\\-@\t\r\uff1d\uff0b\uff0d\uff20]")

# Most texts: nothing in them has to be guarded or quoted.
_PLAIN = re.compile("[A-Za-z0-9][A-Za-z0-9 ._:+/-]*(?<! )")


@dataclass(frozen=True, slots=True)
class Dialect:
    """One way of writing a table as text."""

    name: str
    delimiter: Delimiter
    decimal: DecimalSign
    mark: bytes = b""

    def row(self, cells: Sequence[Cell], behind: str = "") -> bytes:
        """Return a row as it stands in the file, behind cells that are written already (`cells`)."""
        return f"{behind}{self.delimiter.join(map(self._cell, cells))}\r\n".encode()

    def cells(self, cells: Sequence[Cell]) -> str:
        """Return cells with which rows begin, as they stand in the file: for what many rows have in common."""
        return "".join(f"{self._cell(cell)}{self.delimiter}" for cell in cells)

    def _cell(self, value: Cell) -> str:
        if value is None:
            return ""
        kind = type(value)
        if kind is str:
            return str(value) if _PLAIN.fullmatch(str(value)) else self._text(guarded(str(value)))
        if kind is bool:
            return "true" if value else "false"
        return f"{value:f}".replace(".", self.decimal) if kind is Decimal else str(value)

    def _text(self, text: str) -> str:
        """RFC 4180 section 2.6 and 2.7; a text with space at its ends is quoted too, so that it is seen."""
        if text.strip() == text and not any(sign in text for sign in ('"', "\r", "\n", self.delimiter)):
            return text
        doubled = text.replace('"', '""')
        return f'"{doubled}"'


COMMA: Final = Dialect("comma", ",", ".")
SEMICOLON: Final = Dialect("semicolon", ";", ",", b"\xef\xbb\xbf")
DIALECTS: Final = (COMMA, SEMICOLON)


def guarded(text: str) -> str:
    """Return a text that no spreadsheet runs.

    >>> guarded("=1+1"), guarded("-"), guarded("'=x"), guarded("it's")
    ("'=1+1", "'-", "''=x", "it's")
    """
    return f"'{text}" if _RUNS.match(text) else text
