"""How a scale was left, read back from the stored working of its visits: nothing is judged again.

The newest visit that stands and shows it counts. What was adjusted and not measured afterwards is not known, so that an
older visit says nothing of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from api.answers.may_i_use import clock_in_doubt
from api.metrology.budget import Contribution
from api.metrology.claims import ToleranceAt
from api.metrology.contributions import Corners
from api.metrology.eccentricity import corners_of
from api.metrology.error_line import ErrorAtLoad, error_line
from api.metrology.judgement import ProvenRange
from api.metrology.refusals import NothingToComputeFrom
from api.metrology.repeatability import Spread
from api.metrology.scale import Range
from api.metrology.terms import AccuracyClass, Kind
from api.metrology.tolerance import HouseTolerance, Scheme, Stage, tolerance_at
from api.metrology.weighing_in_use import Behaviour
from api.records.calibration import Calibration, newest_that_stand
from api.records.documents import read_mass, record_from
from api.records.house_rule import HouseRule
from api.records.weighing import RestsOn, VisitLeaned
from api.records.working_of_points import degrees_in

Point = dict[str, Any]

# A scale in use is held to the tolerance for scales in use, however it was judged after an adjustment (HB 44 G-T.2,
# R 76-1 3.5.2).
_IN_USE: dict[str, Stage] = {"hb44": "maintenance", "r76": "in-service", "house": "house"}
_TOUCHES_CORNERS = ("corner", "repair part")


@dataclass(frozen=True, slots=True)
class LeftAs:
    """A visit and the phase of it that shows how the scale was left; `before` is the other phase, if it was measured."""

    visit: Calibration
    phase: dict[str, Any]
    before: dict[str, Any] | None
    rests_on: RestsOn

    @property
    def leaned(self) -> VisitLeaned:
        """The visit as an answer names it."""
        visit = self.visit
        return VisitLeaned(
            visit.calibration, visit.site, date.fromisoformat(visit.performed_on), visit.standing, self.rests_on,
            visit.certificate,
        )  # fmt: skip

    @property
    def kind(self) -> Kind:
        """The kind of scale it was judged as."""
        kind: Kind = self.visit.working["device"]["kind"]
        return kind


def visits_that_stand(history: Sequence[Calibration], on: date) -> list[LeftAs]:
    """Return the visits up to a day that were measured, newest first, down to the last change that nobody measured after.

    A provisional visit of a scale that was not on the register, or whose clock is in doubt, does not count; nor does an old
    record that lacks what such answers need.
    """
    found: list[LeftAs] = []
    stand = newest_that_stand(history)
    for visit in sorted(stand, key=lambda c: (c.performed_from, c.calibration), reverse=True):
        if date.fromisoformat(visit.performed_on) > on:
            continue
        if "device" not in visit.working or clock_in_doubt(visit):
            continue
        left = None if visit.is_partial else _left(visit)
        if left is not None:
            found.append(left)
        elif visit.adjusted:
            break
    return found


def _left(visit: Calibration) -> LeftAs | None:
    working = visit.working
    phase, own = working.get("as_left"), working["as_left_rests_on"] == "own readings"
    if phase is None:
        return None
    return LeftAs(visit, phase, working.get("as_found") if own else None, "as left" if own else "as found, left so")


def behaviour_of(left: LeftAs) -> Behaviour:
    """Return how a scale was left: errors of its increasing loads, spread, corners.

    Refuses a visit without the one or the other (`NothingToComputeFrom`), and says what lacks.
    """
    run = _run_of(left.phase)
    if not run:
        raise _nothing(left, "no error under an increasing load")
    repeated = contribution_of(left, run, "repeatability")
    if repeated is None:
        raise _nothing(left, "no repeatability")
    spread = Spread(repeated.standard_uncertainty, repeated.degrees_of_freedom, repeated.source)
    unit = run[0]["range"]["unit"]
    line = error_line([_error_at(point) for point in run])
    return Behaviour(_ranges_of(left.phase, unit), spread, _corners_of(left, unit), line)


def _nothing(left: LeftAs, what: str) -> NothingToComputeFrom:
    day = left.visit.performed_on
    return NothingToComputeFrom(
        f"The visit of {day} has {what} as it was left. A visit with increasing loads and three weighings of one load "
        "would give both.",
        calibration=left.visit.calibration,
        missing=what,
    )


def _run_of(phase: dict[str, Any]) -> list[Point]:
    """The increasing points with an error and a budget, in the unit of most of them, as for the proven range."""
    usable = [
        p for p in phase["points"]
        if p["test"] == "increasing" and "error_kg" in p and "u_kg" in p and p["u_kg"] > 0 and Decimal(p["nominal_kg"]) > 0
    ]  # fmt: skip
    units = [p["range"]["unit"] for p in usable]
    most = max(dict.fromkeys(units), key=units.count, default=None)
    return [p for p in usable if p["range"]["unit"] == most]


def _error_at(point: Point) -> ErrorAtLoad:
    degrees = degrees_in(point)
    return ErrorAtLoad(float(point["nominal_kg"]), float(point["error_kg"]), float(point["u_kg"]), degrees)


def contribution_of(left: LeftAs, points: Sequence[Point], name: str) -> Contribution | None:
    """Return a contribution to the budgets of some points by its name, as it was stored; None where they had none."""
    listed = left.visit.working["contributions"]
    parts = [listed[place] for point in points for place in point["contributions"]]
    part = next((part for part in parts if part["name"] == name), None)
    if part is None:
        return None
    degrees = degrees_in(part)
    return Contribution(name, float(part["standard_uncertainty_kg"]), part["distribution"], part["source"], degrees)


def _ranges_of(phase: dict[str, Any], unit: str) -> tuple[Range, ...]:
    """The ranges in which the points were judged, the finest first."""
    found = {
        Range(r["unit"], Decimal(r["max"]), Decimal(r["d"]), Decimal(r["e"]))
        for point in phase["points"]
        if (r := point.get("range")) and r["unit"] == unit
    }
    return tuple(sorted(found, key=lambda r: r.max_kg))


def corner_points(left: LeftAs) -> list[Point]:
    """Return the corner readings that hold: those as left, else those as found where nothing touched the corners."""
    own = _corners_in(left.phase)
    if own or left.before is None:
        return own
    touched = [a for a in left.visit.content.get("adjustments", ()) if a["type"] in _TOUCHES_CORNERS]
    return [] if touched else _corners_in(left.before)


def _corners_in(phase: dict[str, Any]) -> list[Point]:
    return [p for p in phase["points"] if p["test"] == "eccentricity" and p.get("position") and "error_kg" in p]


def _corners_of(left: LeftAs, unit: str) -> Corners | None:
    points = [p for p in corner_points(left) if p["range"]["unit"] == unit]
    return corners_of([(p["position"], Decimal(p["nominal_kg"]), _before_rounding(p)) for p in points])


def _before_rounding(point: Point) -> Decimal:
    """What a place showed in kilograms, before rounding where a change-over point says so."""
    over = point.get("change_over")
    return Decimal(over["point_kg"]) if over else read_mass(point["indication"]).kg


def proven_of(left: LeftAs) -> ProvenRange | None:
    """Return the proven range as it was stored, or None."""
    proven = left.phase.get("proven")
    return ProvenRange(Decimal(proven["from_kg"]), Decimal(proven["to_kg"])) if proven else None


def scheme_in_use(left: LeftAs) -> Scheme:
    """Return the scheme the visit was judged by, at the stage that holds for a scale in use."""
    stored, house = left.phase["scheme"], left.visit.working.get("house_rule")
    return Scheme(stored["name"], stored["edition"], _IN_USE[stored["name"]], _house(house) if house else None)


def _house(stored: dict[str, Any]) -> HouseTolerance:
    record = {name: value for name, value in stored.items() if name != "revision"}
    return record_from(HouseRule, record).as_tolerance()


def tolerance_in_use(left: LeftAs, ranges: Sequence[Range]) -> ToleranceAt:
    """Return the tolerance of a scale in use as a function of the load; it refuses a load above the ranges or the table."""
    scheme = scheme_in_use(left)
    accuracy_class: AccuracyClass = left.visit.working["device"]["accuracy_class"]

    def at(load_kg: Decimal) -> Decimal:
        in_use = next((r for r in ranges if load_kg <= r.max_kg), ranges[-1])
        return tolerance_at(scheme, accuracy_class, in_use, load_kg).kg

    return at
