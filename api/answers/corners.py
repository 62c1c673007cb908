"""Which support of this scale is off? From its newest corner readings, with what that would do to loads off the middle."""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import Connection

from api.answers.as_left import LeftAs, Point, contribution_of, corner_points, proven_of, visits_that_stand
from api.metrology.budget import Budget, Contribution
from api.metrology.corner_solver import (
    CornerReading,
    CornersSolved,
    Prediction,
    SupportFound,
    predicted,
    solve_corners,
)
from api.metrology.kinds_of_plan import PLAN_OF
from api.metrology.least_squares import chi_square_limit
from api.metrology.load_distributions import distributions_for
from api.metrology.refusals import NothingToComputeFrom
from api.metrology.rounding import on_the_wire, printed_uncertainty, rounded_like
from api.metrology.uncertainty import budget_of
from api.queries.calibrations import history_of
from api.queries.register import find_in_force, in_force
from api.records.calibration import Calibration
from api.records.corners import CornersAnswer, PredictionSaid, SupportSaid

# What differs from one corner reading to the next; the weights are the same at each place.
# A change-over point stands in for the rounding it takes away.
_OF_ONE_READING = (
    ("rounding at zero", "change-over at zero"), ("rounding at load", "change-over at load"), ("repeatability",),
)  # fmt: skip

# A load that lies alike on all supports shows no difference between them: what is left of the sum is float noise.
_NOTHING = 1e-12

SupportsOf = Callable[[Calibration], int]


def corners_of_device(connection: Connection, tag: str, *, on: date) -> CornersAnswer:
    """Return the supports of a device solved from its newest corner readings up to a day.

    Refuses a device not on the register that day (`NotOnRecord`), one without corner readings that hold
    (`NothingToComputeFrom`), and places that cannot tell its supports apart (`GeometryCannotTell`).
    """
    device = in_force(connection, "device", tag, on=on).record
    history = history_of(connection, *device.tags)
    return corners_from(tag, history, on, lambda visit: supports_then(connection, visit))


def supports_then(connection: Connection, visit: Calibration) -> int:
    """Return how many supports the model of a visit's scale had on its day; four where it was not on the register."""
    model = find_in_force(
        connection, "model", visit.working["device"]["model"], on=date.fromisoformat(visit.performed_on)
    )
    return int(model.record.supports) if model else 4


def corners_from(tag: str, history: Sequence[Calibration], on: date, supports_of: SupportsOf) -> CornersAnswer:
    """Return the supports from a history that was already read."""
    for left in visits_that_stand(history, on):
        points = _main_set(corner_points(left))
        if points:
            return _Solved(left, points, supports_of(left.visit)).answer(tag, on)
        if left.visit.adjusted:
            break
    raise NothingToComputeFrom(
        f"No corner readings on record show how {tag} was left on {on.isoformat()}. The same load on the centre and on each "
        "quarter of the platform would.",
        device=tag,
        on=on.isoformat(),
    )


def _main_set(points: Sequence[Point]) -> list[Point]:
    """Readings of one load in one unit: those of the load that stood at the most places, of equals the heaviest."""
    sets: dict[tuple[Decimal, str], list[Point]] = defaultdict(list)
    for point in points:
        sets[Decimal(point["nominal_kg"]), point["range"]["unit"]].append(point)
    if not sets:
        return []
    _, found = max(sets.items(), key=lambda item: (len({p["position"] for p in item[1]}), item[0][0]))
    return found


