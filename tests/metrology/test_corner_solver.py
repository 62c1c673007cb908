"""The corner solver: numpy beside it, a seeded simulation of its covariance, and scales of which the truth is known."""

import math
from decimal import Decimal
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.budget import Budget, Contribution
from api.metrology.corner_solver import CornerReading, CornersSolved, predicted, solve_corners
from api.metrology.load_distributions import LYING_BODY, SEATED, TWO_FEET, WHEELCHAIR, Distribution
from api.metrology.load_places import place_on, share_of, supports_of
from api.metrology.refusals import GeometryCannotTell
from api.metrology.terms import Kind, Position
from api.metrology.uncertainty import budget_of

QUARTERS: tuple[Position, ...] = ("centre", "front left", "front right", "back left", "back right")
LYING: tuple[Position, ...] = ("centre", "head left", "head right", "foot left", "foot right")
CROSS: tuple[Position, ...] = ("centre", "front", "back", "left", "right")
LOAD = Decimal(60)


def of_one(u: float = 0.05) -> Budget:
    """The budget of one reading, with a single line of it."""
    return budget_of([Contribution("all of it", u, "normal", "the test")])


def errors_of(
    sensitivities: dict[str, float], positions: tuple[Position, ...] = QUARTERS, kind: Kind = "stand-on"
) -> list[CornerReading]:
    """Return what a scale of known supports would read, rounded to a nanogram."""
    read = []
    for position in positions:
        place = place_on(kind, position)
        assert place is not None
        share = {name: share_of(at, place) for name, at in supports_of(kind, numbered=False)}
        error = float(LOAD) * sum(share[name] * value for name, value in sensitivities.items())
        read.append(CornerReading(position, Decimal(f"{error:.12f}")))
    return read


def solved(readings: list[CornerReading], kind: Kind = "stand-on", u: float = 0.05) -> CornersSolved:
    return solve_corners(kind, 4, LOAD, readings, of_one(u))


@pytest.mark.parametrize("position", QUARTERS[1:])
@pytest.mark.parametrize("off", [0.012, -0.02, 0.05])
def test_a_single_support_that_is_off_is_found_by_as_much_as_it_is_off(position: Position, off: float) -> None:
    found = solved(errors_of({position: off}))

    (support,) = (s for s in found.supports if s.name == position)
    assert support.against_the_others == pytest.approx(off, abs=1e-12)
    assert support.deviation == pytest.approx(off * 3 / 4, abs=1e-12)
    assert support.seen == ("reads heavy" if off > 0 else "reads light")
    assert (found.finding, found.named) == ("one support", (position,))
    (alone,) = found.explanations
    assert alone.off == pytest.approx(off, abs=1e-12)
    assert alone.expanded < support.against_the_others_expanded  # it takes the others as alike, which tells more


@pytest.mark.parametrize("off", [Decimal("0.5"), Decimal("-0.8"), Decimal("1.1")])
def test_a_single_support_is_found_within_what_the_rounding_of_the_display_allows(off: Decimal) -> None:
    d = Decimal("0.1")
    exact = errors_of({"back right": float(off) / float(LOAD)})
    shown = [CornerReading(r.position, (r.error_kg / d).quantize(Decimal(1)) * d) for r in exact]

    found = solved(shown, u=float(d) / math.sqrt(12))

    (support,) = (s for s in found.supports if s.name == "back right")
    # Worst case of five readings, each half a division wrong: the sum of the solution's coefficients times d / 2.
    names = [name for name, _ in supports_of("stand-on", numbered=False)]
    rows = np.array(
        [
            [share_of(at, place_on("stand-on", p) or (0, 0)) for _, at in supports_of("stand-on", False)]
            for p in QUARTERS
        ]
    )
    solution = np.linalg.pinv(rows)
    here = names.index("back right")
    against = solution[here] - np.delete(solution, here, axis=0).mean(axis=0)
    assert (
        abs(support.against_the_others - float(off) / float(LOAD)) <= np.abs(against).sum() * 0.05 / float(LOAD) + 1e-12
    )


