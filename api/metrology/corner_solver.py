"""Which support is off: the sensitivity of each support from the corner readings, with covariance, by least squares.

Each reading of the same load is the sum of what the supports carry, each times its own sensitivity. Four supports share a
load as `load_places` says; with any other number each has to be loaded by itself. Errors are used, in kilograms per
kilogram of load: what is common to all readings (the weights, the span) is the mean, and leaves the deviations alone.

Here a support that cannot be told from the others is said to be so; only `decision` compares with a tolerance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from api.metrology.budget import Budget
from api.metrology.least_squares import Fit, Matrix, fitted, tells_apart, variance_along
from api.metrology.load_distributions import Distribution
from api.metrology.load_places import FOUR, LYING, Place, place_on, share_of, supports_of
from api.metrology.refusals import GeometryCannotTell
from api.metrology.terms import Kind, Position

Seen = Literal["reads heavy", "reads light", "cannot say"]
Finding = Literal["none seen", "one support", "cannot say which", "several supports"]

# Up to here positions have words of their own (`terms.Position`).
_MOST_SUPPORTS: Final = 6


@dataclass(frozen=True, slots=True)
class CornerReading:
    """One reading of the eccentricity load: where it stood, and its error in kilograms."""

    position: Position
    error_kg: Decimal


@dataclass(frozen=True, slots=True)
class SupportFound:
    """One support: its deviation from the mean of all, and from the mean of the others, in kg per kg of load.

    Positive reads heavy. `seen` is `cannot say` where the deviation is not beyond its expanded uncertainty, or where all
    readings agree with supports that are all alike.
    """

    name: Position
    deviation: float
    standard_uncertainty: float
    expanded: float
    against_the_others: float
    against_the_others_expanded: float
    seen: Seen


@dataclass(frozen=True, slots=True)
class Explanation:
    """A single support that would explain the readings, the others alike: by how much it is off, in kg per kg."""

    name: Position
    off: float
    expanded: float


@dataclass(frozen=True, slots=True)
class CornersSolved:
    """The supports, the mean of them all, how well the readings agree with it, and which support explains them.

    With the finding `several supports`, `named` are those that deviate by more than their uncertainty.
    """

    supports: tuple[SupportFound, ...]
    places: tuple[Place, ...]
    mean: float
    covariance: Matrix
    sensitivities: tuple[float, ...]
    k: float
    chi_square: float
    degrees_of_freedom: int
    agrees: bool
    finding: Finding
    explanations: tuple[Explanation, ...]

    @property
    def named(self) -> tuple[Position, ...]:
        """The supports that the finding speaks of."""
        if self.finding == "several supports":
            return tuple(support.name for support in self.supports if support.seen != "cannot say")
        return tuple(explanation.name for explanation in self.explanations)


@dataclass(frozen=True, slots=True)
class Prediction:
    """What a load that lies otherwise than in the middle would add to the error, in kg per kg, with its uncertainty."""

    load: str
    stands: str
    difference: float
    standard_uncertainty: float
    expanded: float
    source: str


def solve_corners(
    kind: Kind, supports: int, load_kg: Decimal, readings: Sequence[CornerReading], of_one: Budget
) -> CornersSolved:
    """Return the supports of a scale from readings of one load; `of_one` is the budget of a single reading.

    The budget holds what differs from reading to reading: rounding and repeatability, in kilograms. Refuses readings
    whose places cannot tell the supports apart (`GeometryCannotTell`), and says which would.
    """
    names, places, rows, errors = _placed(kind, supports, readings)
    if not rows or not tells_apart(rows):
        raise _cannot_tell(kind, supports, readings)
    load = float(load_kg)
    seen = [float(error) / load for error in errors]
    u = [of_one.combined / load] * len(seen)
    fit = fitted(rows, seen, u)
    # Four supports looked at one by one would show one off by chance in one scale out of six: all are tested together first.
    alike = fitted([[sum(row)] for row in rows], seen, u).agrees
    found = tuple(_support(name, place, fit, of_one.k, alike) for place, name in enumerate(names))
    finding, explanations = _explained(found, rows, seen, u, of_one.k)
    return CornersSolved(
        found, places, sum(fit.values) / supports, fit.covariance, fit.values, of_one.k, fit.chi_square,
        fit.degrees_of_freedom, fit.agrees, finding, explanations,
    )  # fmt: skip


def _placed(
    kind: Kind, supports: int, readings: Sequence[CornerReading]
) -> tuple[tuple[Position, ...], tuple[Place, ...], list[list[float]], list[Decimal]]:
    """The supports with their places, and for each usable reading what each support carries, and its error."""
    if not 2 <= supports <= _MOST_SUPPORTS:
        raise _cannot_tell(kind, supports, readings)
    numbered = any(reading.position.startswith("support") for reading in readings)
    if supports != FOUR:
        return _one_by_one(supports, readings)
    named = supports_of(kind, numbered)
    rows, errors = [], []
    for reading in readings:
        place = place_on(kind, reading.position)
        if place is not None:
            rows.append([share_of(support, place) for _, support in named])
            errors.append(reading.error_kg)
    return tuple(name for name, _ in named), tuple(place for _, place in named), rows, errors


def _one_by_one(
    supports: int, readings: Sequence[CornerReading]
) -> tuple[tuple[Position, ...], tuple[Place, ...], list[list[float]], list[Decimal]]:
    """Any other number of supports: only a load over a support says something, and of that support alone."""
    names: tuple[Position, ...] = (
        "support 1", "support 2", "support 3", "support 4", "support 5", "support 6",
    )  # fmt: skip
    names = names[:supports]
    over = [reading for reading in readings if reading.position in names]
    rows = [[1.0 if name == reading.position else 0.0 for name in names] for reading in over]
    return names, (), rows, [reading.error_kg for reading in over]


def _cannot_tell(kind: Kind, supports: int, readings: Sequence[CornerReading]) -> GeometryCannotTell:
    loaded = sorted({reading.position for reading in readings})
    if supports == 1:
        would = "One support has no corners to compare: differences between places come from its guide or its platform."
    elif supports == FOUR:
        quarters = ", ".join(name for name, _ in supports_of(kind, numbered=False))
        would = f"The same load on each quarter ({quarters}) would: loads on the two middle lines alone cannot."
    elif supports > _MOST_SUPPORTS:
        would = f"No words for the places of more than {_MOST_SUPPORTS} supports are held."
    else:
        would = f"The same load over each support by itself (support 1 to support {supports}) would."
    said = ", ".join(loaded) or "no place"
    return GeometryCannotTell(
        f"Readings at {said} cannot tell {supports} support{'s' if supports != 1 else ''} apart. {would}",
        positions=said,
        supports=str(supports),
        would=would,
    )


def _support(name: Position, place: int, fit: Fit, k: float, alike: bool) -> SupportFound:
    count = len(fit.values)
    weights = _centred([1.0 if other == place else 0.0 for other in range(count)])
    deviation = sum(weight * value for weight, value in zip(weights, fit.values, strict=True))
    u = variance_along(fit.covariance, weights) ** 0.5
    expanded = k * u
    unclear = alike or abs(deviation) <= expanded
    seen: Seen = "cannot say" if unclear else "reads heavy" if deviation > 0 else "reads light"
    # From the mean of the others: the mean of all holds the support itself, so n / (n - 1) times as far.
    apart = count / (count - 1)
    return SupportFound(name, deviation, u, expanded, deviation * apart, expanded * apart, seen)


def _centred(weights: Sequence[float]) -> list[float]:
    mean = sum(weights) / len(weights)
    return [weight - mean for weight in weights]


def _explained(
    supports: Sequence[SupportFound],
    rows: Sequence[Sequence[float]],
    seen: Sequence[float],
    u: Sequence[float],
    k: float,
) -> tuple[Finding, tuple[Explanation, ...]]:
    """Which single support, off by itself with the others alike, would explain the readings within their uncertainty."""
    if all(support.seen == "cannot say" for support in supports):
        return "none seen", ()
    alone = []
    for place, support in enumerate(supports):
        fit = fitted([[sum(row), row[place]] for row in rows], seen, u)
        off, expanded = fit.values[1], k * fit.covariance[1][1] ** 0.5
        if fit.agrees and abs(off) > expanded:
            alone.append(Explanation(support.name, off, expanded))
    if not alone:
        return "several supports", ()
    return "one support" if len(alone) == 1 else "cannot say which", tuple(alone)


def predicted(solved: CornersSolved, kind: Kind, distribution: Distribution) -> tuple[Prediction, ...]:
    """Return what a load would read beyond the same load in the middle: centred, and off to the worst of four sides.

    Empty where the places of the supports are not known.
    """
    if not solved.places:
        return ()
    centred = _predicted(solved, distribution, "in the middle", (0.0, 0.0))
    off = [_predicted(solved, distribution, *side) for side in _sides(kind, distribution.may_be_off)]
    return centred, max(off, key=lambda prediction: abs(prediction.difference))


def _sides(kind: Kind, far: float) -> tuple[tuple[str, Place], ...]:
    """Four ways off the middle, by the person's own sides: lying, their left is on the right of the drawing."""
    if kind in LYING:
        return ("towards the head", (0.0, far)), ("towards the foot", (0.0, -far)), (
            "towards their left", (far, 0.0)), ("towards their right", (-far, 0.0))  # fmt: skip
    return ("towards the front", (0.0, far)), ("towards the back", (0.0, -far)), (
        "towards their left", (-far, 0.0)), ("towards their right", (far, 0.0))  # fmt: skip


def _predicted(solved: CornersSolved, distribution: Distribution, stands: str, shift: Place) -> Prediction:
    carried = [
        sum(part * share_of(support, (x + shift[0], y + shift[1])) for (x, y), part in distribution.shares)
        for support in solved.places
    ]
    weights = _centred(carried)
    difference = sum(weight * value for weight, value in zip(weights, solved.sensitivities, strict=True))
    u = variance_along(solved.covariance, weights) ** 0.5
    return Prediction(distribution.name, stands, difference, u, solved.k * u, distribution.source)
