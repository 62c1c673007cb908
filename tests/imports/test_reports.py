"""The report of a file: the file itself with columns before it that can be mended and sent again, lines of JSON, a page."""

import csv
import io
import json

from sqlalchemy import Engine

from api.database import reading
from api.exchange.report import report_lines, table_report
from api.exchange.report_page import report_page
from api.queries.imports import import_run, pieces_of, rows_told
from api.records.file_import import FileImport
from tests.imports.importing import A_PROFILE, LINES, imported, profile_from, rows_of, tried

HEAD = "Tag;Day;Found;Left;Note\n"
WRONG = (
    HEAD + 'A-04;2024-03-14;100,0;;"castors\nreplaced"\nA-05;2024-03-14;100.0;;\n\nTotal;;;;\nA-06;2024-03-14;100.0\n'
)
PROFILE = profile_from(A_PROFILE)


def report(engine: Engine, told: FileImport) -> bytes:
    with reading(engine) as connection:
        run = import_run(connection, told.file_import)
        rows = list(rows_told(connection, told.file_import, run.attempt))
    return b"".join(table_report(pieces_of(engine, told.file_import), run.settled, rows))


def cells(content: bytes, encoding: str = "utf-8") -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode(encoding)), delimiter=";"))


def test_the_report_is_the_file_with_what_came_of_each_row_before_it(engine: Engine) -> None:
    told = tried(engine, WRONG.encode(), PROFILE)

    found = cells(report(engine, told))

    assert found[0] == ["_line", "_status", "_codes", "_messages", *HEAD.strip().split(";")]
    assert [row[:2] for row in found[1:]] == [
        ["2", "rejected"], ["4", "noted"], ["5", "skipped: blank"], ["6", "skipped: totals"], ["7", "rejected"],
    ]  # fmt: skip
    assert [row[4:] for row in found] == [row or [""] for row in cells(WRONG.encode())]


def test_a_fault_names_line_column_header_field_what_was_found_and_what_would_do(engine: Engine) -> None:
    told = tried(engine, WRONG.encode(), PROFILE)

    (row, *_) = [row for row in rows_of(engine, told.file_import) if row.status == "rejected"]

    (fault,) = row.faults
    assert fault.told() == (
        "line 2, column C \"Found\" -> indication: Found '100,0', which uses a decimal comma; the profile says decimal point "
        'and no thousands sign. Accepted: 100.0; or set decimal "," for this column. (import.number-decimal-sign)'
    )
    assert (fault.line, fault.column, fault.header, fault.field, fault.found) == (
        2,
        "C",
        "Found",
        "indication",
        "100,0",
    )


def test_a_report_that_was_mended_comes_in_as_the_file_would(engine: Engine) -> None:
    first = imported(engine, WRONG.encode(), PROFILE, "each", 2)
    mended = (
        report(engine, first).replace(b"100,0", b"100.0").replace(b"A-06;2024-03-14;100.0", b"A-06;2024-03-14;100.0;;")
    )

    again = imported(engine, mended, PROFILE)

    assert again.kept is not None
    assert (again.kept.visits.replayed, again.kept.visits.noted, again.kept.visits.rejected) == (1, 2, 0)
    lines = [row.line for row in rows_of(engine, again.file_import) if row.status != "skipped"]
    assert lines == [2, 4, 7]


def test_a_report_keeps_the_encoding_and_the_mark_of_its_file(engine: Engine) -> None:
    old = "A-04;2024-03-14;100.0;;Stütze\n"
    windows = tried(engine, (HEAD + old).encode("windows-1252"), profile_from(A_PROFILE | {"encoding": "windows-1252"}))
    marked = tried(engine, (HEAD + old).encode("utf-8-sig"), PROFILE)

    assert cells(report(engine, windows), "windows-1252")[1][-1] == "Stütze"
    assert report(engine, marked).startswith(b"\xef\xbb\xbf")
    assert cells(report(engine, marked), "utf-8-sig")[1][-1] == "Stütze"


def test_no_cell_of_a_report_that_is_ours_begins_like_a_formula(engine: Engine) -> None:
    told = tried(engine, (HEAD + "A-04;2024-03-14;=1+1;;=2+2\n").encode(), PROFILE)

    ours = [cell for row in cells(report(engine, told))[1:] for cell in row[:4]]

    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in ours)


def test_lines_of_json_say_the_same_as_the_rows(engine: Engine) -> None:
    told = tried(engine, WRONG.encode(), PROFILE)
    rows = rows_of(engine, told.file_import)

    lines = [json.loads(line) for line in report_lines(rows)]

    assert [line["status"] for line in lines] == [row.status for row in rows]
    assert lines[1]["faults"][0]["code"] == "number-decimal-sign"


def test_a_file_of_lines_is_reported_without_its_lines(engine: Engine) -> None:
    told = tried(engine, b'{"schema": "calibration/1"}\n', profile_from(LINES))

    found = list(csv.reader(io.StringIO(report(engine, told).decode())))

    assert found[0] == ["_line", "_status", "_codes", "_messages"]
    assert found[1][:2] == ["1", "rejected"]


def test_the_page_says_all_of_it_and_runs_nothing(engine: Engine) -> None:
    told = tried(engine, (HEAD + "A-04;2024-03-14;<script>alert(1)</script>;;\n").encode(), PROFILE)

    page = report_page(told, rows_of(engine, told.file_import))

    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "number-bound" in page
    assert "tried out" in page


def test_the_page_of_an_open_import_says_what_is_to_be_declared(engine: Engine) -> None:
    told = tried(engine, WRONG.encode(), profile_from({n: v for n, v in A_PROFILE.items() if n != "decimal"}))

    assert "nothing says which is the decimal sign" in report_page(told, [])


def test_faults_are_counted_by_code_with_the_first_lines(engine: Engine) -> None:
    rows = "".join(f"A-04;2024-03-{day:02};100,0;;\n" for day in range(1, 6))

    told = tried(engine, (HEAD + rows).encode(), PROFILE)

    assert told.tried is not None
    first = told.tried.faults[0]
    assert (first.code, first.severity, first.count, first.lines) == ("number-decimal-sign", "error", 5, (2, 3, 4))
