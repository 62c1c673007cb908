"""The weight-class tables: their size and corners, checks that the documents' own proportions give, and refusals."""

import json
import math
from collections import Counter
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from api.metrology.mass import mass
from api.metrology.refusals import NoTableValue
from api.metrology.weight_class_tables import TABLES
from api.metrology.weight_classes import WEIGHT_CLASSES, class_limit, nominal_values

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
STACKS = json.loads((EXAMPLES / "weights_for_a_load.json").read_text())["stacks"]
MISPRINTS = json.loads((EXAMPLES / "table_misprints.json").read_text())["r111"]

R111 = ["E1", "E2", "F1", "F2", "M1", "M1-2", "M2", "M2-3", "M3"]
E617 = [f"E617-{number}" for number in range(8)]


def limit_mg(weight_class: str, value: str, unit: str) -> Decimal:
    return class_limit(weight_class, mass(value, unit)).kg * 1_000_000


def test_every_class_is_known_once_in_the_order_from_fine_to_coarse() -> None:
    assert list(WEIGHT_CLASSES) == [*R111, *E617, "F"]


def test_the_tables_have_the_rows_their_documents_print() -> None:
    rows = {table.source: len(table.rows.strip().splitlines()) for table in TABLES}

    assert list(rows.values()) == [30, 25, 12, 20, 16]


def test_every_class_has_as_many_limits_as_its_columns_print() -> None:
    """R 111 Table 1: E1 to 50 kg, E2 to 1 000 kg, M2 from 100 mg, M3 from 1 g, the half classes from 50 kg only."""
    counts = Counter({name: len(nominal_values(name)) for name in WEIGHT_CLASSES})

    assert [counts[name] for name in R111] == [24, 28, 30, 30, 30, 7, 24, 7, 21]
    assert [counts[name] for name in E617] == [25, 25, 25, 37, 37, 37, 33, 21]
    assert counts["F"] == 36


@pytest.mark.parametrize(
    ("weight_class", "value", "unit", "milligrams"),
    [
        ("F1", "5000", "kg", "25000"), ("M3", "5000", "kg", "2500000"), ("E1", "50", "kg", "25"),
        ("M3", "50", "kg", "25000"),
        ("E1", "1", "mg", "0.003"), ("M1", "1", "mg", "0.20"), ("M2", "100", "mg", "1.6"), ("M3", "1", "g", "10"),
        ("M1", "20", "kg", "1000"), ("E2", "200", "g", "0.3"),
        ("E617-0", "50", "kg", "63"), ("E617-7", "50", "kg", "7500"), ("E617-0", "10", "g", "0.025"),
        ("E617-7", "10", "g", "21"), ("E617-1", "1", "g", "0.034"), ("E617-4", "10", "mg", "0.060"),
        ("E617-6", "1000", "[lb_av]", "45000"), ("E617-3", "1", "[lb_av]", "4.5"),
        ("F", "50", "kg", "5000"), ("F", "1", "g", "0.90"), ("F", "1000", "[lb_av]", "45000"),
        ("F", "1", "[oz_av]", "5.4"),
    ],
)  # fmt: skip
def test_the_corners_of_each_table_are_as_printed(weight_class: str, value: str, unit: str, milligrams: str) -> None:
    assert limit_mg(weight_class, value, unit) == Decimal(milligrams)


@pytest.mark.parametrize("weight_class", WEIGHT_CLASSES)
def test_a_heavier_weight_never_has_a_smaller_limit(weight_class: str) -> None:
    ascending = sorted(nominal_values(weight_class), key=lambda nominal: nominal.kg)
    if weight_class == "F":  # two tables with steps of their own
        ascending = [nominal for nominal in ascending if nominal.unit not in ("[lb_av]", "[oz_av]")]

    limits = [class_limit(weight_class, nominal).kg for nominal in ascending]

    assert limits == sorted(limits)


@pytest.mark.parametrize("order", [R111, E617], ids=["OIML R 111-1:2004", "ASTM E617"])
def test_a_coarser_class_never_has_a_smaller_limit(order: list[str]) -> None:
    for finer, coarser in pairwise(order):
        shared = {n.kg for n in nominal_values(finer)} & {n.kg for n in nominal_values(coarser)}
        assert shared
        for nominal in (n for n in nominal_values(coarser) if n.kg in shared):
            assert class_limit(finer, nominal).kg <= class_limit(coarser, nominal).kg, (finer, coarser, nominal)


