"""Reference loads from pieces: nominal or certified, added arithmetically, refused where nothing is known of them."""

import json
import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from api.metrology.policy import STARTING, Policy
from api.metrology.refusals import NoReferenceValue, NoTableValue
from api.metrology.weights import nominal_sum, reference_load
from tests.metrology.a_case import a_certificate, a_piece, some_pieces, stack

EXAMPLES = Path(__file__).parents[1] / "worked_examples"
STACKS = json.loads((EXAMPLES / "weights_for_a_load.json").read_text())["stacks"]
NOMINAL = replace(STARTING, reference="nominal")


def named(stack_of: dict[str, Any]) -> str:
    return f"{stack_of['weight_class']} {'+'.join(p['value'] for p in stack_of['pieces'])}, R 111-1/E617/HB 105-1"


def bound_and_tolerance(stack_of: dict[str, Any], policy: Policy) -> tuple[Decimal, Decimal]:
    """The error bound of a stack under the nominal policy and the tolerance beside it, both in mg."""
    pieces = {
        f"S{n}": a_piece(f"S{n}", p["value"], p["unit"], stack_of["weight_class"], None)
        for n, p in enumerate(stack_of["pieces"])
    }
    load = reference_load(tuple(pieces), pieces, policy)
    return load.error_bound_kg * 1_000_000, Decimal(stack_of["tolerance_mg"])


@pytest.mark.parametrize("stack_of", STACKS, ids=named)
def test_the_error_bound_of_a_stack_is_the_sum_of_its_class_limits(stack_of: dict[str, Any]) -> None:
    bound, _ = bound_and_tolerance(stack_of, NOMINAL)

    assert bound == Decimal(stack_of["sum_mg"])


@pytest.mark.parametrize("stack_of", STACKS, ids=named)
def test_weights_are_good_enough_up_to_one_third_of_the_tolerance(stack_of: dict[str, Any]) -> None:
    """One third: OIML R 76-1:2006 3.7.1, NIST HB 44 Appendix A 3.2, from memory."""
    bound, tolerance = bound_and_tolerance(stack_of, NOMINAL)

    assert (bound * NOMINAL.weights_divisor <= tolerance) is stack_of["good_enough"]


def test_uncertainties_of_several_pieces_are_added_and_not_squared() -> None:
    """Fully correlated: EURAMET cg-18 v4.0 7.1.2.2, from memory. M1 20 kg: 1 g (OIML R 111-1:2004 Table 1)."""
    pieces = some_pieces(certified=False)

    one, five = (reference_load(codes, pieces, NOMINAL) for codes in (stack(20), stack(100)))

    assert one.u_weights == pytest.approx(0.001 / math.sqrt(3), rel=1e-15)
    assert five.u_weights == pytest.approx(5 * one.u_weights, rel=1e-15)
    assert five.u_drift == pytest.approx(5 * one.u_drift, rel=1e-15)


def test_under_the_nominal_policy_the_load_is_nominal_and_the_certificate_says_nothing() -> None:
    pieces = {"K01": a_piece(certificate=a_certificate("20.0004"))}

    load = reference_load(("K01",), pieces, NOMINAL)

    assert load.reference_kg == load.nominal_kg == Decimal(20)
    assert load.u_weights == pytest.approx(0.001 / math.sqrt(3), rel=1e-15)
    assert load.error_bound_kg == Decimal("0.001")
    assert load.basis == "nominal values, within class limits"


def test_under_the_certificate_policy_the_load_is_the_conventional_mass_and_u_is_the_printed_one_over_k() -> None:
    """U/k: EURAMET cg-18 v4.0 7.1.2.2, from memory; drift k_D x U / sqrt 3: 7.1.2.3."""
    pieces = {"K01": a_piece(certificate=a_certificate("20.0004", "0.0003", "2"))}

    load = reference_load(("K01",), pieces, STARTING)

    assert load.nominal_kg == Decimal(20)
    assert load.reference_kg == Decimal("20.0004")
    assert load.u_weights == pytest.approx(0.00015, rel=1e-15)
    assert load.u_drift == pytest.approx(0.0003 / math.sqrt(3), rel=1e-15)
    assert load.error_bound_kg == Decimal("0.0003")


def test_certified_values_of_several_pieces_are_added_exactly() -> None:
    pieces = {
        "K01": a_piece("K01", certificate=a_certificate("20.0004")),
        "K02": a_piece("K02", certificate=a_certificate("19.9997")),
        "K03": a_piece("K03", "50", "[lb_av]", "F", a_certificate("22.67965")),
    }

    load = reference_load(("K01", "K02", "K03"), pieces, STARTING)

    assert load.nominal_kg == Decimal("62.6796185")
    assert load.reference_kg == Decimal("62.67975")


