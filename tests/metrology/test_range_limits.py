"""How far results of one load may lie apart, and where that comes from.

NIST HB 44 section 2.20 T.N.3.2, T.N.4.4 and T.N.5, OIML R 76-1:2006 3.6.1 and 3.6.2, from memory (high confidence).
"""

from decimal import Decimal
from itertools import product
from typing import get_args

import pytest

from api.metrology.range_limits import RangeTest, range_limit, range_rule
from api.metrology.terms import SchemeName
from api.metrology.tolerance import HouseTerm, HouseTolerance, Scheme, Tolerance, scheme

HOUSE = HouseTolerance("HR-1", (HouseTerm(divisions=Decimal(2)),), "larger", "ward agreement")
WIDE, NARROW = (Tolerance(Decimal(kg), counted, "a source") for kg, counted in (("0.3", "3 e"), ("0.2", "2 e")))


def a_scheme(name: SchemeName) -> Scheme:
    return {"hb44": scheme("hb44", "maintenance"), "r76": scheme("r76", "initial"),
            "house": scheme("house", "house", house=HOUSE)}[name]  # fmt: skip


def test_the_narrowest_tolerance_of_the_results_limits_their_range() -> None:
    assert range_limit("repeatability", [WIDE, NARROW, WIDE], a_scheme("hb44")) == (Decimal("0.2"), "2 e")


def test_by_acceptance_the_range_is_limited_by_twice_the_tolerance_which_is_maintenance() -> None:
    limit, counted = range_limit("eccentricity", [NARROW], scheme("hb44", "acceptance"))

    assert limit == Decimal("0.4")
    assert counted == "2 x 2 e, since acceptance is one half of maintenance (T.N.3.2)"


@pytest.mark.parametrize(("name", "limit"), [("hb44", Decimal("0.2")), ("r76", None), ("house", None)])
def test_only_hb44_limits_the_range_of_corners(name: SchemeName, limit: Decimal | None) -> None:
    assert range_limit("eccentricity", [NARROW], a_scheme(name))[0] == limit


def test_a_result_without_a_tolerance_leaves_the_range_without_a_limit() -> None:
    assert range_limit("repeatability", [NARROW, None], a_scheme("hb44")) == (None, "")


def test_every_test_of_every_scheme_names_a_clause_or_a_house_choice() -> None:
    clauses = {"eccentricity": {"hb44": "T.N.4.4", "r76": "3.6.2"}, "repeatability": {"hb44": "T.N.5", "r76": "3.6.1"}}

    for test, name in product(get_args(RangeTest), get_args(SchemeName)):
        assert clauses[test].get(name, "house choice") in range_rule(test, a_scheme(name))
