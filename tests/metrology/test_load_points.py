"""Loads of a plan against lists that the weighing rules give: HB 44 2.20 Table 6 and N.1.2.1, R 76-1 A.4.4.1."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.load_points import least_load, load_points
from api.metrology.refusals import OverCapacity
from api.metrology.scale import Scale
from api.metrology.tolerance import HouseTerm, HouseTolerance, Scheme, scheme
from api.metrology.top_load import top_load
from tests.metrology.a_case import a_range, a_scale

MAINTENANCE = scheme("hb44", "maintenance")
IN_SERVICE = scheme("r76", "in-service")


def the_loads(scale: Scale, rules: Scheme, typical: str = "", unit: str = "kg", used: str | None = None) -> list[str]:
    top = top_load(scale, unit, Decimal(used) if used else None)
    return [f"{p.kg:f}" for p in load_points(scale, rules, unit, top, [Decimal(t) for t in typical.split()])]


def the_ways_down(scale: Scale, rules: Scheme, typical: str = "") -> list[str]:
    points = load_points(scale, rules, "kg", top_load(scale, "kg"), [Decimal(t) for t in typical.split()])
    return [f"{p.kg:f}" for p in points if p.down]


def a_chair() -> Scale:
    return a_scale([a_range("150", "0.05", min="1"), a_range("250", "0.10")], "chair", arrangement="multi-interval")


def test_a_patient_scale_of_300_kg_gets_the_practical_list() -> None:
    """The list of service practice: 0, 2, 50, 100, 150, 200 kg and the top; 500 e = 50 kg, 2000 e = 200 kg."""
    scale = a_scale([a_range("300", "0.1", min="2")])

    assert the_loads(scale, MAINTENANCE, "60 100 150") == ["0", "2", "50", "100", "150", "200", "300"]
    assert the_loads(scale, MAINTENANCE, "60 100 150", used="190") == ["0", "2", "50", "100", "150", "200", "210"]


def test_a_chair_is_loaded_just_below_and_just_above_where_its_division_changes() -> None:
    """500 e1 = 25 kg, 2000 e1 = 100 kg, 2000 e2 = 200 kg (HB 44 2.20 Table 6, T.N.2.4)."""
    loads = the_loads(a_chair(), MAINTENANCE, "25 75 100 150")

    assert loads == ["0", "1", "25", "75", "100", "150", "154", "200", "250"]
    assert Decimal("154") * Decimal("0.98") > 150  # made 2 % lighter it is above still


def test_an_infant_scale_keeps_its_light_loads() -> None:
    scale = a_scale([a_range("10", "0.005", min="0.1"), a_range("20", "0.010")], "infant", arrangement="multi-interval")

    loads = the_loads(scale, MAINTENANCE, "0.5 1 2.5 5 10 15")

    assert loads == ["0", "0.1", "0.5", "1", "2.5", "5", "10", "10.3", "15", "20"]


def test_the_steps_of_a_class_ii_balance_count_e_and_its_min_d() -> None:
    """5000 e = 500 g and 20 000 e = 2 kg for e = 0.1 g; only Min is 50 d = 0.5 g (R 76-1 Tables 3 and 6, 3.4.3)."""
    scale = a_scale([a_range("2200", "0.01", "g", e="0.1")], "pharmacy balance", "II")

    assert {"0.0005", "0.5", "2"} <= set(the_loads(scale, IN_SERVICE, unit="g"))


@pytest.mark.parametrize(
    ("accuracy_class", "e", "least"), [("III", "0.1", "2.0"), ("IIII", "0.5", "5.0"), ("I", "0.001", "0.100")]
)
def test_min_follows_the_class_where_none_is_marked(accuracy_class: str, e: str, least: str) -> None:
    """20 e, 10 e, 100 e: OIML R 76-1:2006 Table 3."""
    scale = a_scale([a_range("150", e)], accuracy_class=accuracy_class)

    assert f"{least_load(scale, 'kg')[0]:f}" == least


def test_from_1000_divisions_on_the_way_down_is_read_at_the_steps() -> None:
    """HB 44 2.20 N.1.2.1: at the steps from n = 1000 on, else at half of the greatest load."""
    fine, coarse = a_scale([a_range("300", "0.1")]), a_scale([a_range("200", "0.5")])

    assert {"50", "200"} <= set(the_ways_down(fine, MAINTENANCE))
    assert "100" in the_ways_down(coarse, MAINTENANCE)


def test_r_76_reads_five_loads_on_the_way_down() -> None:
    assert len(the_ways_down(a_scale([a_range("300", "0.1")]), IN_SERVICE, "100")) == 5


def test_a_house_rule_is_tried_where_its_terms_meet() -> None:
    """1 % of the load, 0.5 kg at least: both are 0.5 kg at 50 kg."""
    rule = HouseTolerance("B", (HouseTerm(percent=Decimal(1)), HouseTerm(mass_kg=Decimal("0.5"))), "larger", "owner")

    assert "50" in the_loads(a_scale([a_range("250", "0.1")], "bed"), scheme("house", "house", house=rule))


def test_the_safe_working_load_less_the_dead_load_caps_the_top() -> None:
    bed = a_scale([a_range("250", "0.1")], "bed")

    assert top_load(bed, "kg", None, Decimal(230), Decimal(30)).kg == 200
    assert top_load(bed, "kg", Decimal(170), Decimal(230), Decimal(30)).kg == 190


def test_a_dead_load_that_leaves_nothing_is_refused() -> None:
    with pytest.raises(OverCapacity, match="nothing more may be placed"):
        top_load(a_scale(), "kg", None, Decimal(30), Decimal(30))


@given(
    most=st.integers(20, 600), used=st.integers(5, 700), safe=st.integers(40, 700), e=st.sampled_from(["0.1", "0.2"]),
    typical=st.lists(st.integers(1, 700), max_size=6), rules=st.sampled_from([MAINTENANCE, IN_SERVICE]),
)  # fmt: skip
def test_loads_rise_from_zero_to_a_safe_top(
    most: int, used: int, safe: int, e: str, typical: list[int], rules: Scheme
) -> None:
    scale = a_scale([a_range(str(most), e)])
    top = top_load(scale, "kg", Decimal(used), Decimal(safe), Decimal(20))

    loads = [p.kg for p in load_points(scale, rules, "kg", top, [Decimal(t) for t in typical])]

    assert loads == sorted(set(loads))
    assert loads[0] == 0
    assert loads[-1] == top.kg <= min(most, safe - 20)
    assert len(loads) >= 6
