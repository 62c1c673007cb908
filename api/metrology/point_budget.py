"""The budget of one point: which contributions it has, worked out once for points that share them."""

from api.metrology import contributions
from api.metrology.budget import Budget, Contribution
from api.metrology.change_over import ChangeOver
from api.metrology.phase_context import PhaseContext
from api.metrology.readings import Reading
from api.metrology.scale import Range
from api.metrology.terms import Placed
from api.metrology.uncertainty import budget_of
from api.metrology.weights import ReferenceLoad


def budget_at(
    reading: Reading, load: ReferenceLoad, in_use: Range, context: PhaseContext, over: ChangeOver | None = None
) -> Budget:
    """Return the budget of one point; points that share load, range and placing share the arithmetic."""
    off_centre = load.is_loaded and contributions.centre_may_be_off(placing_of(reading)) and context.corners is not None
    exact = over and ("change-over", over.error_at_zero is not None or not load.is_loaded)
    key = (load.key, id(in_use), reading.indication.kg if off_centre else None, exact)
    budget = context.budgets.get(key)
    if budget is None:
        shown = _change_over_parts(in_use, context, exact[1]) if exact else _display_parts(in_use, context)
        parts = [*shown, *_weight_parts(load, context)]
        if load.substitutions:
            parts += contributions.of_substitutions(load.substitutions, in_use.d_kg, context.spread)
        if off_centre and context.corners is not None:
            parts.append(contributions.eccentricity(context.corners, reading.indication.kg))
        budget = context.budgets[key] = budget_of(parts)
    return budget


def placing_of(reading: Reading) -> Placed | None:
    """A corner reading stands where it was put: its place is what is measured, not a doubt about it."""
    return "one body centred" if reading.test == "eccentricity" else reading.placed


def _first_range(in_use: Range, context: PhaseContext) -> Range:
    """The range whose division rounds at no load: the one selected, or the finest that follows the load."""
    selected = context.scale.arrangement == "multiple-range"
    return in_use if selected else context.scale.ranges_in(in_use.unit)[0]


def _change_over_parts(in_use: Range, context: PhaseContext, zero_exact: bool) -> tuple[Contribution, ...]:
    key = (id(in_use), "change-over", zero_exact)
    known = context.shared.get(key)
    if known is None:
        zero, at_load, *others = _display_parts(in_use, context)
        at_load = contributions.change_over_at_load(in_use.d_kg)
        if zero_exact:
            zero = contributions.change_over_at_zero(_first_range(in_use, context).d_kg)
        known = context.shared[key] = (zero, at_load, *others)
    return known


def _display_parts(in_use: Range, context: PhaseContext) -> tuple[Contribution, ...]:
    known = context.shared.get(id(in_use))
    if known is None:
        first = _first_range(in_use, context)
        parts = [contributions.rounding_at_zero(first.d_kg), contributions.rounding_at_load(in_use.d_kg)]
        if context.spread is not None:
            parts.append(contributions.repeatability(context.spread))
        known = context.shared[id(in_use)] = tuple(parts)
    return known


def _weight_parts(load: ReferenceLoad, context: PhaseContext) -> tuple[Contribution, ...]:
    if not load.is_loaded:
        return ()
    key = load.key
    known = context.shared.get(key)
    if known is None:
        known = context.shared[key] = contributions.of_the_weights(
            load, context.adjusted_before, context.worked.surroundings
        )
    return known
