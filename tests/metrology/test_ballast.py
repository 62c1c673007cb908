"""How far ballast goes on: the schemes' least weights, the kinds it may stand on, and the uncertainty that ends it."""

import math
from datetime import date
from decimal import Decimal

import pytest

from api.metrology.ballast import Ballast, ballast_for
from api.metrology.plan_steps import PlanFacts
from api.metrology.policy import STARTING
from api.metrology.repeatability import Spread
from api.metrology.terms import Kind
from api.metrology.tolerance import scheme
from tests.metrology.a_case import a_piece, a_range, a_scale


def asked(
    weights: int, most: str = "300", d: str = "0.1", rules: str = "hb44", kind: Kind = "stand-on",
    spread: Spread | None = None,
) -> Ballast:  # fmt: skip
    """Ballast on a scale, after so many kilograms of pieces of 20 and 10 kg and smaller."""
    count, rest = divmod(weights, 20)
    pieces = [*[a_piece(f"T{n:02d}") for n in range(count)], *([a_piece("R", str(rest))] if rest else [])]
    stages = ("maintenance", "acceptance") if rules == "hb44" else ("in-service", "initial")
    found, left = (scheme(rules, stage) for stage in stages)
    facts = PlanFacts("A-01", date(2026, 3, 2), a_scale([a_range(most, d)], kind), "kg", found, left, STARTING, "FS",
                      tuple(pieces), spread=spread)  # fmt: skip
    return ballast_for(facts, [piece.code for piece in pieces], Decimal(weights), Decimal(most))


@pytest.mark.parametrize(("most", "weights", "allowed"), [("300", 150, True), ("300", 149, False), ("150", 140, False)])
def test_hb_44_wants_its_least_weights_before_any_ballast(most: str, weights: int, allowed: bool) -> None:
    """NIST HB 44 2.20 N.3 Table 4, second hand: all of it up to 150 kg; 25 % or 150 kg, the greater, up to 1 500 kg."""
    found = asked(weights, most)

    assert bool(found.exchanges) == allowed
    assert allowed or "of certified weights come first" in (found.ends or "")


@pytest.mark.parametrize(
    ("weights", "words"),
    [(150, "at least one half of Max"), (149, "at most 0.3 e"), (101, "at most 0.3 e"), (100, "at most 0.2 e"),
     (60, "at most 0.2 e"), (59, None)],
)  # fmt: skip
def test_r_76_lets_ballast_stand_for_the_rest_by_the_share_of_real_weights(weights: int, words: str | None) -> None:
    """OIML R 76-1:2006 3.7.3, from memory: one half of Max, one third at 0.3 e, one fifth at 0.2 e."""
    found = asked(weights, rules="r76")

    assert words is None or words in found.rule
    assert (words is None) == ("less than one fifth" in (found.ends or ""))


@pytest.mark.parametrize("kind", ["chair", "bed", "sling", "infant"])
def test_no_ballast_stands_where_a_person_sits_lies_or_hangs(kind: Kind) -> None:
    assert asked(200, kind=kind).exchanges == ()


def test_the_load_of_an_exchange_is_known_as_two_more_readings_leave_it() -> None:
    """GUM 5.1.2: two readings of d = 0.1 kg, each d / (2 sqrt 3), and the pieces' errors added: k = 2, by hand.

    Pieces: ten of U 0.3 g, so u 1.5 g, times 300/200; drift U / sqrt 3 each, 1.73 g, the same; buoyancy bound of M1:
    (0.1 x 1.2 / 8000 x 300 kg + 15 x 1 g / 4) / sqrt 3 = 4.8 g.
    """
    (exchange,) = asked(200).exchanges
    u = math.hypot(math.sqrt(2) * 0.1 / math.sqrt(12), 0.0015 * 1.5, 0.003 / math.sqrt(3) * 1.5, 0.00476)

    assert float(exchange.expanded_kg) == pytest.approx(2 * u, abs=0.0005)


def test_exchanges_end_where_the_load_is_known_to_half_the_tolerance_no_more() -> None:
    """450 kg x 0.1 kg, class III, HB 44: 3 d up to 400 kg, 5 d above; 150 kg of pieces and s = 0.05 kg.

    One exchange (300 kg): 2 sqrt 2 sqrt(0.0289^2 + 0.05^2) = 0.163 kg, above half of 0.3 kg.
    """
    assert [f"{e.step.reaches_kg:f}" for e in asked(150, "450").exchanges] == ["300", "450"]
    worse = asked(150, "450", spread=Spread(0.05, 9, "held for the device"))

    assert worse.exchanges == ()
    assert "more than half the tolerance" in (worse.ends or "")


def test_where_the_pieces_reach_the_top_nothing_is_said_of_ballast() -> None:
    assert asked(300) == Ballast()
