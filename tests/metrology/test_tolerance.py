"""Tolerances against worked examples and the printed steps, then the rules that hold for every load."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from api.metrology.decision import SIMPLE_ACCEPTANCE, decide
from api.metrology.mass import EXACT, KILOGRAMS_PER, in_kilograms, mass
from api.metrology.refusals import BadRule, NoTableValue
from api.metrology.scale import Range, Scale, range_in_use
from api.metrology.tolerance import HouseTerm, HouseTolerance, Scheme, loads_of_change, scheme, tolerance_at
from api.metrology.tolerance_bands import HB44_MAINTENANCE, R76_INITIAL

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
LOADS = json.loads((EXAMPLES / "tolerance_hb44_r76.json").read_text())["cases"]
MULTI = json.loads((EXAMPLES / "r76_multi_interval.json").read_text())
STEPS = json.loads((EXAMPLES / "hb44_steps.json").read_text())
MISPRINTS = json.loads((EXAMPLES / "table_misprints.json").read_text())["r76_initial"]

MAINTENANCE, ACCEPTANCE = scheme("hb44", "maintenance"), scheme("hb44", "acceptance")
INITIAL, IN_SERVICE = scheme("r76", "initial"), scheme("r76", "in-service")
SCHEMES = [MAINTENANCE, ACCEPTANCE, INITIAL, IN_SERVICE]


def a_range(e: str = "1", unit: str = "kg", maximum: str = "900000", d: str | None = None) -> Range:
    return Range(unit, Decimal(maximum), Decimal(d or e), Decimal(e))


def ranges_of(case: dict[str, Any]) -> tuple[Range, ...]:
    return tuple(a_range(r["e"], r["unit"], r["max"], r["d"]) for r in case["ranges"])


def range_of_load(case: dict[str, Any], load_kg: Decimal) -> Range:
    scale = Scale("stand-on", case["accuracy_class"], case["arrangement"], ranges_of(case))
    return range_in_use(scale, scale.ranges[0].unit, load_kg)


def multiple_of_e(scheme: Scheme, accuracy_class: Any, load_in_e: str) -> Decimal:
    """The tolerance in e at a load in e, on a scale whose e is 1 kg."""
    return tolerance_at(scheme, accuracy_class, a_range(), Decimal(load_in_e)).kg


def named(case: dict[str, str]) -> str:
    return f"{case['id']} {case['source']} ({case['standing']})"


@pytest.mark.parametrize("case", LOADS, ids=named)
def test_the_tolerance_at_a_load_is_the_one_worked_out(case: dict[str, Any]) -> None:
    load_kg = mass(case["load"]["value"], case["load"]["unit"]).kg
    in_use = range_of_load(case, load_kg)

    found = tolerance_at(scheme(case["scheme"], case["stage"]), case["accuracy_class"], in_use, load_kg)

    assert found.kg == mass(case["tolerance"]["value"], case["tolerance"]["unit"]).kg
    assert Decimal(found.counted.removesuffix(" e")) == Decimal(case["tolerance_in_e"])


@pytest.mark.parametrize("case", LOADS, ids=named)
def test_the_interval_that_counts_is_that_of_the_range_in_use(case: dict[str, Any]) -> None:
    load_kg = mass(case["load"]["value"], case["load"]["unit"]).kg

    in_use = range_of_load(case, load_kg)

    assert in_use.e == Decimal(case["e_in_use"])
    assert Fraction(load_kg) / Fraction(in_use.e_kg) == Fraction(case["load_in_e"])


@pytest.mark.parametrize("case", LOADS, ids=named)
def test_an_error_on_the_tolerance_passes_and_one_step_above_fails(case: dict[str, Any]) -> None:
    load_kg = mass(case["load"]["value"], case["load"]["unit"]).kg
    unit = case["tolerance"]["unit"]
    found = tolerance_at(
        scheme(case["scheme"], case["stage"]), case["accuracy_class"], range_of_load(case, load_kg), load_kg
    )

    verdicts = [
        decide(sign * mass(text, unit).kg, found.kg, Decimal(0), SIMPLE_ACCEPTANCE)
        for text in (case["tolerance"]["value"], case["fails_just_above"])
        for sign in (1, -1)
    ]

    assert verdicts == ["pass", "pass", "fail", "fail"]


@pytest.mark.parametrize("row", MULTI["loads"], ids=lambda r: f"{r['load_g']} g, OIML R 76-1:2006 3.3 (from memory)")
def test_a_multi_interval_instrument_has_the_tolerances_of_the_standards_example(row: dict[str, str]) -> None:
    scale = Scale("portable platform", MULTI["accuracy_class"], "multi-interval", ranges_of(MULTI))
    load_kg = mass(row["load_g"], "g").kg

    found = tolerance_at(INITIAL, scale.accuracy_class, range_in_use(scale, "g", load_kg), load_kg)

    assert found.kg == mass(row["tolerance_g"], "g").kg


STEP_ROWS = [(table["accuracy_class"], *row) for table in STEPS["maintenance"] for row in table["rows"]]


@pytest.mark.parametrize(
    ("accuracy_class", "first", "last", "divisions"),
    STEP_ROWS,
    ids=[f"class {c} {a}-{b or 'up'}, USDA form FGIS-904 (second-hand)" for c, a, b, _ in STEP_ROWS],
)
def test_a_printed_step_holds_from_its_first_to_its_last_division(
    accuracy_class: str, first: int, last: int | None, divisions: str
) -> None:
    ends = [first, last or first + 50_000]

    found = [multiple_of_e(MAINTENANCE, accuracy_class, str(load)) for load in ends]

    assert found == [Decimal(divisions)] * 2


@pytest.mark.parametrize(
    ("load_in_e", "divisions"),
    STEPS["acceptance_class_iii"],
    ids=lambda value: f"{value}, a public handbook's plot of 1999 (second-hand)",
)
def test_acceptance_tolerances_lie_on_the_published_plot(load_in_e: int, divisions: str) -> None:
    assert multiple_of_e(ACCEPTANCE, "III", str(load_in_e)) == Decimal(divisions)


def test_r76_stays_at_one_and_a_half_intervals_where_the_published_plot_shows_it() -> None:
    load_in_e, intervals = STEPS["r76_initial_class_iii"][0]

    assert multiple_of_e(INITIAL, "III", str(load_in_e)) == Decimal(intervals)


@pytest.mark.parametrize("case", MISPRINTS, ids=lambda c: f"{c['id']}, UK SI 1995/1907 public text")
def test_a_misprinted_row_is_not_what_the_table_says(case: dict[str, str]) -> None:
    found = multiple_of_e(INITIAL, case["accuracy_class"], case["load_in_e"])

    assert found == Decimal(case["right_in_e"])
    assert found != Decimal(case["misprinted_in_e"])


@pytest.mark.parametrize("accuracy_class", ["I", "II", "III", "IIII"])
def test_both_documents_break_their_steps_at_the_same_first_two_counts(accuracy_class: str) -> None:
    handbook, recommendation = HB44_MAINTENANCE[accuracy_class], R76_INITIAL[accuracy_class]

    assert [band.up_to for band in handbook[:2]] == [band.up_to for band in recommendation[:2]]
    assert [band.multiple for band in handbook[:3]] == [2 * band.multiple for band in recommendation]


def test_above_4000_intervals_the_handbook_allows_five_and_the_recommendation_three() -> None:
    found = [multiple_of_e(rule, "III", "4001") for rule in SCHEMES]

    assert found == [Decimal(5), Decimal("2.5"), Decimal("1.5"), Decimal(3)]


@pytest.mark.parametrize(
    ("load_in_e", "divisions"),
    [("0", 1), ("500", 1), ("500.5", 1), ("501", 2), ("1000", 2), ("1000.5", 3), ("1001", 3), ("1500", 3),
     ("1500.01", 4), ("2000", 4), ("10000", 20)],
)  # fmt: skip
def test_class_iiil_adds_a_division_for_every_500_begun(load_in_e: str, divisions: int) -> None:
    """NIST HB 44 Table 6, class III L (from memory, high confidence)."""
    assert multiple_of_e(MAINTENANCE, "IIIL", load_in_e) == divisions
    assert multiple_of_e(ACCEPTANCE, "IIIL", load_in_e) * 2 == divisions


BOUNDS = [(c, band.up_to) for c, bands in R76_INITIAL.items() for band in bands if band.up_to]


@pytest.mark.parametrize(("accuracy_class", "bound"), BOUNDS)
@pytest.mark.parametrize("rule", [INITIAL, IN_SERVICE], ids=lambda s: s.stage)
def test_r76_steps_right_above_an_inclusive_bound(rule: Scheme, accuracy_class: str, bound: int) -> None:
    table = R76_INITIAL[accuracy_class]
    on_bound = multiple_of_e(rule, accuracy_class, str(bound))

    assert multiple_of_e(rule, accuracy_class, str(bound - 1)) == on_bound
    if bound == table[-1].up_to:
        with pytest.raises(NoTableValue, match=f"ends at {bound} e"):
            multiple_of_e(rule, accuracy_class, f"{bound}.000000001")
    else:
        assert multiple_of_e(rule, accuracy_class, f"{bound}.000000001") > on_bound


@pytest.mark.parametrize(("accuracy_class", "end"), [("II", "100000"), ("III", "10000"), ("IIII", "1000")])
def test_r76_ends_where_the_printed_table_ends_and_hb44_goes_on(accuracy_class: str, end: str) -> None:
    """OIML R 76-1:2006 Table 6; class I has no end there. HB 44 allows class IIII 1 200 divisions, R 76 only 1 000."""
    beyond = str(int(end) + 1)

    assert multiple_of_e(INITIAL, accuracy_class, end) == Decimal("1.5")
    assert multiple_of_e(MAINTENANCE, accuracy_class, beyond) in (3, 5)
    with pytest.raises(NoTableValue):
        multiple_of_e(INITIAL, accuracy_class, beyond)


def test_hb44_keeps_the_lower_row_up_to_the_next_printed_division() -> None:
    """General Code G-T.4 (from memory); R 76 has no gap and steps at once."""
    found = [multiple_of_e(MAINTENANCE, "III", load) for load in ("500", "500.999999999", "501")]

    assert found == [1, 1, 2]
    assert multiple_of_e(INITIAL, "III", "500.000000001") == 1


@pytest.mark.parametrize("rule", [INITIAL, IN_SERVICE], ids=lambda s: s.stage)
def test_r76_has_no_class_iiil(rule: Scheme) -> None:
    with pytest.raises(NoTableValue, match="no tolerance for class 'IIIL'; it has I, II, III, IIII"):
        multiple_of_e(rule, "IIIL", "100")


@pytest.mark.parametrize("rule", SCHEMES, ids=lambda s: s.stage)
def test_a_scale_without_a_class_has_no_published_tolerance(rule: Scheme) -> None:
    with pytest.raises(NoTableValue):
        multiple_of_e(rule, "none", "100")


def test_the_interval_e_counts_and_not_the_finer_division_d() -> None:
    balance = a_range("0.01", "g", "600", d="0.001")

    found = tolerance_at(INITIAL, "II", balance, mass("50", "g").kg)

    assert found.kg == mass("0.005", "g").kg


def test_a_tolerance_says_its_document_and_clause() -> None:
    sources = [tolerance_at(rule, "III", a_range(), Decimal(100)).source for rule in SCHEMES]

    assert sources == [
        "NIST HB 44 (2026) section 2.20 Table 6, T.N.3.1",
        "NIST HB 44 (2026) section 2.20 Table 6, T.N.3.1; T.N.3.2, one half",
        "OIML R 76-1:2006 3.5.1 Table 6",
        "OIML R 76-1:2006 3.5.1 Table 6; 3.5.2, twice",
    ]


@pytest.mark.parametrize(
    ("name", "stage", "edition"),
    [
        ("hb44", "initial", None),
        ("r76", "maintenance", None),
        ("hb44", "maintenance", "1066"),
        ("house", "house", None),
    ],
)
def test_a_scheme_that_is_not_complete_is_refused(name: Any, stage: Any, edition: str | None) -> None:
    with pytest.raises(BadRule):
        scheme(name, stage, edition)


def a_house_rule(combine: Any, *terms: HouseTerm) -> Scheme:
    return scheme("house", "house", house=HouseTolerance("H-1", terms, combine, "our own"))


HALF_PERCENT, ONE_DIVISION = HouseTerm(percent=Decimal("0.5")), HouseTerm(divisions=Decimal(1))


@pytest.mark.parametrize(
    ("combine", "load", "kg"),
    [("larger", "10", "0.1"), ("larger", "20", "0.1"), ("larger", "80", "0.4"), ("smaller", "80", "0.1"),
     ("smaller", "10", "0.05")],
)  # fmt: skip
def test_a_house_rule_takes_the_larger_or_the_smaller_of_its_terms(combine: str, load: str, kg: str) -> None:
    rule = a_house_rule(combine, HALF_PERCENT, ONE_DIVISION)

    found = tolerance_at(rule, "none", a_range("0.1"), Decimal(load))

    assert found.kg == Decimal(kg)


def test_a_house_rule_of_a_fixed_mass_holds_at_every_load() -> None:
    """Half an ounce for any infant scale: a public clinic form of 2015 (read)."""
    half_ounce = a_house_rule("larger", HouseTerm(mass_kg=mass("0.5", "[oz_av]").kg))

    found = {tolerance_at(half_ounce, "III", a_range("0.5", "[oz_av]"), Decimal(load)).kg for load in (2, 7, 14)}

    assert found == {Decimal("0.0141747615625")}


UP_TO_TEN = HouseTerm(mass_kg=Decimal("0.02"), up_to_kg=Decimal(10))
ABOVE_TEN = HouseTerm(percent=Decimal("0.5"), above_kg=Decimal(10), up_to_kg=Decimal(100))


@pytest.mark.parametrize(
    ("load", "kg", "words"),
    [
        ("0", "0.02", "0.02 kg up to 10 kg"),
        ("10", "0.02", "0.02 kg up to 10 kg"),
        ("10.1", "0.0505", "0.5 % of the load above 10 kg up to 100 kg"),
        ("100", "0.5", "0.5 % of the load above 10 kg up to 100 kg"),
    ],
)
def test_a_term_holds_above_its_lower_bound_up_to_and_including_its_upper_one(load: str, kg: str, words: str) -> None:
    found = tolerance_at(a_house_rule("larger", UP_TO_TEN, ABOVE_TEN), "none", a_range("0.1"), Decimal(load))

    assert (found.kg, found.counted) == (Decimal(kg), words)


def test_a_load_of_which_no_term_speaks_is_refused() -> None:
    with pytest.raises(NoTableValue) as refused:
        tolerance_at(a_house_rule("smaller", UP_TO_TEN, ABOVE_TEN), "none", a_range("0.1"), Decimal("100.1"))

    assert refused.value.sentence == "House rule H-1 says nothing of a load of 100.1 kg."
    assert refused.value.facts == {"house_rule": "H-1", "load": "100.1 kg"}


def test_a_term_without_bounds_counts_beside_those_that_hold() -> None:
    rule = a_house_rule("larger", UP_TO_TEN, ABOVE_TEN, HouseTerm(divisions=Decimal(1)))

    found = [tolerance_at(rule, "none", a_range("0.1"), Decimal(load)).kg for load in ("5", "30", "500")]

    assert found == [Decimal("0.1"), Decimal("0.15"), Decimal("0.1")]


intervals = st.builds(lambda digit, power: Decimal(digit).scaleb(power), st.sampled_from([1, 2, 5]), st.integers(-4, 1))
classes = st.sampled_from(["I", "II", "III", "IIII"])
loads_in_e = st.decimals(0, 1000, places=3) | st.integers(0, 1000).map(Decimal)
rules = st.sampled_from(SCHEMES)


@given(rules, classes, intervals, loads_in_e, loads_in_e)
def test_a_heavier_load_never_has_a_smaller_tolerance(
    rule: Scheme, accuracy_class: Any, e: Decimal, one: Decimal, other: Decimal
) -> None:
    in_use = Range("kg", Decimal(900_000), e, e)
    step = {"I": 300, "II": 100, "III": 10, "IIII": 1}[accuracy_class]
    lighter, heavier = sorted([one * step * e, other * step * e])

    light = tolerance_at(rule, accuracy_class, in_use, lighter)
    heavy = tolerance_at(rule, accuracy_class, in_use, heavier)

    assert light.kg <= heavy.kg


@given(rules, classes, intervals, loads_in_e, st.sampled_from(["g", "mg", "[lb_av]", "[oz_av]"]))
def test_a_tolerance_does_not_depend_on_the_unit_that_describes_the_scale(
    rule: Scheme, accuracy_class: Any, e: Decimal, count: Decimal, unit: str
) -> None:
    in_unit = Range(unit, Decimal(900_000), e, e)
    in_kg = Range("kg", in_unit.max_kg, in_unit.d_kg, in_unit.e_kg)
    load_kg = in_kilograms(count * e, unit)

    found = tolerance_at(rule, accuracy_class, in_unit, load_kg)

    assert found == tolerance_at(rule, accuracy_class, in_kg, load_kg)
    assert Fraction(found.kg) / Fraction(in_unit.e_kg) == Fraction(found.counted.removesuffix(" e"))


@given(classes, intervals, loads_in_e)
def test_in_service_is_twice_initial_and_acceptance_half_of_maintenance(
    accuracy_class: Any, e: Decimal, count: Decimal
) -> None:
    in_use = Range("kg", Decimal(900_000), e, e)

    found = [tolerance_at(rule, accuracy_class, in_use, count * e).kg for rule in SCHEMES]

    assert found[0] == 2 * found[1]
    assert found[3] == 2 * found[2]


@given(
    st.decimals("0.000000001", "999999999.999999999", places=9),
    st.sampled_from(sorted(KILOGRAMS_PER)),
    st.integers(1, 9_999),
)
@example(Decimal("733333333.123456787"), "[oz_av]", 3)  # 29 digits in kilograms, one more than Python's usual context
@example(Decimal("733333333.123456789"), "[oz_av]", 3)
def test_a_load_a_hair_above_a_bound_is_above_it_however_many_digits_it_has(e: Decimal, unit: str, steps: int) -> None:
    """Class III L steps at every 500 e; no digit of the product may be lost."""
    in_use = Range(unit, Decimal(1), e, e)
    bound = EXACT.multiply(in_use.e_kg, Decimal(1_000 + 500 * steps))
    hair = Decimal("1e-40")

    on_bound = tolerance_at(MAINTENANCE, "IIIL", in_use, bound)
    above = tolerance_at(MAINTENANCE, "IIIL", in_use, EXACT.add(bound, hair))

    assert EXACT.subtract(above.kg, on_bound.kg) == in_use.e_kg


@pytest.mark.parametrize(("name", "accuracy_class", "ranges", "unit", "expected"), [
    ("hb44", "III", [("300", "0.1")], "kg", ["50", "200", "300"]),  # 500 e, 2000 e, Max
    ("hb44", "III", [("1000", "0.2")], "[lb_av]", ["100", "400", "800", "1000"]),  # 4000 e too
    ("r76", "III", [("1000", "0.2")], "[lb_av]", ["100", "400", "1000"]),  # R 76 has no step at 4000 e
    ("hb44", "III", [("20", "0.005")], "kg", ["2.5", "10", "20"]),  # 4000 e are Max itself
    ("hb44", "III", [("150", "0.05"), ("300", "0.1")], "kg", ["25", "100", "150", "200", "300"]),  # 500 e2 = 50 kg counts e1
    ("hb44", "III", [("50", "0.05"), ("300", "0.1")], "kg", ["25", "50", "200", "300"]),  # 500 e2 is the first Max
    ("hb44", "II", [("600", "0.01")], "g", ["50", "200", "600"]),  # 5000 e, 20 000 e
    ("house", "III", [("150", "0.05"), ("300", "0.1")], "kg", ["150", "300"]),
    ("r76", "IIIL", [("300", "0.1")], "kg", ["300"]),  # R 76 has no class III L
])  # fmt: skip
def test_the_tolerance_changes_at_the_printed_steps_and_at_the_ends_of_ranges(
    name: Any, accuracy_class: Any, ranges: list[tuple[str, str]], unit: str, expected: list[str]
) -> None:
    """NIST HB 44 section 2.20 Table 6, OIML R 76-1:2006 Table 6; each range by its own e (3.3)."""
    held = [a_range(e, unit, maximum) for maximum, e in ranges]

    found = loads_of_change(name, accuracy_class, held)

    assert found == tuple(in_kilograms(Decimal(load), unit) for load in expected)
