"""Everything in a file, in its order: each visit as it was read, and each row that holds none."""

from collections.abc import Iterable, Iterator
from itertools import chain

from api.exchange.decoded import lines_of
from api.exchange.settled import Settled
from api.exchange.table_rows import declared_inside, rows_of, unannotated
from api.exchange.visits_of_table import visits_of_table
from api.records.import_profile import ImportProfile
from api.records.import_visit import Known, RowSkipped, VisitRead


def items_of(
    pieces: Iterable[bytes], profile: ImportProfile, settled: Settled, known: Known
) -> Iterator[VisitRead | RowSkipped]:
    """Give the visits and skipped rows of a file that leaves nothing open.

    A line of NDJSON comes with its text only: its content is read by the wire's own door.
    """
    lines = lines_of(pieces, settled.encoded)
    if profile.layout == "a submission a line":
        for number, line in enumerate(lines, start=1):
            text = line.rstrip("\r\n")
            yield VisitRead(number, text, text, last_line=number) if text.strip() else RowSkipped(number, "blank", text)
        return
    assert settled.delimiter is not None
    first = next(lines)
    inside = declared_inside(first) is not None
    if inside:
        yield RowSkipped(1, "delimiter", first.rstrip("\r\n"))
    rows = unannotated(rows_of(lines if inside else chain((first,), lines), settled.delimiter, 2 if inside else 1))
    for row in rows:
        above = row.line < settled.header_line
        yield RowSkipped(row.line, "above the header" if above else "header", row.raw)
        if not above:
            break
    yield from visits_of_table(rows, profile, settled, known)
