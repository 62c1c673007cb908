"""Every worked example is one data file, listed once with its origin, and read by a test."""

import json
import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
EXAMPLES = TESTS / "worked_examples"
FILES = sorted(path.name for path in EXAMPLES.glob("*.json"))
SOURCES = (EXAMPLES / "SOURCES.md").read_text(encoding="utf-8")
# file, what it checks, origin
ROWS = re.findall(r"^\| `([^`]+)` \| (.+?) \| (.+?) \|$", SOURCES, re.MULTILINE)
ORIGINS = ("published", "handbook", "open data", "common practice", "second-hand", "from memory", "own")
READERS = "\n".join(path.read_text(encoding="utf-8") for path in TESTS.rglob("*.py") if path != Path(__file__))


def test_every_file_is_listed_once_and_every_line_has_its_file() -> None:
    assert sorted(name for name, _, _ in ROWS) == FILES
    assert len(ROWS) == SOURCES.count("\n| `") > 30


def test_the_classes_of_origin_are_those_that_are_explained() -> None:
    assert tuple(re.findall(r"^- \*\*(.+?)\*\*:", SOURCES, re.MULTILINE)) == ORIGINS


@pytest.mark.parametrize(("name", "origin"), [(name, origin) for name, _, origin in ROWS])
def test_every_part_of_an_origin_names_its_class(name: str, origin: str) -> None:
    unnamed = [part for part in origin.split(";") if not any(re.search(rf"\b{word}\b", part) for word in ORIGINS)]

    assert unnamed == []


@pytest.mark.parametrize("name", FILES)
def test_every_file_is_read_by_a_test(name: str) -> None:
    stem = name.removesuffix(".json")

    assert f'"{name}"' in READERS or f'example("{stem}")' in READERS


@pytest.mark.parametrize("name", FILES)
def test_every_file_says_what_it_is_and_where_it_is_from(name: str) -> None:
    held = json.loads((EXAMPLES / name).read_text(encoding="utf-8"))

    assert held["what"].endswith(".")
    assert held["source"]
    assert all(isinstance(line, str) and line for line in held["source"])
