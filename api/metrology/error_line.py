"""The error over all loads from the errors at a few: a straight line through zero, fitted by weighted least squares.

EURAMET cg-18 v4.0 (11/2015) App. C, from memory (high confidence): E = a1 R with weights 1/u2(E), and the chi-square test
of the fit. Where the line through zero does not agree with the points, a line with a zero error is tried; where that does
not either, the errors are joined from load to load (7.4.2, second hand). Loads and errors in kilograms.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from api.metrology.least_squares import Fit, fitted, variance_along
from api.metrology.refusals import NotDetermined

Form = Literal["through zero", "with a zero error", "joined from load to load"]


@dataclass(frozen=True, slots=True)
class ErrorAtLoad:
    """One error of the calibration: load and error in kilograms, its standard uncertainty and degrees of freedom."""

    load_kg: float
    error_kg: float
    u_kg: float
    degrees_of_freedom: float


@dataclass(frozen=True, slots=True)
class ErrorLine:
    """The error as a function of the load: its form, the fit behind it, and the points it was made from.

    `through_zero` is the fit of the line through zero, whether it was taken or not; `degrees_of_freedom` of the error it
    gives are those of its least known point, which is never too many.
    """

    form: Form
    zero_kg: float
    slope: float
    fit: Fit
    through_zero: Fit
    points: tuple[ErrorAtLoad, ...]

    @property
    def degrees_of_freedom(self) -> float:
        """The degrees of freedom of the error it gives: those of its least known point."""
        return min(point.degrees_of_freedom for point in self.points)

    def at(self, load_kg: float) -> tuple[float, float]:
        """Return the error and its standard uncertainty at a load, in kilograms.

        u2 is that of the fitted values; a1^2 u2(R) of cg-18 is left out: with a slope of 0.1 % it is a millionth of u2(R).
        """
        if self.form == "joined from load to load":
            return _joined(self.points, load_kg)
        weights = [load_kg] if self.form == "through zero" else [1.0, load_kg]
        return self.zero_kg + self.slope * load_kg, variance_along(self.fit.covariance, weights) ** 0.5


def line_through_zero(points: Sequence[ErrorAtLoad]) -> Fit:
    """Return the fit of E = a1 R; refuses points without any load (`NotDetermined`)."""
    return fitted([[p.load_kg] for p in points], [p.error_kg for p in points], [p.u_kg for p in points])


def line_with_zero_error(points: Sequence[ErrorAtLoad]) -> Fit:
    """Return the fit of E = a0 + a1 R; refuses points at fewer than two loads (`NotDetermined`)."""
    return fitted([[1.0, p.load_kg] for p in points], [p.error_kg for p in points], [p.u_kg for p in points])


def error_line(points: Sequence[ErrorAtLoad]) -> ErrorLine:
    """Return the error over all loads in the simplest form that agrees with the points.

    Refuses no point with a load (`NotDetermined`).
    """
    loaded = tuple(sorted((p for p in points if p.load_kg > 0), key=lambda p: p.load_kg))
    if not loaded:
        raise NotDetermined("No error was measured under a load.", observations="0", unknowns="1")
    through = line_through_zero(loaded)
    if through.agrees:
        return ErrorLine("through zero", 0.0, through.values[0], through, through, loaded)
    if len({p.load_kg for p in loaded}) > _LEAST_FOR_TWO:
        affine = line_with_zero_error(loaded)
        if affine.agrees:
            zero, slope = affine.values
            return ErrorLine("with a zero error", zero, slope, affine, through, loaded)
    return ErrorLine("joined from load to load", 0.0, through.values[0], through, through, loaded)


# Two loads always lie on some line: only from three on does it say something.
_LEAST_FOR_TWO: Final = 2


def _joined(points: Sequence[ErrorAtLoad], load_kg: float) -> tuple[float, float]:
    """Between the two nearest loads, straight, the larger of their two uncertainties; from zero below the first."""
    knots = _knots(points)
    for low, high in zip(knots, knots[1:], strict=False):
        if load_kg <= high[0]:
            part = (load_kg - low[0]) / (high[0] - low[0])
            return low[1] + part * (high[1] - low[1]), max(low[2], high[2])
    return knots[-1][1], knots[-1][2]


def _knots(points: Sequence[ErrorAtLoad]) -> list[tuple[float, float, float]]:
    """Load, mean error and largest uncertainty of each load, after zero with none."""
    at: dict[float, list[ErrorAtLoad]] = defaultdict(list)
    for point in points:
        at[point.load_kg].append(point)
    return [(0.0, 0.0, 0.0)] + [
        (load, sum(p.error_kg for p in same) / len(same), max(p.u_kg for p in same))
        for load, same in sorted(at.items())
    ]
