"""Weighted least squares of a few unknowns, with covariance and chi-square: plain floats, no library.

Solved by orthogonal columns (modified Gram-Schmidt), which keeps the digits that normal equations lose. Meant for a
handful of unknowns; what the unknowns are is the caller's.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from api.metrology.refusals import NotDetermined

# A column of which less than this share is its own, beside the columns before it, adds no knowledge.
_LEAST_OWN_SHARE = 1e-9

Rows = Sequence[Sequence[float]]
Matrix = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """Fitted values with their covariance, the weighted sum of squares left over, and its degrees of freedom."""

    values: tuple[float, ...]
    covariance: Matrix
    chi_square: float
    degrees_of_freedom: int

    @property
    def agrees(self) -> bool:
        """Whether the observations fit the model within their uncertainties; nothing speaks against it without spares."""
        return not self.degrees_of_freedom or self.chi_square <= chi_square_limit(self.degrees_of_freedom)


def chi_square_limit(degrees_of_freedom: int, beta: float = 2.0) -> float:
    """Return the largest chi-square that still counts as agreement: nu + beta sqrt(2 nu).

    EURAMET cg-18 v4.0 (11/2015) App. C, beta 1 to 2 (from memory, medium confidence). With beta 2 it is exceeded by
    chance in about one case of twenty.

    >>> chi_square_limit(2)
    6.0
    """
    return degrees_of_freedom + beta * math.sqrt(2 * degrees_of_freedom)


def fitted(design: Rows, seen: Sequence[float], u: Sequence[float]) -> Fit:
    """Return the fit of `seen` by the columns of `design`, each row weighed by its standard uncertainty (above zero).

    One row an observation. Refuses fewer rows than unknowns and columns that cannot be told apart (`NotDetermined`).
    """
    weighed = [[value / spread for value in row] for row, spread in zip(design, u, strict=True)]
    target = [value / spread for value, spread in zip(seen, u, strict=True)]
    directions, upper = _orthogonal(weighed)
    values = _solved(upper, [_dot(direction, target) for direction in directions])
    left = [aim - _dot(row, values) for aim, row in zip(target, weighed, strict=True)]
    inverse = _inverse(upper)
    covariance = tuple(tuple(_dot(a, b) for b in inverse) for a in inverse)
    return Fit(tuple(values), covariance, _dot(left, left), len(seen) - len(values))


def tells_apart(design: Rows) -> bool:
    """Return whether as many rows as unknowns, or more, tell every unknown from the others."""
    try:
        _orthogonal(design)
    except NotDetermined:
        return False
    return True


def variance_along(covariance: Matrix, weights: Sequence[float]) -> float:
    """Return the variance of a weighted sum of fitted values; never below zero."""
    return max(0.0, _dot(weights, [_dot(row, weights) for row in covariance]))


def _orthogonal(rows: Rows) -> tuple[list[list[float]], list[list[float]]]:
    """Orthonormal columns that span the design, and the upper triangle that makes the design of them."""
    columns = [list(column) for column in zip(*rows, strict=True)]
    count = len(columns)
    if len(rows) < count:
        raise NotDetermined(
            f"{len(rows)} observations cannot give {count} unknowns.",
            observations=str(len(rows)),
            unknowns=str(count),
        )
    upper = [[0.0] * count for _ in range(count)]
    directions: list[list[float]] = []
    for place, column in enumerate(columns):
        whole = math.hypot(*column)
        for before, direction in enumerate(directions):
            share = upper[before][place] = _dot(direction, column)
            column = [value - share * along for value, along in zip(column, direction, strict=True)]
        own = upper[place][place] = math.hypot(*column)
        if own <= whole * _LEAST_OWN_SHARE:
            raise NotDetermined(
                "The observations cannot tell the unknowns apart.", observations=str(len(rows)), unknowns=str(count)
            )
        directions.append([value / own for value in column])
    return directions, upper


def _solved(upper: list[list[float]], target: Sequence[float]) -> list[float]:
    """The solution of an upper triangle, from its last row up."""
    values = [0.0] * len(target)
    for row in reversed(range(len(target))):
        known = _dot(upper[row][row + 1 :], values[row + 1 :])
        values[row] = (target[row] - known) / upper[row][row]
    return values


def _inverse(upper: list[list[float]]) -> list[list[float]]:
    """The inverse of an upper triangle, row by row."""
    size = len(upper)
    columns = [_solved(upper, [1.0 if row == place else 0.0 for row in range(size)]) for place in range(size)]
    return [list(row) for row in zip(*columns, strict=True)]


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return math.fsum([x * y for x, y in zip(a, b, strict=True)])
