"""A check in service: the tolerance of a scale in use, one load, and nothing proven.

Tolerances from NIST HB 44 (2026) section 2.20 Table 6 (class III maintenance: 1 d to 500 d, 2 d to 2000 d), the same
numbers as those of OIML R 76-1:2006 3.5.2 there; both are printed in `tests/worked_examples/tolerance_hb44_r76.json`.
"""

import math
from decimal import Decimal
from typing import Any

import pytest

from api.metrology.in_service_check import OF_THE_WARD, SPEAKS_FOR, KnownLoad, judge_check
from api.metrology.judgement import Judgement
from api.metrology.mass import mass
from api.metrology.readings import Reading
from api.metrology.verdict import Verdict
from tests.metrology.a_case import a_case, a_visit


def a_check(
    indication: str, load: str = "20", off: str = "0.01", unit: str = "kg", position: Any = None, **case: Any
) -> Judgement:
    """Judge a check on a scale of 300 kg x 0.1 kg, class III, with a load that the ward knows itself."""
    known = KnownLoad(mass(load, "kg"), mass(off, "kg"), "check weight")
    reading = Reading(
        1, "eccentricity" if position else "increasing", mass(indication, unit), mass(load, "kg"), (OF_THE_WARD,),
        "one body centred", position, stable=True,
    )  # fmt: skip
    return judge_check(a_case(a_visit([reading]), **case), known)


@pytest.mark.parametrize(("load", "indication", "verdict"), [
    ("20", "20.0", "pass"),
    ("20", "20.1", "pass"),  # 200 d: 1 d, on the limit; a new scale would have half of it
    ("20", "19.9", "pass"),
    ("20", "20.2", "fail"),
    ("50", "50.1", "pass"),  # 500 d is still in the first band
    ("50", "50.2", "fail"),
    ("60", "60.2", "pass"),  # 600 d: 2 d
    ("60", "60.3", "fail"),
])  # fmt: skip
def test_the_tolerance_is_that_of_a_scale_in_use_at_this_load(load: str, indication: str, verdict: Verdict) -> None:
    judged = a_check(indication, load)

    assert judged.verdict_as_found == verdict
    assert judged.as_found is not None
    assert judged.as_found.scheme.stage == "maintenance"


def test_it_proves_no_range_and_asks_for_no_tests() -> None:
    judged = a_check("20.0")

    assert judged.as_found is not None
    assert (judged.as_found.proven, judged.as_found.tests, judged.as_found.proven_words) == (None, (), SPEAKS_FOR)
    assert judged.as_left is None


def test_a_load_known_too_coarsely_decides_no_pass_and_yet_a_plain_failure() -> None:
    """HB 44 Appendix A 3.2 and R 76-1 3.7.1: a third of the tolerance of 0.1 kg; 0.05 kg is more."""
    assert a_check("20.0", off="0.05").verdict_as_found == "undecided"
    assert a_check("20.1", off="0.05").verdict_as_found == "undecided"
    assert a_check("20.2", off="0.05").verdict_as_found == "fail"


def test_a_reading_in_pounds_is_judged_by_the_ranges_in_pounds() -> None:
    judged = a_check("44.1", unit="[lb_av]")

    assert judged.verdict_as_found == "undecided"
    assert [flag.code for flag in judged.flags] == ["no-such-range"]


def test_a_value_that_the_display_cannot_show_decides_nothing() -> None:
    assert a_check("20.05").verdict_as_found == "undecided"


def test_rounding_that_hides_the_answer_is_a_reason_and_nothing_to_look_into() -> None:
    """OIML R 76-1:2006 3.5.3.2: d = e and plain readings; an error of 1 d within 1 e may be anything up to 2 d."""
    judged = a_check("20.1", scheme_name="r76")

    assert judged.verdict_as_found == "undecided"
    assert judged.flags == ()
    assert judged.as_found is not None
    assert [reason.code for reason in judged.as_found.points[0].reasons] == ["rounding-undecided"]


def test_a_load_off_the_centre_is_judged_at_its_place() -> None:
    judged = a_check("20.2", position="front left")

    assert judged.verdict_as_found == "fail"
    assert judged.as_found is not None
    assert judged.as_found.points[0].reading.position == "front left"


def test_what_the_ward_states_enters_the_budget_as_a_rectangle() -> None:
    """JCGM 100:2008 4.3.7: u = a / sqrt 3; display d / sqrt 12 twice; U = 2 u, by hand."""
    judged = a_check("20.0")
    assert judged.as_found is not None
    budget = judged.as_found.points[0].budget
    assert budget is not None

    buoyancy = (1.5e-5 * 20 + 0.01 / 4) / math.sqrt(3)
    u = math.sqrt(2 * (0.1**2 / 12) + (0.01**2 / 3) + buoyancy**2)
    assert budget.combined == pytest.approx(u, rel=1e-9)
    assert budget.printed == Decimal("0.083")
