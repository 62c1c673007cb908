"""Tare: net loads against the tolerance of the net load, from tare zero."""

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.judgement import JudgedTest, PhaseJudgement, PointJudgement
from api.metrology.judging import judge
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.scale import Scale
from api.metrology.terms import SchemeName
from tests.metrology.a_case import a_case, a_piece, a_range, a_scale, a_visit, codes_of
from tests.metrology.loads_placed import PLAIN, a_submission, sound_readings
from tests.metrology.loads_placed import a_case as case_of_loads

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "tare_of_a_child_scale.json").read_text(encoding="utf-8")
)
MULTI = a_scale(
    [a_range("2000", "1", "g"), a_range("5000", "2", "g"), a_range("15000", "10", "g")], arrangement="multi-interval"
)


def a_net_reading(load: str, shown: str, tare: str | None, unit: str = "kg", entered: bool | None = None) -> Reading:
    balanced = mass(tare, unit) if tare else None
    return Reading(1, "tare", mass(shown, unit), pieces=(load,), tare=balanced, tare_entered=entered)


def phase_of(reading: Reading, scale: Scale = PLAIN, scheme_name: SchemeName = "hb44") -> PhaseJudgement:
    pieces = {code: a_piece(code, code, reading.indication.unit) for code in reading.pieces}
    found = judge(a_case(a_visit([reading]), scale, pieces, scheme_name=scheme_name)).as_found
    assert found is not None
    return found


def the_point(reading: Reading, scale: Scale = PLAIN, scheme_name: SchemeName = "hb44") -> PointJudgement:
    return phase_of(reading, scale, scheme_name).points[0]


def the_test(reading: Reading) -> JudgedTest:
    return next(test for test in phase_of(reading).tests if test.test == "tare")


@pytest.mark.parametrize("case", EXAMPLE["cases"], ids=lambda c: c["id"])
def test_a_net_load_is_judged_as_in_the_example(case: dict[str, Any]) -> None:
    """The tare test of the WHO child growth standards' training, module B 5.0; HB 44 T.N.2.1: the net load's tolerance."""
    scale = a_scale([a_range(case["max"], "0.1")])

    point = the_point(a_net_reading(case["load"], case["shown"], case["tare"]), scale, case["scheme"])

    assert point.tolerance is not None
    assert (point.error_kg, point.tolerance.kg, point.verdict) == (
        Decimal(case["error"]), Decimal(case["tolerance"]), case["verdict"],
    )  # fmt: skip


def test_the_interval_of_a_multi_interval_scale_follows_the_net_load() -> None:
    """The load of 1600 g of the example in R 76-1:2006 3.3 (from memory): e1 = 1 g and 1.0 e, also above a tare of 3 kg;
    twice that in service."""
    point = the_point(a_net_reading("1600", "1602", "3000", "g"), MULTI, "r76")

    assert point.in_use is not None
    assert point.tolerance is not None
    assert (point.in_use.e, point.tolerance.kg) == (Decimal("1"), Decimal("0.002"))


def test_a_tare_entered_by_hand_is_not_judged_and_takes_nothing_away() -> None:
    """OIML R 76-1:2006 3.5.3.3 leaves the preset tare out, from memory."""
    entered = a_net_reading("100.0", "104.0", "20", entered=True)
    sound = judge(case_of_loads(a_submission([replace(r, seq=n) for n, r in enumerate([*sound_readings(), entered])])))

    point = the_point(replace(entered, pieces=("100",)))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["tare-entered"])
    assert sound.as_found is not None
    assert (sound.as_found.verdict, codes_of(sound.flags)) == ("pass", [])
    assert sound.as_found.proven_words == "Proven from 20 to 300 kg."


def test_tare_and_net_load_together_stay_within_capacity() -> None:
    beyond = the_point(a_net_reading("200", "200.0", "101"))
    at_max = the_point(a_net_reading("200", "200.0", "100"))

    assert (beyond.verdict, codes_of(beyond.reasons)) == ("undecided", ["over-capacity"])
    assert at_max.verdict == "pass"


def test_a_net_reading_without_its_tare_is_undecided() -> None:
    point = the_point(a_net_reading("100", "100.0", None))

    assert (point.verdict, codes_of(point.reasons)) == ("undecided", ["no-tare-named"])


def test_the_test_says_its_tare_and_its_source() -> None:
    test = the_test(a_net_reading("100", "100.1", "20"))

    assert (test.verdict, test.measured_kg) == ("pass", Decimal("0.1"))
    assert test.words == "1 load, 100 kg net, after a tare of 20 kg; largest error"
    assert (
        test.limit_source == "NIST HB 44 (2026) section 2.20 T.N.2.1: tolerances apply from tare zero, to the net load"
    )


def test_a_net_load_out_of_tolerance_fails_the_phase_though_the_test_is_not_required() -> None:
    failed = replace(a_net_reading("100.0", "101.0", "20"), seq=99)

    found = judge(case_of_loads(a_submission([*sound_readings(), failed]))).as_found

    assert found is not None
    assert found.verdict == "fail"
    assert found.proven_words == "Proven from 20 to 20 kg."
