"""The example bodies: readable, about the invented network, in force whenever the demonstration is run next year."""

import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.demo.devices import devices
from api.demo.entry import wire_of
from api.demo.network import register_entries
from api.metrology.submission import Submission
from api.records.documents import record_from

OPENAPI = Path(__file__).parents[2] / "openapi"
NAMES = (
    "calibration-pass", "calibration-fail-adjusted", "calibration-dual-unit", "calibration-not-tested",
    "calibration-wheelchair", "calibration-dialysis", "calibration-bed-pads", "calibration-balance",
)  # fmt: skip


def body_of(name: str) -> Any:
    return json.loads((OPENAPI / "examples" / f"{name}.json").read_text(encoding="utf-8"))


def example(name: str) -> Submission:
    return record_from(Submission, body_of(name))


@pytest.mark.parametrize("name", NAMES)
def test_an_example_is_a_submission_and_back(name: str) -> None:
    assert wire_of(example(name)) == body_of(name)


@pytest.mark.parametrize("name", NAMES)
def test_an_example_names_what_the_register_holds(world: Any, name: str) -> None:
    submission = example(name)
    device = next(d for d in devices(date(2026, 11, 25)) if d.tag == submission.device)

    assert (submission.site, submission.ward) == (device.site, device.ward)
    assert set(submission.pieces_used) <= world.keys("weights")
    assert set(submission.technicians) <= world.keys("technicians")


@pytest.mark.parametrize("today", [date(2026, 11, 25), date(2027, 5, 30), date(2027, 11, 24)])
@pytest.mark.parametrize("name", NAMES)
def test_the_weights_of_an_example_are_in_force_as_seen_from_any_day_of_the_next_year(name: str, today: date) -> None:
    submission = example(name)
    on = submission.performed_on.isoformat()

    in_force = [
        certified["piece"]
        for e in register_entries(today)
        if e.collection == "weight-certificates" and e.record["valid_from"] <= on <= e.record["valid_to"]
        for certified in e.record["pieces"]
    ]

    assert all(in_force.count(piece) == 1 for piece in submission.pieces_used)


def test_the_passing_example_is_within_tolerance(world: Any) -> None:
    passing = example("calibration-pass")

    assert passing.device == "A-04"
    assert not passing.adjustments
    assert world.worst_share(passing, passing.as_found) <= 1


def test_the_failing_example_fails_at_capacity_and_is_left_within_half_of_the_tolerance(world: Any) -> None:
    failing = example("calibration-fail-adjusted")
    assert failing.as_found is not None
    assert failing.as_left is not None

    at_capacity = next(r for r in failing.as_found.readings if r.test == "increasing" and r.load and r.load.kg == 200)

    assert (world.error_share(failing, at_capacity) or 0) > 1
    assert world.worst_share(failing, failing.as_left) <= Decimal("0.5")


def test_the_example_in_pounds_is_within_the_tolerance_of_its_range_in_pounds(world: Any) -> None:
    pounds = example("calibration-dual-unit")
    assert pounds.as_found is not None

    assert {r.indication.unit for r in pounds.as_found.readings} == {"[lb_av]"}
    assert world.worst_share(pounds, pounds.as_found) <= 1


def test_the_readme_lists_every_example() -> None:
    text = (OPENAPI / "README.md").read_text(encoding="utf-8")

    assert {p.stem for p in (OPENAPI / "examples").glob("*.json")} == set(NAMES)
    assert all(f"examples/{name}.json" in text for name in NAMES)
