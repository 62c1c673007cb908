"""Records of every published version are taken, judged and drawn for ever as they were. See `kept/README.md`.

What they are compared with was written by the program of their day; nothing of it is worked out here.
"""

import json
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.ledger.digests import digest_of
from api.records.working import read_working
from schemas.submission import submission_from
from site_builder.page import Touch
from site_builder.pages.certificate import certificate_page
from tests.doors import change, send
from tests.filled_record import NOON, copy_of, door_to

KEPT = Path(__file__).with_name("kept")
VERSIONS = sorted(path.name for path in KEPT.iterdir() if path.is_dir())
VISITS = [path for version in VERSIONS for path in sorted((KEPT / version).glob("*.submission.json"))]
NAMES = [f"{path.parent.name}/{path.name.partition('.')[0]}" for path in VISITS]
POINT = ("test", "verdict", "error_kg", "tolerance_kg", "expanded_kg", "reasons")


def beside(visit: Path, kind: str) -> Path:
    """The file of a visit of another kind."""
    return visit.with_name(visit.name.replace(".submission.", f".{kind}."))


def read(path: Path) -> Any:
    return json.loads(path.read_text("utf-8"))


@pytest.fixture(scope="module")
def benches(empty: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, FlaskClient]]:
    """Give for each version a client of a record with its register, put there over HTTP as it was written then."""
    with pytest.MonkeyPatch.context() as patch, ExitStack() as opened:
        patch.setattr("api.routes.receiving.now", lambda: NOON)
        found = {}
        for version in VERSIONS:
            settings = opened.enter_context(copy_of(empty, tmp_path_factory.mktemp(version)))
            found[version] = opened.enter_context(door_to(settings))
            for entry in read(KEPT / version / "register.json"):
                answer = change(found[version], entry["address"], entry["valid_from"], entry["record"])
                assert answer.status_code in (200, 201), answer.json.get("errors", answer.json)
        yield found


def of_point(point: dict[str, Any]) -> dict[str, Any]:
    """What was decided at a point, and from which numbers."""
    return {name: point[name] for name in POINT if name in point}


def decided(working: dict[str, Any]) -> dict[str, Any]:
    """What was decided of a visit: point by point, test by test, and over all."""
    phases = {name: working[name] for name in ("as_found", "as_left") if name in working}
    return {
        "flags": [flag["code"] for flag in working["flags"]],
        "adjusted": working["adjusted"],
        "phases": {
            name: {
                "verdict": phase["verdict"], "points": [of_point(point) for point in phase["points"]],
                "tests": [(test["test"], test["verdict"], test["required"]) for test in phase["tests"]],
            }
            for name, phase in phases.items()
        },
    }  # fmt: skip


def test_the_version_of_today_is_among_them() -> None:
    assert "calibration-1" in VERSIONS
    assert len(VISITS) >= 9


@pytest.mark.parametrize("visit", VISITS, ids=NAMES)
def test_its_bytes_are_still_read(visit: Path) -> None:
    receipt = read(beside(visit, "receipt"))

    sent = submission_from(visit.read_bytes())

    assert sent.schema == visit.parent.name.replace("-", "/")
    assert (sent.site, digest_of(visit.read_bytes())) == (receipt["site"], receipt["digest"])


@pytest.mark.parametrize("visit", VISITS, ids=NAMES)
def test_sent_again_it_is_judged_as_it_was(benches: dict[str, FlaskClient], visit: Path) -> None:
    bench, then = benches[visit.parent.name], read(beside(visit, "receipt"))

    receipt = send(bench, visit.read_bytes(), then["calibration"]).json

    same = ("digest", "standing", "as_found", "as_left")
    assert {name: receipt.get(name) for name in same} == {name: then.get(name) for name in same}
    assert [f["code"] for f in receipt["flags"]] == [f["code"] for f in then["flags"]]
    assert ("certificate" in receipt) is ("certificate" in then)
    kept = bench.get(f"/v1/calibrations/{then['calibration']}").json
    assert decided(kept["working"]) == decided(json.loads(json.dumps(read_working(read(beside(visit, "judgement"))))))
    assert bench.get(f"/v1/calibrations/{then['calibration']}/content").data == visit.read_bytes()


@pytest.mark.parametrize("visit", VISITS, ids=NAMES)
def test_its_stored_working_says_what_its_receipt_said(visit: Path) -> None:
    receipt, working = read(beside(visit, "receipt")), read_working(read(beside(visit, "judgement")))

    assert [flag["code"] for flag in working["flags"]] == [flag["code"] for flag in receipt["flags"]]
    for phase in ("as_found", "as_left"):
        if phase in working:
            assert working[phase]["verdict"] == receipt[phase]


@pytest.mark.parametrize(
    "path",
    [p for version in VERSIONS for p in sorted((KEPT / version).glob("*.certificate.json"))],
    ids=lambda p: p.stem,
)
def test_its_certificate_is_still_drawn_from_its_bytes(path: Path) -> None:
    document = read(path)
    document["judgement"] = read_working(document["judgement"])
    stored = {
        "document": document, "digest": digest_of(path.read_bytes()), "log_number": 1, "touch": Touch(1, NOON.isoformat()),
        "state": "in force", "because": "released",
    }  # fmt: skip

    page = certificate_page(stored, [1], "kg", None)

    assert document["number"] in page.body
    assert stored["digest"] in page.body
