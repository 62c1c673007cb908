"""The pages of a visit with creep, tare, change-over points, a substitute load and a difference: words, limits, sources."""

import re
from html import unescape
from typing import Any

import pytest

from api.records.device import DeviceModel
from api.records.documents import document_of, record_from
from api.records.working import read_working
from site_builder.pages.arithmetic import arithmetic
from site_builder.pages.arithmetic_beside import against_a_need, beside
from site_builder.pages.measurement import minimum_weight, results
from site_builder.pages.readings import readings
from tests.records.test_working import VISITS, stored
from tests.site_builder.samples import MODELS

WORKING = read_working(stored(VISITS["every test"]))
PHASE = VISITS["every test"].as_found


def words(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").replace("\u2212", "-").split())


def drawn() -> str:
    return words(results("as_found", "Results", WORKING["as_found"], "kg", None))


def sent() -> dict[str, Any]:
    assert PHASE is not None
    return {"as_found": {"readings": [document_of(point.reading) for point in PHASE.points]}}


def test_every_special_test_prints_its_words_and_where_its_limit_is_from() -> None:
    said = drawn()

    assert "3 readings of 200 kg left alone; largest change. Limit: NIST HB 44 (2026) section 2.20 T.N.4.5.1" in said
    assert "Zero read once after 30 minutes under load; largest change. Limit: 0.5 e: NIST HB 44 (2026)" in said
    assert (
        "1 load, 100 kg net, after a tare of 20.0 kg; largest error. Limit: NIST HB 44 (2026) section 2.20 T.N.2.1"
        in said
    )
    assert "1 difference of 20 kg, the ward's limit of 0.05 kg not met; largest error of a difference" in said


def test_what_the_ward_needs_stands_after_the_tests() -> None:
    assert "What ward QG-DIA needs: not met. The ward's limit at " in drawn()


def test_the_arithmetic_leads_through_change_over_substitution_and_difference() -> None:
    said = words(arithmetic(WORKING, "kg"))

    assert "indication + half a step - added up to the change-over = 100 + 0.05 - 0.04; OIML R 76-1:2006" in said
    assert "1 substitute load under sum of the marked values of the pieces 200 kg" in said
    assert "of it unbalanced what the substitute loads showed beside the load they stand for +0.1 kg" in said
    assert "20.1 kg shown - 20 kg added to 100 kg; reading 21 - reading 20, so zero and the base load cancel" in said
    assert "the ward's limit beside the tolerance; |error| 0.1 > 0.05: not met ±0.05 kg" in said
    assert "sum of the marked values of the pieces, net of a tare of 20.0 kg" in said


def test_the_arithmetic_of_a_load_left_alone_names_both_readings_of_every_change() -> None:
    said = words(arithmetic(WORKING, "kg"))

    assert "from minute 0 to 30 at 200 kg = 200 - 200, exact; limit 0.5 e; |change| 0 ≤ 0.05" in said
    assert "from minute 15 to 30 at 200 kg = 200 - 200, exact; limit 0.2 e; |change| 0 ≤ 0.02" in said
    assert "zero after the load - zero before it = 0.1 - 0, exact +0.1 kg" in said


def test_the_u_of_a_difference_is_taken_apart() -> None:
    said = words(arithmetic(WORKING, "kg"))

    assert (
        "U of it k × u = 2.00 × 0.0408; u is the root of the sum of the squares of rounding at the base load 0.0289"
        in said
    )


@pytest.mark.parametrize(
    ("error", "printed", "limit", "said"),
    [
        ("-0.1", "0.08", "0.05", "|error| 0.1 > 0.05"),
        ("0.03", "0.020", "0.05", "|error| + U = 0.03 + 0.020 = 0.05 ≤ 0.05"),
        ("0.03", "0.021", "0.05", "|error| + U = 0.03 + 0.021 = 0.051 > 0.05"),
    ],
)
def test_a_need_is_compared_as_it_was_answered(error: str, printed: str, limit: str, said: str) -> None:
    assert against_a_need(error, printed, limit, "kg") == said


def test_the_minimum_weight_of_a_balance_is_worked_out_in_its_own_unit() -> None:
    """2000 x 0.41 x 0.01 g = 8.2 g: USP general chapter 41, as quoted in public texts."""
    found = {"weight_kg": "0.0082", "s_kg": "0.000003", "d_kg": "0.00001", "load_kg": "0.01", "weighings": 10,
             "by_division": True, "enough": True, "source": "USP general chapter 41"}  # fmt: skip

    (shown,) = beside({"minimum_weight": found}, "g")

    assert "0.41 d what rounding alone leaves, d = 0.01 g 0.0041 g" in words(shown)
    assert "000 × the larger, 0.0041, rounded up; USP general chapter 41 8.2 g" in words(shown)


def test_the_readings_say_what_was_sent_of_each_special_test() -> None:
    said = words(readings(sent()))

    assert "went one step up when 0.04 kg was added" in said
    assert "net of a tare of 20.0 kg" in said
    assert "15 minutes under load" in said
    assert "on a substitute load balanced against reading 13" in said
    assert "added to the base load of reading 20" in said


def test_a_balance_prints_its_minimum_weight_in_its_own_unit() -> None:
    found = {"weight_kg": "0.0000820", "s_kg": "0", "d_kg": "0.0000001", "load_kg": "0.02", "weighings": 6,
             "by_division": True, "enough": False, "source": "USP general chapter 41"}  # fmt: skip

    shown = minimum_weight({"minimum_weight": found}, "g")

    assert shown is not None
    assert words(shown) == (
        "Minimum weight: 0.082 g. From 6 weighings of 20 g, fewer than the ten that the rule asks for; 0.41 d counts, above "
        "the s of 0 g. Source: USP general chapter 41."
    )
    assert minimum_weight({}, "g") is None


def test_a_model_may_carry_its_additive_tare() -> None:
    model = record_from(DeviceModel, {**MODELS["M-COL"], "additive_tare": {"value": "500", "unit": "g"}})

    assert f"{model.as_scale().additive_tare_kg:f}" == "0.500"