PROPORTIONS = dict(
    zip(R111, ["0.5", "1.6", "5", "16", "50", "100", "160", "320", "500"], strict=True)
)  # parts in a million at 100 g and above: OIML R 111-1:2004 Table 1 follows them to one preferred number


@pytest.mark.parametrize("weight_class", R111)
def test_r111_limits_from_100_g_are_a_fixed_proportion_of_the_weight(weight_class: str) -> None:
    heavy = [nominal for nominal in nominal_values(weight_class) if nominal.kg >= Decimal("0.1")]

    proportions = [class_limit(weight_class, nominal).kg / nominal.kg * 1_000_000 for nominal in heavy]

    assert proportions == pytest.approx([Decimal(PROPORTIONS[weight_class])] * len(heavy), rel=Decimal("0.0651"))


def steps_between_whole_classes(value: str, unit: str, **instead: Decimal) -> list[Decimal]:
    """How many times wider each whole class of R 111 is than the next finer one, for a weight of one nominal value."""
    whole = [name for name in R111 if "-" not in name and mass(value, unit).kg in {n.kg for n in nominal_values(name)}]
    limits = [instead.get(name, limit_mg(name, value, unit)) for name in whole]
    return [coarser / finer for finer, coarser in pairwise(limits)]


def a_plausible_step(ratio: Decimal) -> bool:
    return 2 <= ratio <= Decimal("3.4")


@pytest.mark.parametrize("nominal", nominal_values("M1"), ids=lambda n: n.shown)
def test_each_whole_class_of_r111_is_two_to_three_times_the_next_finer(nominal: Any) -> None:
    steps = steps_between_whole_classes(str(nominal.value), nominal.unit)

    assert all(map(a_plausible_step, steps)), steps


@pytest.mark.parametrize("case", MISPRINTS, ids=lambda c: f"{c['id']}, a public copy of OIML R 111-1:2004 Table 1")
def test_a_misprinted_limit_is_not_ours_and_would_break_the_steps_between_classes(case: dict[str, Any]) -> None:
    value, unit = case["nominal"]["value"], case["nominal"]["unit"]
    misprinted = {case["weight_class"]: Decimal(case["misprinted_mg"])}

    steps = steps_between_whole_classes(value, unit, **misprinted)

    assert limit_mg(case["weight_class"], value, unit) == Decimal(case["right_mg"])
    assert not all(map(a_plausible_step, steps))


@pytest.mark.parametrize(("number", "millionths"), [(1, "2.5"), (2, "5"), (3, "10"), (4, "20"), (5, "50"), (6, "100")])
def test_e617_limits_from_1_kg_are_the_proportion_of_the_class_to_two_digits(number: int, millionths: str) -> None:
    """A check of the remembered numbers, not a source; half a unit of the second digit is allowed."""
    heavy = [n for n in nominal_values(f"E617-{number}") if n.kg >= Decimal("0.4") and n.shown != "500 g"]

    for nominal in heavy:
        exact = nominal.kg * Decimal(millionths) / 1_000_000
        half_a_digit = Decimal(5).scaleb(exact.adjusted() - 2)
        assert abs(class_limit(f"E617-{number}", nominal).kg - exact) <= half_a_digit, nominal.shown


def test_class_f_from_1_kg_and_from_2_lb_is_one_ten_thousandth() -> None:
    heavy = [n for n in nominal_values("F") if n.kg >= Decimal("0.9")]

    for nominal in heavy:
        assert class_limit("F", nominal).kg / nominal.kg == pytest.approx(Decimal("0.0001"), rel=Decimal("0.03"))
    assert len(heavy) == 19


def test_class_f_at_1_lb_is_not_one_ten_thousandth() -> None:
    """70 mg in NIST HB 105-1 (from memory, medium confidence), where the proportion would give 45 mg."""
    assert limit_mg("F", "1", "[lb_av]") == 70
    assert limit_mg("E617-6", "1", "[lb_av]") == 45


