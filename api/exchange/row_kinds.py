"""What a row of a table is: data, or one of the rows that people put between and around data."""

from collections.abc import Sequence
from typing import Final, Literal

from api.exchange.cell_text import cleaned

RowKind = Literal["data", "blank", "totals", "header again", "title"]
# Words that begin a row of sums. English and German, common practice, no source.
TOTALS: Final = frozenset({
    "total", "totals", "sum", "subtotal", "grand total", "average", "mean", "count", "summe", "gesamt", "mittelwert",
    "anzahl",
})  # fmt: skip


def kind_of_row(cells: Sequence[str], header: Sequence[str]) -> RowKind:
    """Return what a row below the header is.

    >>> kind_of_row(["Total", "", "", "412"], ["Tag", "Day", "Load", "Shown"])
    'totals'
    """
    texts = [cleaned(cell) for cell in cells]
    if not any(texts):
        return "blank"
    if texts == list(header) or (len(texts) > len(header) and [t for t in texts if t] == list(header)):
        return "header again"
    first = next(text for text in texts if text)
    if first.rstrip(":").lower() in TOTALS:
        return "totals"
    return "data"