def test_a_perfect_scale_has_no_deviations() -> None:
    found = solved([CornerReading(position, Decimal("0.0")) for position in QUARTERS])

    assert [s.deviation for s in found.supports] == [0.0] * 4
    assert {s.seen for s in found.supports} == {"cannot say"}
    assert (found.finding, found.named, found.mean, found.chi_square) == ("none seen", (), 0.0, 0.0)


@given(st.decimals("-2", "2", places=2))
def test_an_error_that_is_the_same_everywhere_is_the_mean_and_no_support_s(error: Decimal) -> None:
    found = solved([CornerReading(position, error) for position in QUARTERS])

    assert found.mean == pytest.approx(float(error / LOAD), abs=1e-14)
    assert all(abs(s.deviation) < 1e-13 for s in found.supports)
    assert found.finding == "none seen"


@given(st.lists(st.decimals("-1", "1", places=2), min_size=5, max_size=5), st.integers(0, 10**6))
def test_the_order_of_the_readings_changes_nothing(errors: list[Decimal], seed: int) -> None:
    readings = [CornerReading(position, error) for position, error in zip(QUARTERS, errors, strict=True)]
    shuffled = Random(seed).sample(readings, len(readings))

    first, second = solved(readings), solved(shuffled)

    for one, other in zip(first.supports, second.supports, strict=True):
        assert one.deviation == pytest.approx(other.deviation, abs=1e-13)
        assert one.standard_uncertainty == pytest.approx(other.standard_uncertainty, rel=1e-10)
    assert first.chi_square == pytest.approx(second.chi_square, rel=1e-8, abs=1e-9)


@given(st.lists(st.decimals("-1", "1", places=2), min_size=5, max_size=5), st.sampled_from(["1000", "2.2046"]))
def test_the_unit_of_readings_and_load_changes_nothing(errors: list[Decimal], factor: str) -> None:
    scale = Decimal(factor)
    here = solve_corners(
        "stand-on", 4, LOAD, [CornerReading(p, e) for p, e in zip(QUARTERS, errors, strict=True)], of_one()
    )
    there = solve_corners(
        "stand-on", 4, LOAD * scale, [CornerReading(p, e * scale) for p, e in zip(QUARTERS, errors, strict=True)],
        of_one(0.05 * float(scale)),
    )  # fmt: skip

    for one, other in zip(here.supports, there.supports, strict=True):
        assert one.deviation == pytest.approx(other.deviation, abs=1e-12)
        assert one.expanded == pytest.approx(other.expanded, rel=1e-10)
    assert (here.chi_square, here.finding) == (pytest.approx(there.chi_square, rel=1e-8, abs=1e-8), there.finding)


def test_the_covariance_is_what_a_simulation_of_readings_shows() -> None:
    """Monte Carlo (JCGM 101:2008): 40 000 sets of five readings, rectangular rounding and a normal spread, seeded."""
    draws, u_round, s = 40_000, 0.1 / math.sqrt(12), 0.03
    luck = np.random.default_rng(20261125)
    noise = luck.uniform(-0.05, 0.05, (draws, 5)) + luck.normal(0, s, (draws, 5))
    names = [name for name, _ in supports_of("stand-on", numbered=False)]
    rows = np.array(
        [
            [share_of(at, place_on("stand-on", p) or (0.0, 0.0)) for _, at in supports_of("stand-on", False)]
            for p in QUARTERS
        ]
    )
    values = noise / float(LOAD) @ np.linalg.pinv(rows).T
    deviations = values - values.mean(axis=1, keepdims=True)
    left_over = ((noise / float(LOAD) - values @ rows.T) ** 2).sum(axis=1) / ((u_round**2 + s**2) / float(LOAD) ** 2)

    found = solved(errors_of({}), u=math.hypot(u_round, s))

    # Four standard errors of a standard deviation from so many draws: 4 / sqrt(2 M).
    for place, name in enumerate(names):
        assert found.supports[place].standard_uncertainty == pytest.approx(
            float(deviations[:, place].std()), rel=4 / math.sqrt(2 * draws)
        ), name
    np.testing.assert_allclose(np.cov(values.T), found.covariance, rtol=0.05, atol=2e-8)
    assert float(left_over.mean()) == pytest.approx(found.degrees_of_freedom, abs=4 * math.sqrt(2 / draws))


