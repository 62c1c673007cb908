"""The tolerance at a load: `tolerance`."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Literal

from api.metrology.calculations.amounts import ComputedMass
from api.metrology.exact_text import exact_text, plain
from api.metrology.label_check import LabelFinding, below_least_load, label_findings
from api.metrology.mass import EXACT, Mass, factor_of
from api.metrology.scale import Range, Scale, range_in_use
from api.metrology.terms import Figure, Many, UnitCode, Whole, Written
from api.metrology.tolerance import scheme, tolerance_at

Positive = Annotated[Decimal, Figure(above=Decimal(0))]


@dataclass(frozen=True, slots=True)
class RangeAsked:
    """One range of the scale, in the unit of the question."""

    max: Positive
    d: Positive
    e: Positive


@dataclass(frozen=True, slots=True)
class ToleranceAsked:
    """Scheme, stage and class, the ranges of one displayed unit ascending by Max, and the load.

    With several ranges the scale is multi-interval, unless `range_in_use` says which range of a multiple-range scale was
    selected. A bare load is in the unit of the ranges.
    """

    scheme: Literal["hb44", "r76"]
    stage: Literal["maintenance", "acceptance", "initial", "in-service"]
    accuracy_class: Literal["I", "II", "III", "IIIL", "IIII"]
    ranges: Annotated[tuple[RangeAsked, ...], Many(10, 1)]
    unit: UnitCode
    load: Annotated[Mass | Decimal, Figure()]
    edition: Annotated[str, Written(20)] | None = None
    range_in_use: Whole | None = None


@dataclass(frozen=True, slots=True)
class ToleranceFound:
    """The tolerance in the unit of the ranges and in e, the load in e, the range that counts, and the source.

    `load_in_divisions` is rounded where a fraction stands beside it. `findings` are what the label or the load would be
    asked about; they do not change the tolerance.
    """

    tolerance: ComputedMass
    divisions: str
    load_in_divisions: str
    range_in_use: int
    source: str
    findings: tuple[LabelFinding, ...]
    load_in_divisions_fraction: str | None = None


def tolerance_of(asked: ToleranceAsked) -> ToleranceFound:
    """Return the tolerance at a load, counted in e of the range in use.

    Refuses a stage that is not the scheme's, an edition that is not held, a load above Max, and a load or class for which
    the table has no row.
    """
    rule = scheme(asked.scheme, asked.stage, asked.edition)
    scale = _scale(asked)
    load_kg = asked.load.kg if isinstance(asked.load, Mass) else Mass(asked.load, asked.unit).kg
    in_use = range_in_use(scale, asked.unit, load_kg, asked.range_in_use)
    found = tolerance_at(rule, asked.accuracy_class, in_use, load_kg)
    counted = exact_text(Fraction(load_kg) / Fraction(in_use.e_kg))
    below = below_least_load(asked.accuracy_class, in_use, load_kg)
    return ToleranceFound(
        ComputedMass(plain(EXACT.divide(found.kg, factor_of(asked.unit))), asked.unit),
        plain(EXACT.divide(found.kg, in_use.e_kg)),
        counted.text,
        scale.ranges.index(in_use) + 1,
        found.source,
        (*label_findings(scale, asked.scheme), *([below] if below else [])),
        counted.fraction,
    )


def _scale(asked: ToleranceAsked) -> Scale:
    ranges = tuple(Range(asked.unit, r.max, r.d, r.e) for r in asked.ranges)
    if asked.range_in_use is not None:
        return Scale("stand-on", asked.accuracy_class, "multiple-range", ranges)
    return Scale("stand-on", asked.accuracy_class, "single" if len(ranges) == 1 else "multi-interval", ranges)