@pytest.mark.parametrize("grams", ["1", "2", "3", "5"])
def test_class_f_below_10_g_follows_a_cube_root(grams: str) -> None:
    """NIST HB 105-1 (1990) has a formula there; 0.9 mg times the cube root of the grams is from memory."""
    by_formula = 0.9 * math.cbrt(float(grams))

    assert float(limit_mg("F", grams, "g")) == pytest.approx(by_formula, abs=0.05)


@pytest.mark.parametrize("case", STACKS, ids=lambda c: f"{c['weight_class']} {c['sum_mg']} mg (own)")
def test_a_stack_of_weights_is_judged_by_the_sum_of_its_limits(case: dict[str, Any]) -> None:
    limits = [limit_mg(case["weight_class"], piece["value"], piece["unit"]) for piece in case["pieces"]]

    assert sum(limits) == Decimal(case["sum_mg"])
    assert (3 * sum(limits) <= Decimal(case["tolerance_mg"])) is case["good_enough"]


@pytest.mark.parametrize("weight_class", R111)
def test_r111_has_no_25_kg_and_nothing_is_interpolated(weight_class: str) -> None:
    with pytest.raises(NoTableValue) as refused:
        class_limit(weight_class, mass("25", "kg"))

    assert refused.value.code == "no-table-value"
    assert "no limit for 25 kg" in refused.value.sentence
    assert "50 kg" in refused.value.sentence


@pytest.mark.parametrize("weight_class", ["E617-5", "F"])
def test_the_american_classes_have_25_kg(weight_class: str) -> None:
    assert class_limit(weight_class, mass("25", "kg")).kg > 0


@pytest.mark.parametrize(
    ("weight_class", "value", "unit"),
    [("M1-2", "20", "kg"), ("M3", "500", "mg"), ("E1", "100", "kg"), ("E617-0", "50", "[lb_av]"), ("F", "25", "g"),
     ("M1", "0", "kg"), ("M1", "-1", "kg")],
)  # fmt: skip
def test_a_nominal_value_that_the_class_does_not_print_is_refused_with_those_it_does(
    weight_class: str, value: str, unit: str
) -> None:
    with pytest.raises(NoTableValue) as refused:
        class_limit(weight_class, mass(value, unit))

    assert all(nominal.shown in refused.value.sentence for nominal in nominal_values(weight_class))


@pytest.mark.parametrize("weight_class", ["", "M4", "m1", "E617", "E617-8", "Class F"])
def test_a_class_that_is_not_held_is_refused_with_those_that_are(weight_class: str) -> None:
    with pytest.raises(NoTableValue) as refused:
        class_limit(weight_class, mass("1", "kg"))

    assert all(name in refused.value.sentence for name in WEIGHT_CLASSES)


@pytest.mark.parametrize(("value", "unit"), [("20", "kg"), ("20.00", "kg"), ("20000", "g")])
def test_a_nominal_value_may_be_written_in_any_unit(value: str, unit: str) -> None:
    assert limit_mg("M1", value, unit) == 1000


def test_a_pound_is_sixteen_ounces_in_the_table_too() -> None:
    assert class_limit("F", mass("16", "[oz_av]")) == class_limit("F", mass("1", "[lb_av]"))


@pytest.mark.parametrize(
    ("weight_class", "value", "confidence"),
    [("M1", "1", "from memory, high confidence; compared with a second-hand copy of the table"),
     ("M1", "2000", "from memory, high confidence; compared with a second-hand extract of the table"),
     ("M3", "2000", "from memory, high confidence"), ("M1", "20", "from memory, high confidence"),
     ("E617-5", "20", "from memory, high confidence"), ("E617-5", "25", "from memory, medium confidence"),
     ("E617-7", "20", "from memory, medium confidence"), ("E617-7", "50", "from memory, low confidence")],
)  # fmt: skip
def test_a_limit_says_how_far_it_can_be_relied_on(weight_class: str, value: str, confidence: str) -> None:
    assert class_limit(weight_class, mass(value, "kg")).confidence == confidence


def test_every_limit_names_its_document() -> None:
    sources = {class_limit(name, n).source for name in WEIGHT_CLASSES for n in nominal_values(name)}

    assert sources == {table.source for table in TABLES}
    assert all(source.startswith(("OIML R 111-1:2004", "ASTM E617", "NIST Handbook 105-1")) for source in sources)