def test_the_uncertainty_of_a_prediction_is_what_a_simulation_of_readings_shows() -> None:
    draws, u = 40_000, 0.05
    noise = np.random.default_rng(7).normal(0, u, (draws, 5))
    at = [place for _, place in supports_of("stand-on", numbered=False)]
    rows = np.array([[share_of(support, place_on("stand-on", p) or (0.0, 0.0)) for support in at] for p in QUARTERS])
    values = noise / float(LOAD) @ np.linalg.pinv(rows).T

    for prediction, shift in zip(
        predicted(solved(errors_of({})), "stand-on", TWO_FEET), ((0.0, 0.0), None), strict=True
    ):
        if shift is None:  # the worst of four sides, which are alike for this footprint
            shift = (0.0, TWO_FEET.may_be_off)
        carried = np.array(
            [
                sum(part * share_of(support, (x + shift[0], y + shift[1])) for (x, y), part in TWO_FEET.shares)
                for support in at
            ]
        )
        simulated = (values @ (carried - carried.mean())).std()
        assert prediction.standard_uncertainty == pytest.approx(
            float(simulated), rel=4 / math.sqrt(2 * draws), abs=1e-12
        )


def test_a_small_deviation_is_not_laid_to_a_support() -> None:
    found = solved(errors_of({"front left": 0.0005}))

    assert {s.seen for s in found.supports} == {"cannot say"}
    assert (found.finding, found.named) == ("none seen", ())


def test_two_opposite_supports_are_told_as_several() -> None:
    found = solved(errors_of({"front left": 0.02, "back right": 0.02}))

    assert found.finding == "several supports"
    assert set(found.named) == {"front left", "front right", "back left", "back right"}


def test_a_heavy_support_and_a_light_one_opposite_may_explain_the_readings_alike() -> None:
    found = solved(errors_of({"front left": 0.007}))

    assert found.supports[0].seen == "reads heavy"
    assert (found.finding, found.named) == ("cannot say which", ("front left", "back right"))


def test_readings_that_contradict_each_other_do_not_agree() -> None:
    corners = errors_of({})[1:]

    found = solved([CornerReading("centre", Decimal("1.0")), *corners])

    assert not found.agrees
    assert found.chi_square > 6
    assert solved(errors_of({})).agrees


def test_the_four_quarters_alone_tell_all_four_supports() -> None:
    found = solved(errors_of({"back left": -0.01})[1:])

    assert found.degrees_of_freedom == 0
    assert next(s for s in found.supports if s.name == "back left").against_the_others == pytest.approx(-0.01)


def test_a_cross_of_places_cannot_tell_four_supports_apart() -> None:
    with pytest.raises(GeometryCannotTell) as refused:
        solved([CornerReading(position, Decimal(0)) for position in CROSS], "chair")

    assert "front left, front right, back left, back right" in refused.value.facts["would"]
    assert refused.value.facts["positions"] == "back, centre, front, left, right"


@pytest.mark.parametrize(
    ("kind", "supports", "positions"),
    [
        ("stand-on", 4, QUARTERS[:3]),
        ("stand-on", 4, ("centre", "front left", "back right", "centre", "front left")),
        ("bed", 6, LYING),
        ("sling", 1, ("centre",)),
        ("stand-on", 12, QUARTERS),
        ("chair", 4, ("centre", "left armrest", "right armrest", "footrest", "front left")),
        ("stand-on", 4, ()),
    ],
)
def test_places_that_are_too_few_are_refused_with_those_that_would_do(
    kind: Kind, supports: int, positions: tuple[Position, ...]
) -> None:
    with pytest.raises(GeometryCannotTell) as refused:
        solve_corners(kind, supports, LOAD, [CornerReading(p, Decimal(0)) for p in positions], of_one())

    assert refused.value.facts["would"]
    assert refused.value.facts["supports"] == str(supports)


