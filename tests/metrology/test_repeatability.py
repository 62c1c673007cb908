"""Repeatability: the range of several weighings of one load, and their standard deviation in exact divisions."""

import json
import statistics
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.judgement import JudgedTest
from api.metrology.judging import judge
from api.metrology.readings import Reading
from api.metrology.refusals import OffGrid, TooFewReadings
from api.metrology.repeatability import Repeats, pooled_spread, range_of, variance_in_divisions
from api.metrology.scale import Scale
from api.metrology.terms import SchemeName
from tests.metrology.loads_placed import FINE, PLAIN, a_case, a_submission, repeated, sound_readings

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "repeatability.json").read_text(encoding="utf-8")
)
SHOWN = EXAMPLE["cases"][0]["shown"]


def judged(readings: list[Reading], scheme: SchemeName, purpose: str = "scheduled", scale: Scale = PLAIN) -> JudgedTest:
    others = [r for r in sound_readings() if r.test != "repeatability"]
    found = judge(a_case(a_submission([*others, *readings], purpose=purpose), scheme, scale)).as_found
    assert found is not None
    return next(t for t in found.tests if t.test == "repeatability")


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
def test_a_range_has_the_verdict_of_the_example(case: dict[str, Any]) -> None:
    """OIML R 76-1:2006 3.6.1, NIST HB 44 section 2.20 T.N.5."""
    scale = FINE if case["scheme"] == "r76" else PLAIN

    test = judged(repeated(EXAMPLE["load_kg"], *case["shown"]), case["scheme"], case["purpose"], scale)

    assert (test.verdict, test.measured_kg, test.limit_kg) == (
        case["verdict"], Decimal(case["range"]), Decimal(case["limit"]),
    )  # fmt: skip


def test_one_result_beyond_its_tolerance_fails_whatever_the_range() -> None:
    test = judged(repeated("240.0", "240.4", "240.4", "240.4"), "hb44")

    assert (test.verdict, test.measured_kg) == ("fail", Decimal("0.0"))


@pytest.mark.parametrize("count", [1, 2])
def test_fewer_than_three_weighings_leave_it_undecided(count: int) -> None:
    test = judged(repeated("240.0", *["240.0"] * count), "hb44")

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("undecided", None, None)
    assert [reason.code for reason in test.reasons] == ["too-few-readings"]


def test_too_few_weighings_do_not_soften_a_fail() -> None:
    test = judged(repeated("240.0", "240.0", "241.0"), "hb44")

    assert test.verdict == "fail"


def test_the_range_of_fewer_than_three_is_refused() -> None:
    with pytest.raises(TooFewReadings, match="2 weighings"):
        range_of([Decimal("240.0"), Decimal("240.1")])


def test_the_range_is_exact() -> None:
    assert range_of([Decimal(text) for text in SHOWN]) == Decimal("0.2")


def test_the_variance_of_three_neighbours_is_one_squared_division() -> None:
    # 2400, 2401, 2402: mean 2401, (1 + 0 + 1) / 2 = 1.
    assert variance_in_divisions([Decimal(text) for text in SHOWN], Decimal("0.1")) == 1.0


@given(st.lists(st.integers(0, 3000), min_size=3, max_size=20))
def test_the_variance_is_the_sample_variance_of_the_counts(counts: list[int]) -> None:
    # Python's statistics module, which works in exact fractions, is the reference.
    shown = [Decimal(count) * Decimal("0.2") for count in counts]

    expected = float(statistics.variance([Fraction(count) for count in counts]))

    assert variance_in_divisions(shown, Decimal("0.2")) == pytest.approx(expected, rel=1e-12)


def repeats(*shown: str, d: str = "0.1") -> Repeats:
    return Repeats(tuple(Decimal(text) for text in shown), Decimal(d), Decimal(d))


def test_several_loads_are_pooled_by_their_degrees_of_freedom() -> None:
    # (2 x 1 + 3 x 1/4) / 5 squared divisions: 0.55 d^2 (GUM, JCGM 100:2008 H.3.6 and 4.2.4, pooled variance).
    sets = [repeats("240.0", "240.1", "240.2"), repeats("100.0", "100.0", "100.0", "100.1")]

    found = pooled_spread(sets)

    assert found.degrees_of_freedom == 5
    assert found.s_kg == pytest.approx(0.1 * 0.55**0.5, rel=1e-12)
    assert found.source == "s of 7 weighings at 2 loads of this visit, single reading"


def test_pooling_refuses_a_set_that_is_too_small_and_a_value_between_divisions() -> None:
    with pytest.raises(TooFewReadings):
        pooled_spread([repeats("240.0", "240.1", "240.2"), repeats("100.0", "100.0")])
    with pytest.raises(OffGrid):
        pooled_spread([repeats("240.0", "240.1", "240.25")])
