"""An owner's own rule on the register: terms for loads from here to there."""

from decimal import Decimal

from api.metrology.mass import mass
from api.metrology.tolerance import HouseTerm
from api.records.documents import document_of, record_from
from api.records.house_rule import HouseRule, HouseRuleTerm

RULE = HouseRule(
    "H-2",
    (
        HouseRuleTerm(mass=mass("0.5", "[oz_av]"), up_to=mass("15", "[lb_av]")),
        HouseRuleTerm(percent=Decimal("0.5"), above=mass("15", "[lb_av]")),
    ),
    "ward agreement",
)


def test_bounds_in_any_unit_become_exact_kilograms() -> None:
    """15 lb are 6.80388555 kg, half an ounce 0.0141747615625 kg (NIST HB 44 Appendix C)."""
    first, second = RULE.as_tolerance().terms

    assert first == HouseTerm(mass_kg=Decimal("0.0141747615625"), up_to_kg=Decimal("6.80388555"))
    assert second == HouseTerm(percent=Decimal("0.5"), above_kg=Decimal("6.80388555"))


def test_a_rule_stored_comes_back_as_it_was() -> None:
    assert record_from(HouseRule, document_of(RULE)) == RULE


def test_a_rule_from_before_there_were_bounds_holds_at_every_load() -> None:
    old = record_from(HouseRule, {"code": "H-1", "terms": [{"percent": "1"}], "source": "ours"})

    assert old.as_tolerance().terms == (HouseTerm(percent=Decimal(1)),)
