"""Uncertainty budgets against published and cross-checked examples, and what holds for every budget."""

import json
import math
from pathlib import Path
from typing import Any

import GTC
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.budget import Budget, Contribution
from api.metrology.uncertainty import budget_of, combined, effective_degrees_of_freedom

EXAMPLES = Path(__file__).parents[1] / "worked_examples"


def example(name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((EXAMPLES / f"{name}.json").read_text())
    return found


END_GAUGE = example("gum_h1_end_gauge")
TARTU = example("weighing_budget_tartu")
EA_S2 = example("ea_4_02_s2_weight")
PATIENT_SCALE = example("patient_scale_budget")
BALANCE = example("balance_budget")

COMPLETE = [TARTU, PATIENT_SCALE, BALANCE]
ALL = [END_GAUGE, TARTU, EA_S2, PATIENT_SCALE, BALANCE]


def named(data: dict[str, Any]) -> str:
    return f"{data['what'].split(',')[0].rstrip('.')}; {data['source'][0].split(':')[0]}"


def contribution(item: dict[str, Any]) -> Contribution:
    """One line of an example, in the example's own unit: sums are the same in any one unit (shown below)."""
    u = item["u"] if "u" in item else item["half_width"] / math.sqrt(3)
    degrees = math.inf if item["nu"] is None else item["nu"]
    distribution: Any = "normal" if "u" in item else "rectangular"
    return Contribution(item["name"], u, distribution, "the example", degrees, item.get("sensitivity", 1.0))


def contributions(data: dict[str, Any]) -> list[Contribution]:
    return [contribution(item) for item in data["contributions"]]


def by_reference_library(parts: list[Contribution]) -> tuple[float, float]:
    """The sum as GTC 1.5.1 makes it: u and degrees of freedom."""
    total = sum(GTC.ureal(0, p.standard_uncertainty, p.degrees_of_freedom) * p.sensitivity for p in parts)
    return total.u, total.df


@pytest.mark.parametrize("data", ALL, ids=named)
def test_u_is_the_one_of_the_example(data: dict[str, Any]) -> None:
    assert combined(contributions(data)) == pytest.approx(data["expected"]["u"], rel=1e-12)


@pytest.mark.parametrize("data", ALL, ids=named)
def test_u_and_degrees_of_freedom_agree_with_the_reference_library(data: dict[str, Any]) -> None:
    parts = contributions(data)

    found = budget_of(parts)

    u, degrees = by_reference_library(parts)
    assert found.combined == pytest.approx(u, rel=1e-12)
    assert found.effective_degrees_of_freedom == pytest.approx(degrees, rel=1e-9)


@pytest.mark.parametrize("data", COMPLETE, ids=named)
def test_a_complete_budget_is_the_one_of_the_example(data: dict[str, Any]) -> None:
    found = budget_of(contributions(data))

    expected = data["expected"]
    assert found.effective_degrees_of_freedom == pytest.approx(expected["nu_eff"], rel=1e-9)
    assert math.floor(found.effective_degrees_of_freedom) == expected["nu_floor"]
    assert found.k == pytest.approx(expected["k"], rel=1e-9)
    assert found.expanded == pytest.approx(expected["U"], rel=1e-9)
    assert 2 * found.combined == pytest.approx(expected["U_at_k_2"], rel=1e-9)


@pytest.mark.parametrize("data", COMPLETE, ids=named)
def test_k_agrees_with_the_reference_library_at_the_truncated_degrees(data: dict[str, Any]) -> None:
    found = budget_of(contributions(data))

    assert found.k == pytest.approx(GTC.reporting.k_factor(data["expected"]["nu_floor"], 95.45), rel=1e-9)


def test_the_weighing_example_prints_its_published_u_and_degrees_of_freedom() -> None:
    """University of Tartu testing centre, "Uncertainty of Simple Weighing"."""
    found = budget_of(contributions(TARTU))

    assert found.combined == pytest.approx(TARTU["published"]["u"], rel=1e-14)
    assert math.floor(found.effective_degrees_of_freedom) == TARTU["published"]["nu_eff"]


def test_the_end_gauge_has_the_published_u_and_degrees_of_freedom() -> None:
    """GUM (JCGM 100:2008) H.1; the printed 93 nm multiplies the rounded 32 nm, so it is met within 0.6 nm only."""
    found = budget_of(contributions(END_GAUGE), END_GAUGE["probability"])

    published, expected = END_GAUGE["published"], END_GAUGE["expected"]
    assert round(found.combined) == published["u"]
    assert found.effective_degrees_of_freedom == pytest.approx(published["nu_eff"], abs=0.1)
    assert found.effective_degrees_of_freedom == pytest.approx(expected["nu_eff"], rel=1e-9)
    assert found.k == pytest.approx(expected["k99"], rel=1e-12)
    assert found.expanded == pytest.approx(expected["U99"], rel=1e-12)
    assert found.expanded == pytest.approx(published["U99"], abs=0.6)


def test_the_weight_of_10_kg_has_the_u_and_the_expanded_uncertainty_of_the_example() -> None:
    """EA-4/02 S2, printed values from memory; nothing limits the degrees of freedom, so k is 2."""
    found = budget_of(contributions(EA_S2))

    assert f"{found.combined:.1f}" == str(EA_S2["published"]["u"])
    assert found.k == 2.0
    assert found.printed == EA_S2["published"]["U"]


def test_the_public_page_of_the_same_weight_differs_by_its_rounded_difference_term() -> None:
    """The page prints the difference term to 0.1 mg only, which leaves 0.025 mg of u open."""
    page = EA_S2["public_page"]
    with_theirs = [
        part._replace(standard_uncertainty=page["difference"]) if part.name == "difference" else part
        for part in contributions(EA_S2)
    ]

    found = budget_of(with_theirs)

    assert found.combined == pytest.approx(page["u"], abs=0.025)
    assert found.printed == page["U"]


def test_three_readings_of_a_patient_scale_print_more_than_twice_u() -> None:
    found = budget_of(contributions(PATIENT_SCALE))

    assert f"{found.printed:f}" == "190"
    assert found.expanded > 1.18 * 2 * found.combined


def test_a_budget_keeps_its_contributions_in_the_order_given() -> None:
    parts = contributions(PATIENT_SCALE)

    assert budget_of(parts).contributions == tuple(parts)


def test_a_budget_of_nothing_is_nothing() -> None:
    found = budget_of([])

    assert (found.combined, found.expanded, found.printed) == (0.0, 0.0, 0)
    assert math.isinf(found.effective_degrees_of_freedom)


@pytest.mark.parametrize("readings", [3, 10, 94, 100])
def test_repeatability_alone_keeps_its_own_degrees_of_freedom(readings: int) -> None:
    alone = Contribution("repeatability", 0.0577, "t", "readings", readings - 1)

    found = budget_of([alone])

    assert found.effective_degrees_of_freedom == pytest.approx(readings - 1, rel=1e-12)
    assert found.k == pytest.approx(GTC.reporting.k_factor(readings - 1, 95.45), rel=1e-9)


parts = st.tuples(
    st.just("a"),
    st.floats(1e-9, 1e3),
    st.just("normal"),
    st.just("any"),
    st.one_of(st.just(math.inf), st.integers(1, 200).map(float)),
    st.floats(-10, 10).filter(lambda c: abs(c) > 1e-3),
).map(lambda drawn: Contribution(*drawn))
budgets = st.lists(parts, min_size=1, max_size=12)


def in_another_unit(items: list[Contribution], factor: float) -> list[Contribution]:
    return [item._replace(standard_uncertainty=item.standard_uncertainty * factor) for item in items]


def near_an_integer(found: Budget) -> bool:
    """Where truncation may go either way by the last digit of the sum."""
    degrees = found.effective_degrees_of_freedom
    return math.isfinite(degrees) and abs(degrees - round(degrees)) < 1e-9 * degrees


@given(budgets)
def test_any_budget_agrees_with_the_reference_library(items: list[Contribution]) -> None:
    found = budget_of(items)

    u, degrees = by_reference_library(items)
    assert found.combined == pytest.approx(u, rel=1e-12)
    if degrees < 1e9:
        assert found.effective_degrees_of_freedom == pytest.approx(degrees, rel=1e-9)


@given(st.data(), budgets)
def test_the_order_of_the_contributions_changes_nothing(data: st.DataObject, items: list[Contribution]) -> None:
    shuffled = data.draw(st.permutations(items))

    one, other = budget_of(items), budget_of(shuffled)

    assert one.combined == pytest.approx(other.combined, rel=1e-14)
    assert near_an_integer(one) or one.k == other.k


@given(budgets, st.sampled_from([1000.0, 1e6, 1 / 0.45359237, 16 / 0.45359237]))
def test_k_and_degrees_of_freedom_do_not_depend_on_the_unit(items: list[Contribution], factor: float) -> None:
    in_kg, in_unit = budget_of(items), budget_of(in_another_unit(items, factor))

    assert in_unit.combined == pytest.approx(factor * in_kg.combined, rel=1e-13)
    if math.isinf(in_kg.effective_degrees_of_freedom):
        assert math.isinf(in_unit.effective_degrees_of_freedom)
    else:
        assert in_unit.effective_degrees_of_freedom == pytest.approx(in_kg.effective_degrees_of_freedom, rel=1e-12)
    assert near_an_integer(in_kg) or in_unit.k == in_kg.k


@given(budgets, parts)
def test_one_more_contribution_never_lowers_u(items: list[Contribution], more: Contribution) -> None:
    assert combined([*items, more]) >= combined(items)


@given(budgets)
def test_a_contribution_of_0_changes_nothing(items: list[Contribution]) -> None:
    nothing = Contribution("nothing", 0.0, "rectangular", "any", 1.0)

    found = budget_of([*items, nothing])

    assert (found.combined, found.k, found.printed) == (
        budget_of(items).combined,
        budget_of(items).k,
        budget_of(items).printed,
    )


@given(st.lists(parts.filter(lambda c: math.isfinite(c.degrees_of_freedom)), min_size=1, max_size=8))
def test_effective_degrees_lie_between_the_fewest_and_the_sum(items: list[Contribution]) -> None:
    """Welch-Satterthwaite: GUM (JCGM 100:2008) G.4.1."""
    each = [c.degrees_of_freedom for c in items]

    found = effective_degrees_of_freedom(items, combined(items))

    assert min(each) * (1 - 1e-12) <= found <= sum(each) * (1 + 1e-12)


@given(parts)
def test_the_sign_of_a_sensitivity_changes_nothing(item: Contribution) -> None:
    mirrored = item._replace(sensitivity=-item.sensitivity)

    assert budget_of([item]).expanded == budget_of([mirrored]).expanded
