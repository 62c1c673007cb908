"""What a rule says of itself, and what is said where it refuses: sentences, facts and sources, word for word.

A technician acts on the sentence, a program on the facts; both are part of the contract. No source but the project's own.
"""

import math
from decimal import Decimal
from typing import Any

import pytest

from api.metrology.budget import Contribution
from api.metrology.decision import GUARDED_ACCEPTANCE, decide
from api.metrology.refusals import BadRule, EmptyAcceptanceZone, NoTableValue, Refusal
from api.metrology.scale import Range
from api.metrology.tolerance import HouseTerm, HouseTolerance, scheme, tolerance_at
from api.metrology.uncertainty import budget_of, effective_degrees_of_freedom

TEN_GRAMS = Range("kg", Decimal(200), Decimal("0.01"), Decimal("0.01"))
ONE_PERCENT = HouseTolerance("H-1", (HouseTerm(percent=Decimal(1)),), "larger", "our own")


def said(refusal: Refusal) -> tuple[str, dict[str, str]]:
    return refusal.sentence, refusal.facts


@pytest.mark.parametrize(
    ("name", "stage", "edition", "sentence", "facts"),
    [
        ("hb44", "initial", None, "hb44 has no stage 'initial'; accepted: maintenance, acceptance.",
         {"found": "initial", "accepted": "maintenance, acceptance"}),
        ("house", "house", None, "A house tolerance needs its rule, with one term at least.", {"found": "house"}),
        ("r76", "initial", "1066", "r76 edition '1066' is not held; accepted: 2006.", {"found": "1066"}),
    ],
)  # fmt: skip
def test_a_rule_that_is_not_complete_says_what_would_be_accepted(
    name: Any, stage: Any, edition: str | None, sentence: str, facts: dict[str, str]
) -> None:
    with pytest.raises(BadRule) as refused:
        scheme(name, stage, edition)

    assert said(refused.value) == (sentence, facts)


def test_the_newest_edition_stands_where_none_is_named() -> None:
    assert (scheme("hb44", "maintenance").edition, scheme("r76", "initial", "2006").edition) == ("2026", "2006")


def test_a_house_rule_is_its_own_edition_unless_one_is_named() -> None:
    unnamed, named = (scheme("house", "house", edition, ONE_PERCENT) for edition in (None, "second"))

    assert (unnamed.name, unnamed.edition, named.edition) == ("house", "H-1", "second")


def test_a_class_without_a_row_is_named_beside_the_classes_that_have_one() -> None:
    with pytest.raises(NoTableValue) as refused:
        tolerance_at(scheme("r76", "initial"), "IIIL", TEN_GRAMS, Decimal(1))

    assert said(refused.value) == (
        "r76 has no tolerance for class 'IIIL'; it has I, II, III, IIII.",
        {"accuracy_class": "IIIL"},
    )


def test_a_load_beyond_the_table_is_named_beside_the_tables_end() -> None:
    with pytest.raises(NoTableValue) as refused:
        tolerance_at(scheme("r76", "initial"), "III", TEN_GRAMS, Decimal("100.01"))

    assert said(refused.value) == (
        "R 76-1 Table 6 ends at 10000 e for this class; the load is above it.",
        {"last_row": "10000 e", "load": "100.01 kg"},
    )


def test_a_house_tolerance_says_its_term_its_code_and_its_source() -> None:
    found = tolerance_at(scheme("house", "house", house=ONE_PERCENT), "none", TEN_GRAMS, Decimal(50))

    assert (found.counted, found.source) == ("1 % of the load", "house rule H-1: our own")


def test_a_term_of_a_house_rule_that_says_nothing_is_refused() -> None:
    empty = scheme("house", "house", house=HouseTolerance("H-1", (HouseTerm(),), "larger", "our own"))

    with pytest.raises(BadRule, match=r"^A term of a house rule says percent, mass or divisions\.$"):
        tolerance_at(empty, "none", TEN_GRAMS, Decimal(1))


def test_a_guard_band_that_leaves_nothing_says_what_would_narrow_it() -> None:
    with pytest.raises(EmptyAcceptanceZone) as refused:
        decide(Decimal(0), Decimal("0.1"), Decimal("0.12"), GUARDED_ACCEPTANCE)

    assert said(refused.value) == (
        "The guard band of 0.12 kg is wider than the tolerance of 0.1 kg; more repeats, finer readings or better weights "
        "would narrow it.",
        {"guard_band": "0.12 kg", "tolerance": "0.1 kg"},
    )


def test_a_budget_says_the_probability_its_coverage_factor_is_for() -> None:
    part = Contribution("rounding", 1.0, "rectangular", "own")

    assert [budget_of([part], p).probability for p in (0.95, 0.9545)] == [0.95, 0.9545]


def test_nothing_limits_the_degrees_of_freedom_of_no_uncertainty() -> None:
    few = Contribution("repeatability", 0.0, "t", "own", degrees_of_freedom=4)

    assert effective_degrees_of_freedom([few], 0.0) == math.inf


def test_the_degrees_of_freedom_of_a_unit_uncertainty_are_its_own() -> None:
    """GUM (JCGM 100:2008) G.2b with one contribution is that contribution's own nu."""
    few = Contribution("repeatability", 1.0, "t", "own", degrees_of_freedom=4)

    assert effective_degrees_of_freedom([few], 1.0) == 4
