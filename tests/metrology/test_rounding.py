"""The rounding of printed uncertainties and probabilities."""

from decimal import ROUND_HALF_EVEN, Context, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.rounding import printed_probability, printed_uncertainty, rounded_like

uncertainties = st.floats(1e-12, 1e9)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (193.986764, "190"), (163.949599, "160"), (0.3500873622, "0.35"), (0.00043137280, "0.00043"),
        (58.5234996, "59"), (0.0996, "0.10"), (0.00995, "0.010"), (99.6, "100"), (9.96, "10"), (0.1, "0.10"),
        (2.0, "2.0"), (1e-7, "0.00000010"), (12345.6, "12000"),
    ],
)  # fmt: skip
def test_an_uncertainty_is_printed_with_two_digits_and_its_zeros(value: float, text: str) -> None:
    assert f"{printed_uncertainty(value):f}" == text


@pytest.mark.parametrize(
    ("value", "text"), [(0.125, "0.12"), (0.135, "0.14"), (12.5, "12"), (13.5, "14"), (0.0115, "0.012")]
)
def test_a_tie_goes_to_the_even_digit(value: float, text: str) -> None:
    assert f"{printed_uncertainty(value):f}" == text


def test_no_uncertainty_is_printed_as_0() -> None:
    assert str(printed_uncertainty(0.0)) == "0"


def test_the_number_of_digits_may_be_asked_for() -> None:
    assert [str(printed_uncertainty(193.986764, digits)) for digits in (1, 3)] == ["200", "194"]


@given(uncertainties)
def test_a_printed_uncertainty_is_what_a_decimal_context_of_two_digits_gives(value: float) -> None:
    by_context = Context(prec=2, rounding=ROUND_HALF_EVEN).create_decimal(repr(value))

    assert printed_uncertainty(value) == by_context


@given(uncertainties)
def test_rounding_loses_less_than_five_per_cent(value: float) -> None:
    """GUM (JCGM 100:2008) 7.2.6 leaves rounding up to judgement; two digits can lose at most 1 part in 21."""
    printed = float(printed_uncertainty(value))

    assert abs(printed - value) <= value / 20


@given(uncertainties)
def test_a_printed_uncertainty_prints_the_same_again(value: float) -> None:
    printed = printed_uncertainty(value)

    assert printed_uncertainty(float(printed)) == printed
    assert len(printed.as_tuple().digits) >= 2


@given(uncertainties, uncertainties)
def test_rounding_never_turns_two_uncertainties_round(one: float, other: float) -> None:
    smaller, larger = sorted([one, other])

    assert printed_uncertainty(smaller) <= printed_uncertainty(larger)


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.8885482, "0.8885"), (0.9772499, "0.9772"), (0.5, "0.5000"), (1.0, "1.0000"), (0.0, "0.0000"),
     (0.99994, ">0.9999"), (1 - 1e-16, ">0.9999"), (1e-300, "<0.0001"), (0.0001, "0.0001"), (0.9999, "0.9999")],
)  # fmt: skip
def test_a_probability_is_printed_with_four_decimals_and_no_certainty_it_lacks(value: float, text: str) -> None:
    assert printed_probability(value) == text


@pytest.mark.parametrize(
    ("value", "beside", "text"),
    [
        (0.0449, "0.10", "0.04"), (0.045, "0.10", "0.04"), (0.055, "0.10", "0.06"), (-0.02, "0.10", "-0.02"),
        (12.3, "190", "12"), (-0.0004, "0.10", "0.00"), (0.2, "0", "0"),
    ],
)  # fmt: skip
def test_a_value_gets_the_decimals_of_the_uncertainty_beside_it(value: float, beside: str, text: str) -> None:
    """GUM (JCGM 100:2008) 7.2.6: an estimate is given to the decimals of its uncertainty."""
    assert f"{rounded_like(value, Decimal(beside)):f}" == text
