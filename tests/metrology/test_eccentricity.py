"""Eccentricity: the same load at several places."""

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.contributions import Corners
from api.metrology.eccentricity import corners_of, missing_positions, range_of_positions, too_light
from api.metrology.judgement import JudgedTest, PointJudgement
from api.metrology.judging import judge
from api.metrology.policy import STARTING
from api.metrology.readings import Reading
from api.metrology.scale import Scale
from api.metrology.submission import Adjustment
from api.metrology.terms import SchemeName
from tests.metrology.a_case import CORNERS
from tests.metrology.loads_placed import FINE, PLAIN, a_case, a_reading, a_submission, corners, kg, sound_readings

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
EXAMPLE: dict[str, Any] = json.loads((EXAMPLES / "shift.json").read_text(encoding="utf-8"))
MISPRINTS: dict[str, Any] = json.loads((EXAMPLES / "table_misprints.json").read_text(encoding="utf-8"))
SHIFTED = EXAMPLE["quarters"][0]["shown"]


def judged(
    readings: list[Reading], scheme: SchemeName, scale: Scale = PLAIN
) -> tuple[JudgedTest, list[PointJudgement]]:
    others = [r for r in sound_readings() if r.test != "eccentricity"]
    found = judge(a_case(a_submission([*others, *readings]), scheme, scale)).as_found
    assert found is not None
    test = next(t for t in found.tests if t.test == "eccentricity")
    return test, [p for p in found.points if p.reading.test == "eccentricity"]


@pytest.mark.parametrize("case", EXAMPLE["quarters"], ids=lambda c: c["id"])
def test_four_quarters_have_the_verdict_of_the_example(case: dict[str, Any]) -> None:
    """NIST HB 44 section 2.20 T.N.4.4, OIML R 76-1:2006 3.6.2."""
    scale = FINE if case["scheme"] == "r76" else PLAIN

    test, points = judged(corners(case["load"], *case["shown"]), case["scheme"], scale)

    assert {point.verdict for point in points} == {case["each"]}
    limit = None if case["limit"] is None else Decimal(case["limit"])
    assert (test.verdict, test.measured_kg, test.limit_kg) == (case["verdict"], Decimal(case["range"]), limit)


def test_the_range_is_limited_by_the_maintenance_tolerance_even_where_acceptance_applies() -> None:
    # As left after an adjustment each result has half the tolerance (T.N.3.2); the range keeps the whole (T.N.4.4).
    left = [r for r in sound_readings() if r.test != "eccentricity"]
    left += corners("100.0", "100.1", "99.9", "100.0", "100.0")
    span = Adjustment("span", kg("300.0"), ("300.0",))

    phase = judge(a_case(a_submission(sound_readings(), left, [span]))).as_left

    assert phase is not None
    assert phase.scheme.stage == "acceptance"
    test = next(t for t in phase.tests if t.test == "eccentricity")
    assert (test.verdict, test.measured_kg, test.limit_kg) == ("pass", Decimal("0.2"), Decimal("0.2"))


@pytest.mark.parametrize("places", [1, 2, 3])
def test_fewer_than_four_places_beside_the_centre_leave_it_undecided(places: int) -> None:
    centre = a_reading("eccentricity", "100.0", "100.0", position="centre")

    test, _ = judged([centre, *corners("100.0", *["100.0"] * places)], "hb44")

    assert test.verdict == "undecided"
    assert "too-few-positions" in {reason.code for reason in test.reasons}


def test_a_place_loaded_twice_is_one_place() -> None:
    _, points = judged([*corners("100.0", "100.0", "100.0", "100.0"), *corners("100.0", "100.1")], "hb44")

    lacking = missing_positions(points)

    assert lacking is not None
    assert lacking.facts == {"found": "3"}


def test_too_few_places_do_not_soften_a_fail() -> None:
    test, _ = judged(corners("100.0", "100.0", "101.0"), "hb44")

    assert test.verdict == "fail"


def test_the_range_is_the_largest_minus_the_smallest_of_all_places() -> None:
    _, points = judged(corners("100.0", *SHIFTED), "hb44")

    assert range_of_positions(points) == Decimal("0.3")


