"""The tables of an export: two dialects that say the same, texts that no spreadsheet runs, numbers with every digit."""

import csv
import io
import json
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from api.exchange.cell_text import cleaned
from api.exchange.dialects import COMMA, DIALECTS, SEMICOLON, Dialect, guarded
from tests.exports.exporting import Archive

TABLES = ("devices", "calibrations", "readings", "certificates")
# How a value of each type is read, as the Table Schema of Data Package 2.0 describes its lexical form.
READ: dict[str, Any] = {
    "string": str, "integer": int, "number": Decimal, "date": date.fromisoformat, "time": time.fromisoformat,
    "datetime": datetime.fromisoformat, "boolean": {"true": True, "false": False}.__getitem__,
}  # fmt: skip
RUN_BY_SPREADSHEETS = ("=", "+", "-", "@", "\t", "\r")  # OWASP, CSV injection


def schema_of(archive: Archive, dialect: Dialect, table: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(archive.zip.read(f"csv/{dialect.name}/{table}.schema.json"))
    return found


def rows_of(archive: Archive, dialect: Dialect, table: str) -> list[dict[str, Any]]:
    """A table read by its own schema: every cell of its type, none where the schema says that nothing was written."""
    fields = {field["name"]: field for field in schema_of(archive, dialect, table)["fields"]}
    read = []
    for row in archive.table(f"csv/{dialect.name}/{table}.csv", dialect.delimiter):
        assert list(row) == list(fields)
        read.append({name: _value(fields[name], cell) for name, cell in row.items()})
    return read


def _value(field: dict[str, Any], cell: str) -> Any:
    if cell == "":
        return None
    if field["type"] == "number":
        cell = cell.replace(field["decimalChar"], ".")
    return READ[field["type"]](cell)


@pytest.mark.parametrize("table", TABLES)
def test_both_dialects_say_the_same(archive: Archive, table: str) -> None:
    comma, semicolon = (rows_of(archive, dialect, table) for dialect in DIALECTS)

    assert comma == semicolon
    assert comma


@pytest.mark.parametrize("table", TABLES)
def test_rows_are_told_apart_by_the_key_of_their_schema(archive: Archive, table: str) -> None:
    key = schema_of(archive, COMMA, table)["primaryKey"]
    rows = rows_of(archive, COMMA, table)

    assert len({tuple(row[name] for name in key) for row in rows}) == len(rows)


def test_the_semicolon_dialect_has_the_mark_and_decimal_commas_that_spreadsheets_expect(archive: Archive) -> None:
    content = archive.zip.read("csv/semicolon/readings.csv")

    assert content.startswith(b"\xef\xbb\xbf")
    assert ";100,0;kg;" in content.decode("utf-8-sig")
    assert not archive.zip.read("csv/comma/readings.csv").startswith(b"\xef")


def test_readings_are_the_ones_that_were_sent_with_every_digit(archive: Archive) -> None:
    sent = {line["calibration"]: json.loads(line["bytes"]) for line in archive.lines("calibrations-0001.ndjson")}
    shown = [
        (name, phase.replace("_", " "), r["seq"], r["indication"].get("value"))
        for name, content in sorted(sent.items())
        for phase in ("as_found", "as_left")
        for r in content.get(phase, {}).get("readings", ())
    ]

    rows = archive.table("csv/comma/readings.csv")

    found = [(r["calibration"], r["phase"], int(r["seq"]), r["indication"] or None) for r in rows]
    assert sorted(found) == sorted(shown)
    calibrations = archive.table("csv/comma/calibrations.csv")
    assert sum(int(row["readings"]) for row in calibrations if row["standing"] != "void") == len(rows)
    assert "void" in {row["standing"] for row in calibrations}


def test_what_was_worked_out_stands_beside_its_reading(archive: Archive) -> None:
    stand = {row["calibration"] for row in archive.table("csv/comma/readings.csv")}
    working = {
        (line["calibration"], point["seq"]): point
        for line in archive.lines("record/judgement-0001.ndjson")
        if line["calibration"] in stand
        for point in json.loads(line["working"]).get("as_found", {}).get("points", ())
    }

    rows = [row for row in archive.table("csv/comma/readings.csv") if row["verdict"] and row["phase"] == "as found"]

    assert len(rows) == len(working) > 100
    for row in rows:
        assert row["verdict"] == working[row["calibration"], int(row["seq"])]["verdict"]


def test_a_text_that_would_run_is_guarded_where_it_stands_and_nowhere_else(archive: Archive) -> None:
    remarks = {row["remarks"] for row in archive.table("csv/comma/calibrations.csv")}
    everything = [
        cell
        for dialect in DIALECTS
        for table in TABLES
        for row in csv.reader(
            io.StringIO(archive.zip.read(f"csv/{dialect.name}/{table}.csv").decode("utf-8-sig"), newline=""),
            delimiter=dialect.delimiter,
        )
        for cell in row
    ]

    assert {"'=1+1", "''=x, \"y\"; näher\nzweite Zeile"} <= remarks
    run = [cell for cell in everything if cell.startswith(RUN_BY_SPREADSHEETS)]
    assert all(cell[1:].replace(",", ".").replace(".", "", 1).isdigit() for cell in run)


def test_a_negative_number_stays_a_number() -> None:
    assert COMMA.row([Decimal("-0.10"), 3, None, True]) == b"-0.10,3,,true\r\n"
    assert SEMICOLON.row([Decimal("-0.10"), "-0.10"]) == b"-0,10;'-0.10\r\n"


# What an import takes off the ends of a cell anyhow.
SPACE = " \t\r\n\u00a0\u202f\ufeff"


@given(st.text("'=+-@\t\ra1ä,;", min_size=1))
def test_an_import_takes_off_what_an_export_put_on(text: str) -> None:
    assume(text == text.rstrip(SPACE) and (text[0] not in SPACE or text[0] in RUN_BY_SPREADSHEETS))

    written = guarded(text)

    assert cleaned(written) == text
    assert not written.startswith(RUN_BY_SPREADSHEETS)


ANY_TEXTS = st.lists(st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\x00")), min_size=2)


@given(ANY_TEXTS, st.sampled_from(DIALECTS))
def test_a_row_of_any_texts_is_read_back_by_any_reader(cells: list[str], dialect: Dialect) -> None:
    text = dialect.row(cells).decode()

    (found,) = csv.reader(io.StringIO(text, newline=""), delimiter=dialect.delimiter, strict=True)

    assert found == [guarded(cell) for cell in cells]