def test_six_supports_are_told_apart_by_a_load_over_each() -> None:
    over = [
        CornerReading(name, Decimal(0)) for name in ("support 1", "support 2", "support 3", "support 5", "support 6")
    ]
    readings: list[CornerReading] = [*over, CornerReading("support 4", Decimal("0.6"))]

    found = solve_corners("bed", 6, LOAD, readings, of_one())

    assert (found.finding, found.named) == ("one support", ("support 4",))
    assert next(s for s in found.supports if s.name == "support 4").against_the_others == pytest.approx(0.01)
    assert predicted(found, "bed", LYING_BODY) == ()


def test_a_pad_that_carries_the_load_alone_shows_its_whole_deviation() -> None:
    readings = [CornerReading(p, Decimal("0.6") if p == "head left" else Decimal(0)) for p in LYING[1:]]

    found = solve_corners("bed pads", 4, LOAD, readings, of_one())

    assert next(s for s in found.supports if s.name == "head left").against_the_others == pytest.approx(0.01)


@pytest.mark.parametrize("distribution", [TWO_FEET, SEATED, WHEELCHAIR, LYING_BODY], ids=lambda d: str(d.name))
def test_a_distribution_is_a_whole_load_that_stays_on_the_platform(distribution: Distribution) -> None:
    assert sum(part for _, part in distribution.shares) == pytest.approx(1)
    far = distribution.may_be_off
    assert all(abs(x) + far <= 1 and abs(y) + far <= 1 for (x, y), _ in distribution.shares)


def test_the_supports_carry_the_whole_load_wherever_it_stands() -> None:
    at = [place for _, place in supports_of("bed", numbered=False)]

    for load in ((0.0, 0.0), (0.3, -0.7), (1.0, 1.0), (-0.5, 0.5)):
        assert sum(share_of(support, load) for support in at) == pytest.approx(1)
        # the moments about both middle lines are those of the load: statics
        assert sum(share_of((x, y), load) * x for x, y in at) == pytest.approx(load[0])
        assert sum(share_of((x, y), load) * y for x, y in at) == pytest.approx(load[1])


def test_feet_towards_a_heavy_support_are_predicted_heavier() -> None:
    found = solved(errors_of({"front left": 0.02, "front right": 0.02}))

    centred, worst = predicted(found, "stand-on", TWO_FEET)

    assert centred.difference == pytest.approx(0, abs=1e-12)
    assert worst.stands in ("towards the front", "towards the back")
    # Two fifths of the half depth to the front: the front supports carry 0.7 of the load instead of half of it.
    assert abs(worst.difference) == pytest.approx((0.7 - 0.5) * 0.02, rel=1e-9)
    assert worst.expanded == pytest.approx(found.k * worst.standard_uncertainty)


def test_lying_predictions_go_by_head_and_foot() -> None:
    found = solved(errors_of({"head left": 0.02, "head right": 0.02}, LYING, "bed"), "bed")

    _, worst = predicted(found, "bed", LYING_BODY)

    assert worst.stands in ("towards the head", "towards the foot")
    assert worst.difference != 0


def test_a_scale_that_is_alike_at_all_supports_is_seldom_said_not_to_be() -> None:
    """Seeded: 600 sets of readings of a perfect scale; the joint test may be wrong in about one of twenty."""
    noise = np.random.default_rng(11).normal(0, 0.05, (600, 5))

    found = [
        solved([CornerReading(p, Decimal(f"{e:.9f}")) for p, e in zip(QUARTERS, errors, strict=True)]).finding
        for errors in noise
    ]

    assert 0.92 <= found.count("none seen") / len(found) <= 0.99
