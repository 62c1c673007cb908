"""Lifting: NIOSH's limit against the figures of the job's own description, and lifts counted piece by piece."""

from decimal import Decimal
from typing import get_args

import pytest

from api.metrology.lifting import (
    BED_CENTRE,
    FLOOR_PLATFORM,
    SITUATION_OF,
    Placement,
    Situation,
    lifting_index,
    moves_of,
    recommended_limit,
)
from api.metrology.terms import Kind

TWENTIES = [f"T{n:02d}" for n in range(1, 14)]
NOMINAL = {**dict.fromkeys(TWENTIES, Decimal(20)), "TEN": Decimal(10), "FIVE": Decimal(5)}


def twenties(count: int, *more: str, at: str = "centre") -> Placement:
    return Placement((*TWENTIES[:count], *more), at)


# Worked with the published formula by hand, F = 0.94: from a trolley of 70 cm to a platform of 8 cm, H 30 cm; centre of a
# bed, H 50 cm, 30 degrees of twist. The same figures stand behind the 1.6 to 2.1 of caution C-07.
@pytest.mark.parametrize(
    ("situation", "kind", "limit", "index_20", "index_10"),
    [(FLOOR_PLATFORM, "stand-on", 12.8, 1.56, 0.78), (BED_CENTRE, "bed", 9.6, 2.08, 1.04)],
)
def test_the_limit_and_the_index_are_the_published_ones(
    situation: Situation, kind: Kind, limit: float, index_20: float, index_10: float
) -> None:
    assert recommended_limit(situation) == pytest.approx(limit, abs=0.05)
    assert lifting_index(Decimal(20), kind).index == pytest.approx(index_20, abs=0.005)
    assert lifting_index(Decimal(10), kind).index == pytest.approx(index_10, abs=0.005)


def test_the_load_constant_is_the_limit_of_the_ideal_lift() -> None:
    # DHHS 94-110: with every multiplier at 1 the limit is 23 kg (51 lb).
    ideal = Situation("ideal", 25, 75, 75, 0, "DHHS 94-110")

    assert recommended_limit(ideal, frequency=1.0) == pytest.approx(23.0)


@pytest.mark.parametrize(
    "beyond",
    [
        Situation("far", 64, 75, 75, 0, "-"),
        Situation("high", 25, 75, 176, 0, "-"),
        Situation("round", 25, 75, 75, 136, "-"),
    ],
)
def test_beyond_the_ends_of_a_multiplier_nothing_may_be_lifted(beyond: Situation) -> None:
    assert recommended_limit(beyond) == 0.0


def test_nearer_than_the_near_ends_the_limit_grows_no_more() -> None:
    at_end, nearer = Situation("a", 25, 75, 100, 0, "-"), Situation("b", 20, 75, 90, 0, "-")

    # At 25 cm of travel and of reach both multipliers are 1; only the height differs: 25 and 15 cm from 75 cm.
    assert recommended_limit(nearer) / recommended_limit(at_end) == pytest.approx((1 - 0.045) / (1 - 0.075))


def test_every_kind_has_a_situation() -> None:
    assert set(SITUATION_OF) == set(get_args(Kind))


def test_a_step_that_adds_lifts_only_what_is_added() -> None:
    moves = moves_of([twenties(1), twenties(3)], NOMINAL)

    assert (moves.lifts, moves.kg) == (6, Decimal(120))


def test_a_piece_exchanged_is_two_lifts() -> None:
    # 20 kg on; 20 off, 10 on; 10 off.
    assert moves_of([twenties(1), Placement(("TEN",))], NOMINAL).lifts == 4


def test_a_load_shifted_to_the_next_position_is_one_lift_a_piece() -> None:
    moves = moves_of([twenties(4, at="front left"), twenties(4, at="front right")], NOMINAL)

    assert (moves.lifts, moves.kg) == (12, Decimal(240))


def test_weighing_the_same_load_again_takes_it_off_in_between() -> None:
    assert moves_of([twenties(5), Placement(()), twenties(5)], NOMINAL).lifts == 20


def test_a_full_test_of_250_kg_is_near_the_figure_of_the_caution() -> None:
    # The caution's figure was "83 lifts, 1,667 kg moved" for 250 kg with 20 kg pieces, its sequence not told. 1,667 kg are
    # twenty times a third of 250 kg: as 250 kg up and down, a third at five positions, and half of it three times on and off.
    third = [twenties(4, at=at) for at in ("centre", "front left", "front right", "back left", "back right")]
    half = [twenties(6, "FIVE"), Placement(())] * 3
    up = [twenties(1), twenties(2, "TEN"), twenties(5), twenties(7, "TEN"), twenties(10), twenties(12, "TEN")]

    moves = moves_of([*up, Placement(()), *third, Placement(()), *half], NOMINAL)

    # Real pieces take 13 lifts more than kilograms divided by 20: the 10 kg piece is exchanged on the way up (5), the third
    # comes off again after its last position (3), and each half has a piece of 5 kg beside the six of 20 kg (5).
    assert moves.lifts == 96
    assert moves.kg == Decimal(1770)
