"""The load of the corners against HB 44 2.20 N.1.3 (30 to 35 % of capacity) and R 76-1 3.6.2, and under a cap."""

from decimal import Decimal

from api.metrology.eccentric_load import EccentricLoad, eccentric_load
from api.metrology.scale import Scale
from api.metrology.tolerance import scheme
from tests.metrology.a_case import a_range, a_scale

HB44, R76 = scheme("hb44", "maintenance"), scheme("r76", "in-service")


def the_load(
    scale: Scale | None = None, rules: object = HB44, limit: str = "999", cap: str | None = None
) -> EccentricLoad:
    return eccentric_load(scale or a_scale(), rules, "kg", Decimal(limit), Decimal(cap) if cap else None)


def test_hb_44_takes_30_to_35_percent_of_capacity() -> None:
    """300 kg: 90 to 105 kg; 80 kg would not be a valid shift test."""
    load = the_load()

    assert (load.least_kg, load.most_kg) == (90, 105)


def test_r_76_takes_a_share_by_the_supports_above_four() -> None:
    """Six cells: 300 / (6 - 1) = 60 kg on each."""
    assert the_load(a_scale(supports=6), R76).kg == 60
    assert the_load(rules=R76).least_kg == 90


def test_a_cap_below_the_share_is_kept_and_said() -> None:
    load = the_load(a_scale([a_range("250", "0.1")]), cap="60")

    assert (load.kg, load.most_kg) == (60, 60)
    assert "no more than 60 kg is safe" in load.words
    assert round(load.share, 2) == 0.24


def test_a_limit_within_the_share_is_never_exceeded() -> None:
    load = the_load(limit="95")

    assert (load.least_kg, load.kg, load.most_kg) == (90, 95, 95)
