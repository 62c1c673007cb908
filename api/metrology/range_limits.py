"""How far the results of one load may lie apart, in eccentricity and repeatability: the limit of each scheme, its source.

Clauses of NIST HB 44 section 2.20 and OIML R 76-1:2006 from memory (high confidence).
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Final, Literal

from api.metrology.terms import SchemeName
from api.metrology.tolerance import Scheme, Tolerance

RangeTest = Literal["eccentricity", "repeatability"]

_RULES: Final[dict[tuple[RangeTest, SchemeName], str]] = {
    ("eccentricity", "hb44"): "NIST HB 44 section 2.20 T.N.4.4: the range of the results is at most the maintenance "
    "tolerance, each result within the tolerance that applies; from memory",
    ("repeatability", "hb44"): "NIST HB 44 section 2.20 T.N.5: weighings of one load agree within the maintenance "
    "tolerance, each within the tolerance that applies; from memory",
    (
        "eccentricity",
        "r76",
    ): "OIML R 76-1:2006 3.6.2: each result is within the maximum permissible error, their range has "
    "no limit of its own; from memory",
    (
        "repeatability",
        "r76",
    ): "OIML R 76-1:2006 3.6.1: the range of the results is at most the maximum permissible error at "
    "that load; from memory",
    (
        "eccentricity",
        "house",
    ): "house choice: each result is within the house tolerance, their range has no limit of its "
    "own, as in OIML R 76-1:2006 3.6.2; from memory",
    (
        "repeatability",
        "house",
    ): "house choice: the range of the results is at most the house tolerance at that load, as in "
    "OIML R 76-1:2006 3.6.1; from memory",
}


def range_rule(test: RangeTest, scheme: Scheme) -> str:
    """Return the rule of a scheme on the range of the results of one load, with its source."""
    return _RULES[test, scheme.name]


def range_limit(test: RangeTest, tolerances: Sequence[Tolerance | None], scheme: Scheme) -> tuple[Decimal | None, str]:
    """Return the limit of the range in kilograms and what it is counted in; None where there is none.

    There is none where the scheme sets none, or where a result has no tolerance. HB 44 limits ranges by the maintenance
    tolerance (T.N.4.4, T.N.5), whatever tolerance applies to the results.
    """
    known = [tolerance for tolerance in tolerances if tolerance is not None]
    if len(known) < len(tolerances) or (test == "eccentricity" and scheme.name != "hb44"):
        return None, ""
    least = min(known, key=lambda tolerance: tolerance.kg)
    if scheme.stage != "acceptance":
        return least.kg, least.counted
    return least.kg * 2, f"2 x {least.counted}, since acceptance is one half of maintenance (T.N.3.2)"