@dataclass(frozen=True, slots=True)
class _Solved:
    """One visit's corner readings, and what they say."""

    left: LeftAs
    points: list[Point]
    supports: int

    def answer(self, tag: str, on: date) -> CornersAnswer:
        """Return the whole answer."""
        left, load = self.left, Decimal(self.points[0]["nominal_kg"])
        readings = [CornerReading(p["position"], Decimal(p["error_kg"])) for p in self.points]
        solved = solve_corners(left.kind, self.supports, load, readings, self._of_one())
        degrees = solved.degrees_of_freedom
        return CornersAnswer(
            device=tag, on=on, visit=left.leaned, load_kg=load, finding=solved.finding, named=solved.named,
            sentence=_sentence(solved), supports=tuple(_support(s) for s in solved.supports),
            predictions=tuple(self._predictions(solved)), chi_square=Decimal(f"{solved.chi_square:.2f}"),
            degrees_of_freedom=degrees, agrees=solved.agrees, assumptions=self._assumptions(),
            chi_square_limit=Decimal(f"{chi_square_limit(degrees):.2f}") if degrees else None,
        )  # fmt: skip

    def _of_one(self) -> Budget:
        parts = [part for names in _OF_ONE_READING if (part := self._first_of(names))]
        if len(parts) < len(_OF_ONE_READING):
            raise NothingToComputeFrom(
                f"The visit of {self.left.visit.performed_on} has no repeatability, so that nothing says how far its corner "
                "readings may be off. Three weighings of one load would.",
                calibration=self.left.visit.calibration,
                missing="repeatability",
            )
        return budget_of(parts)

    def _first_of(self, names: tuple[str, ...]) -> Contribution | None:
        found = (contribution_of(self.left, self.points, name) for name in names)
        return next((part for part in found if part is not None), None)

    def _predictions(self, solved: CornersSolved) -> list[PredictionSaid]:
        at = self._typical()
        return [
            _prediction(prediction, at)
            for distribution in distributions_for(self.left.kind)
            for prediction in predicted(solved, self.left.kind, distribution)
        ]

    def _typical(self) -> Decimal:
        """The heaviest typical load that the readings speak for: proven, else not above the load at the corners."""
        proven = proven_of(self.left)
        most = proven.to_kg if proven else Decimal(self.points[0]["nominal_kg"])
        return max([load for load in PLAN_OF[self.left.kind].typical if load <= most], default=most)

    def _assumptions(self) -> tuple[str, ...]:
        if self.supports != 4:
            return ("Each load stood over one support and rested on it alone.",)
        where = "over each support" if self.left.kind == "bed pads" else "half way out from the middle"
        return (
            f"Four supports at the corners; the loads stood {where}.",
            "Each support carries in proportion to the distance from the opposite sides (common practice, no source): a "
            "platform that bends shares a load otherwise.",
        )


def _sentence(solved: CornersSolved) -> str:
    """Return what the readings say, as one sentence or two."""
    said = _found(solved)
    if not solved.agrees:
        said += " The readings contradict each other by more than their uncertainty: repeat them before anything is adjusted."
    return said


def _found(solved: CornersSolved) -> str:
    if solved.finding == "none seen":
        return "No support is seen to be off: the readings agree with supports that are all alike."
    alone = [_reads(e.name, e.off, e.expanded) for e in solved.explanations]
    if solved.finding == "one support":
        return f"One support explains it: {alone[0]}, the others alike."
    if solved.finding == "cannot say which":
        return f"One support is off, but the readings cannot say which: {' or '.join(alone)}."
    off = [
        _reads(s.name, s.against_the_others, s.against_the_others_expanded)
        for s in solved.supports
        if s.name in solved.named
    ]
    return f"More than one support is off, each against the others: {'; '.join(off)}."


def _reads(name: str, off: float, expanded: float) -> str:
    """In percent of what the support carries: 0.5 % is 50 g of 10 kg."""
    value, u = _with_uncertainty(abs(off) * 100, expanded * 100)
    return f"{name} reads {value:f} % {'heavy' if off > 0 else 'light'} (U {u:f} %)"


def _support(support: SupportFound) -> SupportSaid:
    deviation, u = _with_uncertainty(support.deviation * 1e6, support.expanded * 1e6)
    against, u_against = _with_uncertainty(support.against_the_others * 1e6, support.against_the_others_expanded * 1e6)
    return SupportSaid(support.name, support.seen, deviation, u, against, u_against)


def _prediction(prediction: Prediction, at: Decimal) -> PredictionSaid:
    ppm, u_ppm = _with_uncertainty(prediction.difference * 1e6, prediction.expanded * 1e6)
    kg, u_kg = _with_uncertainty(prediction.difference * float(at), prediction.expanded * float(at))
    return PredictionSaid(prediction.load, prediction.stands, ppm, u_ppm, at, kg, u_kg, prediction.source)


def _with_uncertainty(value: float, expanded: float) -> tuple[Decimal, Decimal]:
    """A value with its U as printed; what is smaller than floats can tell is nothing."""
    if expanded < _NOTHING:
        return Decimal(0), Decimal(0)
    u = on_the_wire(printed_uncertainty(expanded))
    return on_the_wire(rounded_like(value, u)), u