@pytest.mark.parametrize("factor", ["0", "1", "2"])
def test_the_drift_grows_with_the_factor_of_the_policy(factor: str) -> None:
    """k_D 1 to 3: EURAMET cg-18 v4.0 7.1.2.3, from memory; the policy allows 0 to 2."""
    pieces = some_pieces()
    policy = replace(STARTING, drift_factor=Decimal(factor))

    load = reference_load(stack(100), pieces, policy)

    assert load.u_drift == pytest.approx(float(factor) * 5 * 0.0003 / math.sqrt(3), rel=1e-15)


def test_the_buoyancy_bound_is_that_of_weights_within_their_class() -> None:
    """(0.1 x 1.2 / 8000 x m + mpe / 4) / sqrt 3, or mpe / (4 sqrt 3): cg-18 v4.0 7.1.2.4, from memory; 5 x 20 kg M1."""
    load = reference_load(stack(100), some_pieces(), STARTING)

    assert load.u_buoyancy == pytest.approx((0.0015 + 0.00125) / math.sqrt(3), rel=1e-12)
    assert load.u_buoyancy_adjusted == pytest.approx(0.00125 / math.sqrt(3), rel=1e-12)


def test_a_piece_whose_class_has_no_row_takes_its_certificate_for_the_buoyancy_bound() -> None:
    """R 111 has no 25 kg; the certificate's U or distance to nominal, the larger, stands in (a house rule)."""
    pieces = {"K01": a_piece("K01", "25", certificate=a_certificate("25.002", "0.0005"))}

    load = reference_load(("K01",), pieces, STARTING)

    assert load.u_buoyancy_adjusted == pytest.approx(0.002 / 4 / math.sqrt(3), rel=1e-12)
    assert load.limit_kg == Decimal("0.002")


def test_a_piece_whose_class_has_no_row_is_refused_under_the_nominal_policy() -> None:
    with pytest.raises(NoTableValue) as refused:
        reference_load(("K01",), {"K01": a_piece("K01", "25")}, NOMINAL)

    assert refused.value.facts == {"weight_class": "M1", "nominal": "25 kg"}


def test_a_piece_without_a_certificate_in_force_is_refused_and_named_once() -> None:
    pieces = some_pieces() | {"K02": a_piece("K02", certificate=None)}

    with pytest.raises(NoReferenceValue) as refused:
        reference_load(("K01", "K02"), pieces, STARTING)

    assert refused.value.facts == {"pieces": "K02"}
    assert reference_load(("K01", "K02"), pieces, NOMINAL).reference_kg == 40


def test_of_a_piece_whose_certificate_has_lapsed_it_is_said_which_ended_when() -> None:
    lapsed = replace(a_piece("K02", certificate=None), lapsed=("LM-1", date(2026, 3, 1)))

    with pytest.raises(NoReferenceValue) as refused:
        reference_load(("K01", "K02"), some_pieces() | {"K02": lapsed}, STARTING)

    assert refused.value.sentence == "No certificate in force that day for K02 (LM-1 ended on 2026-03-01)."


def test_unknown_pieces_are_refused_and_named_under_either_policy() -> None:
    for policy in (STARTING, NOMINAL):
        with pytest.raises(NoReferenceValue) as refused:
            reference_load(("K01", "X9", "X8"), some_pieces(), policy)

        assert refused.value.facts == {"pieces": "X9, X8"}


def test_a_piece_named_twice_in_one_load_is_refused() -> None:
    """Nobody can place one piece twice at once; the load would be counted too heavy (own)."""
    with pytest.raises(NoReferenceValue) as refused:
        reference_load(("K01", "K02", "K01"), some_pieces(), STARTING)

    assert refused.value.facts == {"pieces": "K01"}


def test_no_pieces_are_no_load() -> None:
    assert nominal_sum((), {}) == 0


def test_what_one_piece_brings_is_worked_out_once_and_changes_nothing() -> None:
    pieces, shares = some_pieces(), {}

    with_memory = [reference_load(stack(load), pieces, STARTING, shares) for load in (100, 200, 100)]

    assert with_memory == [reference_load(stack(load), pieces, STARTING) for load in (100, 200, 100)]
    assert set(shares) == set(stack(200))
