"""Every trap of old files has files named after it, written by hand, and an answer beside each that no other file has."""

import json
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine

from api.database import make_engine, reading
from api.demo.network import register_entries
from api.exchange.items import items_of
from api.exchange.packed import unpacked
from api.exchange.settled import Settled
from api.queries.imports import import_run
from api.queries.known_register import known_on_register
from api.records.documents import read_mass, record_from
from api.records.file_import import FileImport, RowTold
from api.records.import_faults import FileRefused
from api.records.import_visit import VisitRead
from tests.filled_record import TODAY, copy_of, put_register
from tests.imports.importing import A_PROFILE, profile_from, rows_of, tried

HERE = Path(__file__).parent
CASES: list[dict[str, Any]] = json.loads((HERE / "answers.json").read_text("utf-8"))
# What reading a file may note; all other notes are the judgement's.
OF_READING = {
    "text-misread",
    "text-lost",
    "text-formula",
    "unit-slip",
    "reading-empty",
    "row-repeated",
    "seq-not-a-number",
}


@pytest.fixture(scope="module")
def engine(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """Give an engine on a record with the network's register, and a scale whose tag begins with zeros."""
    with copy_of(registered, tmp_path_factory.mktemp("traps")) as settings:
        first = next(e for e in register_entries(TODAY) if e.key == "A-04")
        numbered = first.record | {"tag": "00417", "serial": "QH000417"}
        put_register(settings.database_url, [type(first)("devices", "00417", first.valid_from, numbered)])
        made = make_engine(settings.database_url)
        yield made
        made.dispose()


def profile_of_case(case: dict[str, Any]) -> Any:
    changed = A_PROFILE | case.get("profile", {})
    return profile_from({name: value for name, value in changed.items() if value is not None})


def content_of(case: dict[str, Any]) -> bytes:
    content = (HERE / "fixtures" / case["file"]).read_bytes()
    return b"".join(unpacked([content]))


def answered(engine: Engine, case: dict[str, Any]) -> dict[str, Any]:
    """What the service says of a file, in the form in which the answers are written down."""
    try:
        told = tried(engine, content_of(case), profile_of_case(case))
    except FileRefused as refused:
        return {"refused": refused.fault.code, "words": refused.sentence}
    if told.state == "failed":
        said = str(told.because)
        return {"refused": said.rpartition("(import.")[2].rstrip(")"), "words": said}
    if told.questions:
        return {
            "questions": [" ".join(filter(None, (q.code, q.column))) for q in told.questions],
            "asked_lines": [line for q in told.questions for line in q.lines],
            "words": " ".join(q.message for q in told.questions),
        }
    return of_rows(engine, told)


def of_rows(engine: Engine, told: FileImport) -> dict[str, Any]:
    rows = rows_of(engine, told.file_import)
    counted: Counter[str] = Counter()
    for row in rows:
        counted[row.status] += row.rows
    return {
        "rows": dict(counted),
        "errors": faults_in(rows, "error"),
        "notes": [note for note in faults_in(rows, "note") if note.split()[-1] in OF_READING],
        "kinds": told.kinds_of_rows,
        "words": " ".join(fault.told() for row in rows for fault in row.faults),
    }


def faults_in(rows: list[RowTold], severity: str) -> list[str]:
    return [
        f"{fault.line} {fault.column or '-'} {fault.code}"
        for row in rows
        for fault in row.faults
        if fault.severity == severity
    ]


def taken(engine: Engine, case: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """What was taken from each row that begins a visit."""
    told = tried(engine, content_of(case), profile_of_case(case))
    with reading(engine) as connection:
        run = import_run(connection, told.file_import)
        known = known_on_register(connection)
    settled = record_from(Settled, run.settled or {})
    items = items_of([content_of(case)], run.profile, settled, known)
    return {str(item.line): seen_of(item.content) for item in items if isinstance(item, VisitRead) and item.content}


def seen_of(content: dict[str, Any]) -> dict[str, Any]:
    phases = {name: content[name]["readings"][0] if name in content else None for name in ("as_found", "as_left")}
    return {
        "device": content.get("device"),
        "day": content.get("performed", {}).get("start", "")[:10],
        "found": shown(phases["as_found"]),
        "left": shown(phases["as_left"]),
        "remarks": content.get("remarks"),
    }


def shown(first: dict[str, Any] | None) -> str | None:
    return None if first is None else f"{first['indication']['value']} {read_mass(first['indication']).unit}"


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["file"])
def test_a_file_is_answered_as_it_was_written_down_beforehand(engine: Engine, case: dict[str, Any]) -> None:
    wanted = case["answer"]

    found = answered(engine, case)

    for name in ("refused", "questions", "asked_lines", "rows", "kinds"):
        if name in wanted or name == "refused":
            assert found.get(name) == wanted.get(name), found
    assert found.get("errors", []) == wanted.get("errors", [])
    assert found.get("notes", []) == wanted.get("notes", [])
    assert wanted.get("says", "") in found["words"]
    if "taken" in wanted:
        seen = taken(engine, case)
        for line, values in wanted["taken"].items():
            assert {name: seen[line][name] for name in values} == values


def test_every_trap_has_two_files_and_no_two_files_have_the_same_answer() -> None:
    traps = Counter(case["trap"] for case in CASES)

    assert len(CASES) >= 60
    assert min(traps.values()) >= 2
    assert {case["file"] for case in CASES} == {file.name for file in (HERE / "fixtures").iterdir()}
    assert len({json.dumps(case["answer"], sort_keys=True) for case in CASES}) == len(CASES)
