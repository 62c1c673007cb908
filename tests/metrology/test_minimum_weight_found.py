"""The minimum weight a visit to a balance shows, and the standard deviation told with repeatability."""

from decimal import Decimal

import pytest

from api.metrology.judgement import MinimumWeightFound, PhaseJudgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.terms import AccuracyClass
from tests.metrology.a_case import a_case, a_piece, a_range, a_scale, a_visit, repeatability, stack

# An analytical balance of 220 g, d 0.1 mg, e 1 mg.
PIECES = {"G20": a_piece("G20", "20", "g"), "G100": a_piece("G100", "100", "g")}


def weighings(piece: str, *shown: str) -> list[Reading]:
    return [Reading(1, "repeatability", mass(text, "g"), pieces=(piece,)) for text in shown]


def phase_of(readings: list[Reading], accuracy_class: AccuracyClass = "I") -> PhaseJudgement:
    balance = a_scale([a_range("220", "0.0001", "g", e="0.001")], "analytical balance", accuracy_class)
    found = judge(a_case(a_visit(readings), balance, PIECES)).as_found
    assert found is not None
    return found


def found_in(readings: list[Reading]) -> MinimumWeightFound:
    found = phase_of(readings).minimum_weight
    assert found is not None
    return found


def test_a_still_balance_is_held_to_its_division() -> None:
    """d = 0.1 mg: 82 mg, or 820 d, is the smallest possible (a public page on USP general chapter 41)."""
    found = found_in(weighings("G20", *["20.0000"] * 10))

    assert (found.weight_kg, found.s_kg, found.by_division, found.enough) == (
        Decimal("0.0000820"),
        Decimal(0),
        True,
        True,
    )


def test_two_thousand_s_of_the_smallest_load_count() -> None:
    """Five at 20.0001 g and five at 20.0004 g: s = sqrt(10/9) x 0.15 mg = 0.15811 mg, 2000 s = 316.23 mg, rounded up."""
    heavier = weighings("G100", "100.0000", "100.0050", "100.0000")
    readings = [*heavier, *weighings("G20", *["20.0001", "20.0004"] * 5)]

    found = found_in(readings)

    assert (found.load_kg, found.weighings, found.by_division) == (Decimal("0.02"), 10, False)
    assert (found.weight_kg, found.s_kg) == (Decimal("0.000317"), Decimal("0.00000016"))


def test_fewer_than_ten_weighings_are_told() -> None:
    assert found_in(weighings("G20", "20.0000", "20.0001", "20.0002")).enough is False


@pytest.mark.parametrize(
    "readings",
    [
        weighings("G20", "20.0000", "20.0001"),
        weighings("G20", "20.00005", "20.0000", "20.0000"),
        [],
    ],
)
def test_without_three_weighings_on_the_grid_there_is_none(readings: list[Reading]) -> None:
    zero = Reading(1, "zero set", mass("0.0000", "g"))

    assert phase_of([zero, *readings]).minimum_weight is None


def test_it_is_stated_for_classes_one_and_two_only() -> None:
    readings = weighings("G20", "20.0000", "20.0001", "20.0002")

    stated = {c: phase_of(readings, c).minimum_weight is not None for c in ("I", "II", "III", "none")}

    assert stated == {"I": True, "II": True, "III": False, "none": False}


def test_repeatability_tells_the_pooled_standard_deviation() -> None:
    """Steps of 0.1 kg up from 200 kg and from 100 kg: s = 0.1 kg at each, pooled with 2 + 2 degrees of freedom."""
    heavy, light = (repeatability((f"{load}.0", f"{load}.1", f"{load}.2"), stack(load)) for load in (200, 100))

    phase = judge(a_case(a_visit([*heavy, *light]))).as_found

    assert phase is not None
    (test,) = [t for t in phase.tests if t.test == "repeatability"]
    assert test.words.startswith("standard deviation s = 0.1 kg pooled, 4 degrees of freedom; ")


def test_an_s_that_rounding_hides_is_told_as_such() -> None:
    """Three equal values in steps of 0.1 kg: sqrt(1/6) of a step, 0.041 kg, may hide in them."""
    phase = judge(a_case(a_visit(repeatability()))).as_found
    assert phase is not None

    (test,) = [t for t in phase.tests if t.test == "repeatability"]

    assert test.words.startswith(
        "standard deviation s = 0 kg, 2 degrees of freedom, which rounding hides (0.41 d = 0.041 kg); "
    )
