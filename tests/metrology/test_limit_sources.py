"""Where a test's limit comes from: document, edition and clause, for each scheme."""

from decimal import Decimal

import pytest

from api.metrology.judging import judge
from api.metrology.limit_sources import limit_source
from api.metrology.tolerance import HouseTerm, HouseTolerance, scheme
from tests.metrology.loads_placed import a_case, a_submission, sound_readings

HB44, R76 = scheme("hb44", "maintenance"), scheme("r76", "in-service")
HOUSE = scheme("house", "house", house=HouseTolerance("H-1", (HouseTerm(Decimal(1)),), "larger", "ward agreement"))


@pytest.mark.parametrize(
    ("test", "hb44", "r76"),
    [
        ("creep", "T.N.4.5.1", "3.9.4.1"),
        ("tare", "T.N.2.1", "3.5.3.3"),
        ("rolling load", "T.N.3.1", "3.6.2.4"),
    ],
)
def test_a_limit_names_document_edition_and_clause(test: str, hb44: str, r76: str) -> None:
    """Clauses as in NIST HB 44 section 2.20 and OIML R 76-1:2006, from memory."""
    assert limit_source(test, HB44).startswith(f"NIST HB 44 (2026) section 2.20 {hb44}")
    assert limit_source(test, R76).startswith(f"OIML R 76-1:2006 {r76}")


def test_a_house_rule_says_which_rule_stands_in() -> None:
    assert limit_source("creep", HOUSE).startswith("the house rule says nothing of it; as OIML R 76-1:2006 3.9.4.1")


def test_every_test_with_a_limit_of_its_own_says_where_it_comes_from() -> None:
    found = judge(a_case(a_submission(sound_readings()))).as_found

    assert found is not None
    limited = [test for test in found.tests if test.limit_kg is not None]
    assert [test.test for test in limited] == ["zero", "eccentricity", "repeatability"]
    assert all("NIST HB 44" in test.limit_source for test in limited)
