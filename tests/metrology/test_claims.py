"""What can be claimed over the loads: inside, below and above the proven range, and how little a light weight says."""

import json
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.claims import (
    Claim,
    claim_of,
    limit_at,
    reach_of_slope,
    slope_from_one_load,
    stretches,
    where_is,
)
from api.metrology.judgement import ProvenRange
from api.metrology.weighing_in_use import Behaviour, weighing_in_use
from tests.metrology.a_behaviour import a_behaviour

EXAMPLE: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "worked_examples" / "light_load_slope.json").read_text()
)
PROVEN = ProvenRange(Decimal(20), Decimal(150))


def one_kilogram(load_kg: Decimal) -> Decimal:
    return Decimal(1)


def class_iii(load_kg: Decimal) -> Decimal:
    """Maintenance tolerance of class III with e = 0.1 kg: 1 e to 500 e, 2 e to 2000 e (HB 44 2.20 Table 6)."""
    return Decimal("0.1") if load_kg <= 50 else Decimal("0.2")


def claim_at(behaviour: Behaviour, tolerance_at: Any, load_kg: Decimal) -> Claim:
    return claim_of(weighing_in_use(load_kg, behaviour), PROVEN, tolerance_at)


@pytest.mark.parametrize(
    ("load", "where"), [("19.9", "below"), ("20", "proven"), ("150", "proven"), ("150.1", "above")]
)
def test_both_ends_belong_to_the_proven_range(load: str, where: str) -> None:
    assert where_is(Decimal(load), PROVEN) == where


def test_without_a_proven_range_every_load_is_outside_it() -> None:
    assert where_is(Decimal(50), None) == "above"
    assert claim_of(weighing_in_use(Decimal(50), a_behaviour(0)), None, one_kilogram) == "cannot say"


@pytest.mark.parametrize(
    ("slope", "claim"), [(0.0, "within tolerance"), (0.02, "out of tolerance"), (0.01, "cannot say")]
)
def test_the_claim_follows_the_error_and_its_uncertainty(slope: float, claim: Claim) -> None:
    assert claim_at(a_behaviour(slope), one_kilogram, Decimal(100)) == claim


@pytest.mark.parametrize("slope", [0.0, 0.05])
def test_above_the_highest_load_placed_nothing_is_claimed(slope: float) -> None:
    assert claim_at(a_behaviour(slope), one_kilogram, Decimal("150.1")) == "cannot say"


def test_below_the_proven_range_the_tolerance_counts_in_percent() -> None:
    assert limit_at(Decimal(2), PROVEN, one_kilogram) == Decimal("0.1")  # 5 % of 2 kg, as 1 kg is of 20 kg
    assert limit_at(Decimal(20), PROVEN, one_kilogram) == 1
    assert limit_at(Decimal(40), PROVEN, one_kilogram) == 1


def test_a_scale_that_weighs_well_at_60_kg_may_say_nothing_at_one() -> None:
    behaviour = a_behaviour(0, s_kg=0.01, corner_kg=None)

    assert claim_at(behaviour, one_kilogram, Decimal(60)) == "within tolerance"
    assert claim_at(behaviour, one_kilogram, Decimal(1)) == "cannot say"


def test_the_claims_cover_every_load_once_from_zero_to_the_capacity() -> None:
    claimed = partial(claim_at, a_behaviour(0, s_kg=0.01, corner_kg=None), one_kilogram)

    found = stretches(claimed, PROVEN, [Decimal(50)], Decimal(200))

    assert [found[0].from_kg, found[-1].to_kg] == [0, 200]
    assert all(a.to_kg == b.from_kg for a, b in zip(found, found[1:], strict=False))
    assert [(s.where, s.claim) for s in found] == [
        ("below", "cannot say"), ("below", "within tolerance"), ("proven", "within tolerance"), ("above", "cannot say"),
    ]  # fmt: skip


def test_the_limit_between_two_claims_lies_where_the_claim_changes() -> None:
    claimed = partial(claim_at, a_behaviour(0, s_kg=0.01, corner_kg=None), one_kilogram)

    edge = stretches(claimed, PROVEN, [], Decimal(150))[0].to_kg

    assert claimed(edge * Decimal("0.98")) == "cannot say"
    assert claimed(edge * Decimal("1.02")) == "within tolerance"


def test_a_tolerance_that_steps_moves_the_claim_at_the_step() -> None:
    claimed = partial(claim_at, a_behaviour(0, s_kg=0.05, corner_kg=None, u_kg=0.02), class_iii)

    found = stretches(claimed, PROVEN, [Decimal(50)], Decimal(150))

    # U is near 0.13 kg: more than 1 e, less than 2 e
    assert [(s.from_kg, s.to_kg, s.claim) for s in found if s.where == "proven"] == [
        (20, 50, "cannot say"), (50, 150, "within tolerance"),
    ]  # fmt: skip


def test_a_scale_that_is_far_out_is_said_to_be_out_over_the_loads_where_it_shows() -> None:
    claimed = partial(claim_at, a_behaviour(0.02), one_kilogram)

    proven = [s for s in stretches(claimed, PROVEN, [], Decimal(150)) if s.where == "proven"]

    assert [s.claim for s in proven] == ["within tolerance", "cannot say", "out of tolerance"]
    # |E| = 0.02 R: it crosses 1 kg at 50 kg, and U on either side of that leaves it open
    assert proven[0].to_kg < 50 < proven[1].to_kg


@pytest.mark.parametrize("row", EXAMPLE["rows"], ids=lambda r: f"{r['weight']} kg")
def test_one_weight_leaves_as_much_open_as_the_worked_example_says(row: dict[str, str]) -> None:
    u = slope_from_one_load(Decimal(row["weight"]), Decimal(EXAMPLE["d"]), EXAMPLE["s"])

    expanded = 2 * u * float(EXAMPLE["carried_to"])
    places = len(row["expanded"].partition(".")[2])
    assert f"{expanded:.{places}f}" == row["expanded"]
    if "u_percent" in row:
        assert f"{u * 100:.2f}" == row["u_percent"]


@pytest.mark.parametrize(("weight", "reach"), [("8", "6.79"), ("60", "101.90"), ("100", "169.84"), ("200", "200.00")])
def test_the_slope_reaches_as_far_as_its_uncertainty_stays_within_the_tolerance(weight: str, reach: str) -> None:
    """By hand: T / (2 u), with u of the worked example; 0.1 kg to 50 kg, 0.2 kg to 200 kg."""
    u = slope_from_one_load(Decimal(weight), Decimal("0.1"), 0.03)

    found = reach_of_slope(u, 2, [(Decimal(50), Decimal("0.1")), (Decimal(200), Decimal("0.2"))])

    assert found is not None
    assert f"{found:.2f}" == reach


def test_a_slope_that_is_known_exactly_reaches_to_the_end() -> None:
    assert reach_of_slope(0.0, 2, [(Decimal(200), Decimal("0.2"))]) == 200


def test_there_is_no_reach_without_a_tolerance() -> None:
    assert reach_of_slope(0.001, 2, []) is None


@given(st.decimals("1", "200", places=1), st.floats(0, 0.2))
def test_a_heavier_weight_never_says_less(weight: Decimal, s_kg: float) -> None:
    d = Decimal("0.1")

    assert slope_from_one_load(weight + 1, d, s_kg) < slope_from_one_load(weight, d, s_kg)
