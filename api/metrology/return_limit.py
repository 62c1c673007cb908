"""How much the display may have changed at zero once a load is off again.

After half an hour under load the published limits of return to zero hold; after a shorter load NIST HB 44 has its own
rule for the change of the zero-load balance. R 76 has one limit, which is asked for after any load here.
"""

from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT
from api.metrology.refusals import NoTableValue
from api.metrology.scale import Range, Scale
from api.metrology.tolerance import Scheme, Tolerance, tolerance_at

HALF_AN_HOUR: Final = 30
HALF = Decimal("0.5")
# HB 44 section 2.20 T.N.4.5.3, from memory (medium confidence on the 0.83): class III with more than 4 000 intervals.
MANY_INTERVALS: Final = 4_000
MANY = Decimal("0.83")


def return_limit(scale: Scale, in_use: Range, scheme: Scheme, minutes: int | None) -> Tolerance:
    """Return the most that zero may have changed by, in kilograms, after a load that stood for so many minutes.

    R 76-1 3.9.4.2: 0.5 e (multi-interval: of the finest e). HB 44 T.N.4.5.3 after half an hour: 0.5 e, class III with
    more than 4 000 intervals 0.83 e; N.1.9 else: the smallest tolerance. All from memory. Refuses a class for which the
    scheme has no such limit (`NoTableValue`).
    """
    if scheme.name == "hb44":
        return _hb44_limit(scale, in_use, scheme, minutes)
    if scale.accuracy_class == "I":
        raise NoTableValue("R 76-1 3.9.4 has no return to zero for class 'I'.", accuracy_class="I")
    standing_in = "the house rule says nothing of it; as " if scheme.house is not None else ""
    return _in_intervals(HALF, in_use, f"{standing_in}OIML R 76-1:2006 3.9.4.2")


def _hb44_limit(scale: Scale, in_use: Range, scheme: Scheme, minutes: int | None) -> Tolerance:
    document = f"NIST HB 44 ({scheme.edition}) section 2.20"
    if minutes is None or minutes < HALF_AN_HOUR or scale.accuracy_class == "I":
        smallest = tolerance_at(scheme, scale.accuracy_class, in_use, Decimal(0))
        return Tolerance(smallest.kg, smallest.counted, f"{document} N.1.9: the smallest tolerance that applies")
    many = scale.accuracy_class == "III" and in_use.max_kg > MANY_INTERVALS * in_use.e_kg
    return _in_intervals(MANY if many else HALF, in_use, f"{document} T.N.4.5.3")


def _in_intervals(count: Decimal, in_use: Range, source: str) -> Tolerance:
    return Tolerance(EXACT.multiply(count, in_use.e_kg), f"{count:f} e", source)
