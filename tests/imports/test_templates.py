"""What is published of a file's layout: a template, the profile that reads it, and a Table Schema, all of one kind."""

import csv
import io
from typing import Any

import pytest
from sqlalchemy import Engine

from api.exchange.template import READING, VISIT, table_schema, template_csv, template_profile
from api.metrology.mass import KILOGRAMS_PER
from tests.imports.importing import imported, rows_of

LAYOUTS = ("reading", "visit")
# What a Table Schema may say of a field (Data Package 2.0, Table Schema: types, formats, constraints).
TYPES = {"string", "number", "integer", "date"}
CONSTRAINTS = {"required", "unique", "pattern", "enum", "minimum", "maximum", "minLength", "maxLength"}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_template_schema_and_profile_name_the_same_columns(layout: Any) -> None:
    (header,) = csv.reader(io.StringIO(template_csv(layout)))

    assert header == [field["name"] for field in table_schema(layout)["fields"]]
    assert header == [column.header for column in template_profile(layout).columns]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_schema_says_only_what_a_table_schema_may(layout: Any) -> None:
    schema = table_schema(layout)

    assert schema["missingValues"] == [""]
    for field in schema["fields"]:
        assert field["type"] in TYPES
        assert set(field["constraints"]) <= CONSTRAINTS
        assert field["description"].endswith(".")
    assert set(schema.get("primaryKey", ())) <= {field["name"] for field in schema["fields"]}


def test_the_schema_lists_the_words_that_are_taken() -> None:
    words = {field["name"]: field["constraints"].get("enum") for field in table_schema("reading")["fields"]}

    assert words["unit"] == list(KILOGRAMS_PER)
    assert words["phase"] == ["as found", "as left"]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_template_filled_in_with_its_own_examples_comes_in_without_a_fault(engine: Engine, layout: Any) -> None:
    said: dict[str, Any] = dict([*VISIT.items(), *READING.items()])
    columns = template_profile(layout).columns
    row = ["100.1" if column.load else said[column.field].example for column in columns]
    text = io.StringIO()
    csv.writer(text).writerows([[column.header for column in columns], row])

    told = imported(engine, text.getvalue().encode(), template_profile(layout))

    (found,) = [row for row in rows_of(engine, told.file_import) if row.status != "skipped"]
    assert [fault for fault in found.faults if fault.severity == "error"] == []
    assert told.state == "done"
