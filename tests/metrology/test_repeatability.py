"""Repeatability: the range of several weighings of one load, and their standard deviation in exact divisions."""

import statistics
from decimal import Decimal
from fractions import Fraction

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

# 240 kg on class III, e = 0.1 kg (2400 e). OIML R 76-1:2006 3.6.1: the range is at most the maximum permissible error at
# that load, 1.5 e = 0.15 kg on initial verification, twice that in service; NIST HB 44 section 2.20 T.N.5: at most the
# maintenance tolerance, 3 d = 0.3 kg. From memory (high confidence); the arithmetic is computed.
SHOWN = ("240.0", "240.1", "240.2")


def judged(readings: list[Reading], scheme: SchemeName, purpose: str = "scheduled", scale: Scale = PLAIN) -> JudgedTest:
    others = [r for r in sound_readings() if r.test != "repeatability"]
    found = judge(a_case(a_submission([*others, *readings], purpose=purpose), scheme, scale)).as_found
    assert found is not None
    return next(t for t in found.tests if t.test == "repeatability")


def test_hb44_passes_a_range_of_two_divisions_at_240_kg() -> None:
    test = judged(repeated("240.0", *SHOWN), "hb44")

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("pass", Decimal("0.2"), Decimal("0.3"))


def test_r76_in_service_passes_the_same_range() -> None:
    test = judged(repeated("240.0", *SHOWN), "r76", scale=FINE)

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("pass", Decimal("0.2"), Decimal("0.30"))


def test_r76_on_initial_verification_fails_it() -> None:
    test = judged(repeated("240.0", *SHOWN), "r76", "initial", FINE)

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("fail", Decimal("0.2"), Decimal("0.15"))


def test_the_range_alone_fails_where_each_result_is_within_tolerance() -> None:
    # The same range of 0.2 kg about 240.0: each error is at most 0.1 kg, within 0.15 kg.
    test = judged(repeated("240.0", "239.9", "240.0", "240.1"), "r76", "initial", FINE)

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("fail", Decimal("0.2"), Decimal("0.15"))


def test_a_range_on_the_limit_passes() -> None:
    test = judged(repeated("240.0", "239.9", "240.0", "240.2"), "hb44")

    assert (test.verdict, test.measured_kg, test.limit_kg) == ("pass", Decimal("0.3"), Decimal("0.3"))


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
    assert found.source == "s of 7 weighings at 2 load(s) of this visit, single reading"


def test_pooling_refuses_a_set_that_is_too_small_and_a_value_between_divisions() -> None:
    with pytest.raises(TooFewReadings):
        pooled_spread([repeats("240.0", "240.1", "240.2"), repeats("100.0", "100.0")])
    with pytest.raises(OffGrid):
        pooled_spread([repeats("240.0", "240.1", "240.25")])
