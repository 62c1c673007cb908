"""How an invented scale was left, for tests of a weighing in use: 200 kg x 0.1 kg unless said otherwise."""

import math
from decimal import Decimal

from api.metrology.contributions import Corners
from api.metrology.error_line import ErrorAtLoad, error_line
from api.metrology.repeatability import Spread
from api.metrology.scale import Range
from api.metrology.weighing_in_use import Behaviour

SINGLE = (Range("kg", Decimal(200), Decimal("0.1"), Decimal("0.1")),)
TWO_INTERVALS = (
    Range("kg", Decimal(150), Decimal("0.05"), Decimal("0.05")),
    Range("kg", Decimal(250), Decimal("0.10"), Decimal("0.10")),
)


def a_behaviour(
    slope: float = 0.0005,
    s_kg: float = 0.03,
    corner_kg: str | None = "0.1",
    ranges: tuple[Range, ...] = SINGLE,
    degrees: float = math.inf,
    u_kg: float = 0.06,
) -> Behaviour:
    """Return a scale with a straight error line through zero, measured at four loads."""
    points = [ErrorAtLoad(load, slope * load, u_kg, math.inf) for load in (50, 100, 150, 200)]
    corners = Corners(Decimal(corner_kg), Decimal(60)) if corner_kg else None
    return Behaviour(ranges, Spread(s_kg, degrees, "the test"), corners, error_line(points))
