"""Masses: exact conversion, the text kept as shown, and what is refused."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.mass import KILOGRAMS_PER, Mass, compound, decimal_from, kilograms, mass
from api.metrology.refusals import NotAMass, UnknownUnit

EXAMPLE = json.loads((Path(__file__).parents[1] / "worked_examples" / "units.json").read_text())
SOURCE = "NIST HB 44 Appendix C"

texts = st.from_regex(r"-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,9})?", fullmatch=True, alphabet=st.characters(codec="ascii"))
units = st.sampled_from(sorted(KILOGRAMS_PER))


@pytest.mark.parametrize("case", EXAMPLE["masses"], ids=lambda c: f"{c['value']} {c['unit']}, {SOURCE}")
def test_a_mass_has_its_published_value_in_kilograms(case: dict[str, str]) -> None:
    found = mass(case["value"], case["unit"])

    assert found.kg == Decimal(case["kg"])


@pytest.mark.parametrize("case", EXAMPLE["compound"], ids=lambda c: f"{c['value']} {c['unit']}, {SOURCE}")
def test_a_compound_display_counts_in_its_smallest_unit(case: dict[str, list[list[str]]]) -> None:
    parts = tuple((Decimal(value), unit) for value, unit in case["parts"])

    found = compound(parts)

    assert (found.value, found.unit) == (Decimal(str(case["value"])), case["unit"])


def test_the_last_zero_of_a_display_is_kept() -> None:
    assert mass("10.10", "kg").shown == "10.10 kg"
    assert mass("250", "[lb_av]").shown == "250 lb"


def test_a_compound_display_is_shown_as_its_parts() -> None:
    found = compound(((Decimal(7), "[lb_av]"), (Decimal("4.5"), "[oz_av]")))

    assert found.shown == "7 lb 4.5 oz"


@given(texts, units)
def test_every_written_digit_is_kept(text: str, unit: str) -> None:
    assert mass(text, unit).shown.split()[0] == text


@given(texts, units)
def test_a_conversion_to_kilograms_is_exact(text: str, unit: str) -> None:
    found = mass(text, unit)

    assert Fraction(found.kg) == Fraction(text) * Fraction(KILOGRAMS_PER[unit])


@given(st.integers(0, 999), st.integers(0, 13), st.decimals(0, 15, places=9))
def test_a_compound_of_any_length_is_exact(stones: int, pounds: int, ounces: Decimal) -> None:
    found = compound(((Decimal(stones), "[stone_av]"), (Decimal(pounds), "[lb_av]"), (ounces, "[oz_av]")))

    assert Fraction(found.value) == stones * 224 + pounds * 16 + Fraction(ounces)


@pytest.mark.parametrize(
    "text",
    ["", " 1", "1 ", "+1", "1e3", "1E3", "1,5", ".5", "1.", "--1", "1_000", "NaN", "Infinity", "0x1", "1\n",
     "\uff11", "\u0663", "\u00bd", "1234567890", "1.1234567890"],
)  # fmt: skip
def test_text_that_is_not_a_plain_decimal_number_is_refused(text: str) -> None:
    with pytest.raises(NotAMass) as refused:
        decimal_from(text)

    assert refused.value.code == "not-a-mass"
    assert "10.10" in refused.value.sentence


@pytest.mark.parametrize(
    ("written", "meant"),
    [("lb", "[lb_av]"), ("lbs", "[lb_av]"), ("oz", "[oz_av]"), ("st", "[stone_av]"), ("KG", "kg"), ("gr", "g")],
)
def test_a_unit_written_another_way_is_refused_with_a_hint(written: str, meant: str) -> None:
    with pytest.raises(UnknownUnit) as refused:
        mass("1", written)

    assert f"Did you mean {meant}?" in refused.value.sentence


def test_a_unit_nobody_uses_is_refused_without_a_hint() -> None:
    with pytest.raises(UnknownUnit) as refused:
        mass("1", "firkin")

    assert "Did you mean" not in refused.value.sentence
    assert "[stone_av]" in refused.value.sentence


@pytest.mark.parametrize(
    "parts",
    [
        (("7", "[lb_av]"),),
        (("4.5", "[oz_av]"), ("7", "[lb_av]")),
        (("7", "[lb_av]"), ("4", "[lb_av]")),
    ],
    ids=["one part", "smaller unit first", "the same unit twice"],
)
def test_parts_that_do_not_descend_are_refused(parts: tuple[tuple[str, str], ...]) -> None:
    with pytest.raises(NotAMass, match="from the larger unit to the smaller"):
        compound(tuple((Decimal(value), unit) for value, unit in parts))


def test_parts_of_two_systems_are_refused() -> None:
    with pytest.raises(NotAMass, match="one system"):
        compound(((Decimal(1), "kg"), (Decimal(1), "[lb_av]")))


@pytest.mark.parametrize("pounds", ["-7", "-0"])
def test_parts_of_different_signs_are_refused(pounds: str) -> None:
    with pytest.raises(NotAMass, match="different signs"):
        compound(((Decimal(pounds), "[lb_av]"), (Decimal("4.5"), "[oz_av]")))


def test_a_negative_compound_carries_its_sign_on_every_part() -> None:
    found = compound(((Decimal(-7), "[lb_av]"), (Decimal("-4.5"), "[oz_av]")))

    assert found.value == Decimal("-116.5")


def test_kilograms_need_no_conversion() -> None:
    assert kilograms(Decimal("20.0007")) == Mass(Decimal("20.0007"), "kg")