@pytest.mark.parametrize("case", EXAMPLE["window"], ids=lambda c: c["load"])
def test_a_load_outside_thirty_to_thirty_five_per_cent_is_said_and_decides_nothing(case: dict[str, Any]) -> None:
    """NIST HB 44 section 2.20 N.1.3: 90 to 105 kg of 300 kg; 80 kg is no valid shift test."""
    test, _ = judged(corners(case["load"], *[case["load"]] * 4), "hb44")

    said = {reason.code for reason in test.reasons}
    assert said & {"eccentric-load-light", "eccentric-load-heavy"} == (
        {f"eccentric-load-{case['said']}"} if case["said"] else set()
    )
    assert test.verdict == "pass"


@pytest.mark.parametrize("case", EXAMPLE["supports"], ids=lambda c: f"{c['load']} kg on {c['supports']}")
def test_with_more_supports_a_lighter_load_is_enough(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 3.6.2: with more than four supports, 1/(n - 1) of capacity at each: 60 kg of 300 kg on six."""
    assert light_on(case["supports"], case["load"]) is case["light"]


@pytest.mark.parametrize("case", MISPRINTS["r76_supports"], ids=lambda c: c["id"])
def test_more_than_four_supports_are_five_whatever_a_copy_prints(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 3.6.2: n > 4."""
    assert not light_on(case["supports"], case["least_load"])
    assert light_on(case["supports"], case["too_light"])


def light_on(supports: int, load: str) -> bool:
    bed = replace(PLAIN, kind="bed", supports=supports)
    _, points = judged(corners(load, load, load, load, load), "hb44", bed)
    return too_light(points, bed, STARTING) is not None


def heavy_words(load: str, scheme: SchemeName, supports: int = 4) -> str:
    test, _ = judged(corners(load, load, load, load, load), scheme, replace(FINE, supports=supports))
    return next(reason.sentence for reason in test.reasons if reason.code == "eccentric-load-heavy")


def test_what_is_said_of_a_heavy_load_names_the_window_of_its_scheme() -> None:
    half = " About one half is what editions before 2003 or so asked for."
    window = "NIST HB 44 (2026) section 2.20 N.1.3 means 30 to 35 %."

    assert heavy_words("150.0", "hb44") == f"The load at the corners was 50 % of capacity; {window}{half}"
    assert heavy_words("120.0", "hb44") == f"The load at the corners was 40 % of capacity; {window}"
    assert "asks for one third of Max and the additive tare together" in heavy_words("150.0", "r76")
    assert "OIML R 76-1:2006 3.6.2 asks for 1/5 of Max" in heavy_words("150.0", "r76", supports=6)


def test_an_additive_tare_widens_what_the_share_is_taken_of() -> None:
    """OIML R 76-1:2006 3.6.2, from memory: one third of the sum of Max and the additive tare; (300 + 60) x 0.3 = 108."""
    widened = replace(FINE, additive_tare_kg=Decimal(60))

    light, heavy = (judged(corners(load, load, load, load, load), "r76", widened)[0] for load in ("107.0", "120.0"))

    assert "eccentric-load-light" in {reason.code for reason in light.reasons}
    assert not {"eccentric-load-light", "eccentric-load-heavy"} & {reason.code for reason in heavy.reasons}


def placed(*shown: tuple[str, str, str]) -> list[tuple[str, Decimal, Decimal]]:
    return [(position, Decimal(load), Decimal(value)) for position, load, value in shown]


def test_the_largest_difference_is_taken_to_the_centre() -> None:
    # EURAMET cg-18 v4.0 5.3: differences of the corners to the centre, from memory (high confidence).
    points = placed(("centre", "100", "100.0"), ("front left", "100", "100.3"), ("back left", "100", "99.9"))

    assert corners_of(points) == Corners(Decimal("0.3"), Decimal(100))


def test_without_a_centre_the_range_of_the_corners_stands_in() -> None:
    points = placed(("front left", "100", "100.3"), ("back left", "100", "99.9"))

    assert corners_of(points) == Corners(Decimal("0.4"), Decimal(100))


def test_of_several_loads_the_one_at_most_places_counts() -> None:
    seat = [(name, "100", "100.1") for name in CORNERS]
    rests = [("left armrest", "20", "20.0"), ("right armrest", "20", "20.2")]

    assert corners_of(placed(*rests, *seat)) == Corners(Decimal("0.0"), Decimal(100))


def test_one_place_or_no_load_says_nothing_about_corners() -> None:
    assert corners_of([]) is None
    assert corners_of(placed(("front left", "100", "100.0"))) is None
    assert corners_of(placed(("front left", "0", "0.0"), ("back left", "0", "0.1"))) is None
