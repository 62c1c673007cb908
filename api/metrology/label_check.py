"""Whether a scale's label can be what it says: class, Max, d and e of every range against NIST HB 44 or OIML R 76.

Findings, never refusals: a scale with a strange label is still judged. Each says what is wrong, the facts, and the clause.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from api.metrology.class_parameters import (
    HB44_TABLE_3,
    R76_II_FINE_TO_G,
    R76_MIN_II,
    R76_MIN_II_FINE,
    R76_MIN_IN_E,
    R76_TABLE_3,
    R76_TABLE_4,
    ClassRow,
)
from api.metrology.mass import EXACT, factor_of, in_kilograms, label_of
from api.metrology.scale import Range, Scale

LabelScheme = Literal["hb44", "r76"]
_SOURCE: Final = {"hb44": "NIST HB 44 section 2.20 Table 3", "r76": "OIML R 76-1:2006 Table 3"}
_AVOIRDUPOIS: Final = ("[lb_av]", "[oz_av]", "[stone_av]")


@dataclass(frozen=True, slots=True)
class LabelFinding:
    """One thing a label says that the scheme does not allow: a stable code, a sentence, the facts, the clause."""

    code: str
    sentence: str
    source: str
    facts: dict[str, str] = field(default_factory=dict)


def label_findings(scale: Scale, scheme: LabelScheme) -> tuple[LabelFinding, ...]:
    """Return everything the label says that the scheme does not allow, unit by unit, range by range; none: it is in order.

    n = Max / e counts for each range by itself; a class without a row in the scheme has one finding.
    """
    table = HB44_TABLE_3 if scheme == "hb44" else R76_TABLE_3
    if all(row.accuracy_class != scale.accuracy_class for row in table):
        said = f"{_SOURCE[scheme]} has no class {scale.accuracy_class}."
        return (LabelFinding("class-unknown", said, _SOURCE[scheme], {"class": scale.accuracy_class}),)
    found: list[LabelFinding] = []
    for ranges in scale.by_unit.values():
        for place, one in enumerate(ranges):
            first, last = _is_outermost(scale, place, 0), _is_outermost(scale, place, len(ranges) - 1)
            found += _of_range(scale, scheme, one, first=first, last=last)
        if scale.arrangement == "multi-interval":
            found += _of_partial_ranges(scale.accuracy_class, scheme, ranges)
    return tuple(found)


def below_least_load(accuracy_class: str, in_use: Range, load_kg: Decimal) -> LabelFinding | None:
    """Return the finding that a load lies below Min, the marked one or else that of R 76-1:2006 Table 3, or None.

    A warning: readings there carry a large share of rounding; the tolerance holds all the same.
    """
    if in_use.min is not None:
        least, source = in_kilograms(in_use.min, in_use.unit), "Min as marked"
    elif (by_class := least_by_class(accuracy_class, in_use)) is not None:
        least, source = by_class.kg, f"OIML R 76-1:2006 Table 3, Min = {by_class.words}"
    else:
        return None
    if not 0 < load_kg < least:
        return None
    said = f"The load lies below Min, {EXACT.divide(least, factor_of(in_use.unit)):f} {label_of(in_use.unit)}."
    return LabelFinding("below-min", said, source, {"load": f"{load_kg:f} kg", "min": f"{least:f} kg"})


class LeastLoad(NamedTuple):
    """The least Min of a class: how many intervals it is, of which kind (e or d), and in kilograms."""

    number: int
    interval: Literal["e", "d"]
    kg: Decimal

    @property
    def words(self) -> str:
        """The number of intervals as it is written, for example `20 e`."""
        return f"{self.number} {self.interval}"


def least_by_class(accuracy_class: str, in_use: Range) -> LeastLoad | None:
    """Return the least Min of a class by R 76-1:2006 Table 3, None for a class without one.

    With an auxiliary digit d takes the place of e in the last column of the table (3.4.3, from memory, high confidence);
    the row is still chosen by e.
    """
    count = least_in_e(accuracy_class, in_use)
    if count is None:
        return None
    if accuracy_class in ("I", "II") and in_use.d_kg < in_use.e_kg:
        return LeastLoad(count, "d", EXACT.multiply(Decimal(count), in_use.d_kg))
    return LeastLoad(count, "e", EXACT.multiply(Decimal(count), in_use.e_kg))


def least_in_e(accuracy_class: str, in_use: Range) -> int | None:
    """Return the number in the last column of R 76-1 Table 3, None for a class without one."""
    if accuracy_class == "II":
        return R76_MIN_II_FINE if in_use.e_kg <= in_kilograms(R76_II_FINE_TO_G, "g") else R76_MIN_II
    return R76_MIN_IN_E.get(accuracy_class)


def _is_outermost(scale: Scale, place: int, end: int) -> bool:
    """Only the last partial range of a multi-interval scale must hold n min, and only the first has its Min; every range
    of the others must, and has."""
    return scale.arrangement != "multi-interval" or place == end


def _of_range(scale: Scale, scheme: LabelScheme, one: Range, *, first: bool, last: bool) -> Iterator[LabelFinding]:
    yield from _steps(scheme, one)
    yield from _auxiliary(scale, scheme, one)
    if scheme == "r76" and one.unit in _AVOIRDUPOIS:
        said = f"A range in {label_of(one.unit)} cannot be verified under R 76 in the EU: SI units only."
        yield LabelFinding("unit-not-si", said, "Directive 2014/31/EU Annex I 1", {"unit": label_of(one.unit)})
        return
    row = _row_for(scale.accuracy_class, scheme, one)
    if row is None:
        said = f"Class {scale.accuracy_class} has no row for e = {_shown(one.e, one)}."
        yield LabelFinding("no-such-interval", said, _SOURCE[scheme], {"e": _shown(one.e, one)})
        return
    yield from _count(scale, scheme, one, row, last=last)
    yield from _least_min(scale, scheme, one, first=first)


def _row_for(accuracy_class: str, scheme: LabelScheme, one: Range) -> ClassRow | None:
    """The row of the range's own system of units where the table has one, else the metric row, compared exactly."""
    table = [r for r in (HB44_TABLE_3 if scheme == "hb44" else R76_TABLE_3) if r.accuracy_class == accuracy_class]
    own = [r for r in table if r.unit == one.unit] if one.unit in _AVOIRDUPOIS else []
    metric = [r for r in table if r.unit not in _AVOIRDUPOIS]
    for row in own or metric:
        most = None if row.most is None else in_kilograms(row.most, row.unit)
        if in_kilograms(row.least, row.unit) <= one.e_kg and (most is None or one.e_kg <= most):
            return row
    return None


def _count(scale: Scale, scheme: LabelScheme, one: Range, row: ClassRow, *, last: bool) -> Iterator[LabelFinding]:
    n = Fraction(one.max) / Fraction(one.e)
    facts = {"n": _number(n), "max": _shown(one.max, one), "e": _shown(one.e, one)}
    if row.n_max is not None and n > row.n_max:
        said = f"n = {_number(n)} is above the {row.n_max} that class {row.accuracy_class} may have."
        yield LabelFinding("too-many-intervals", said, _SOURCE[scheme], facts | {"n_max": str(row.n_max)})
    if last and n < row.n_min and not _fine_class_one(scale, scheme, one):
        said = f"n = {_number(n)} is below the {row.n_min} that class {row.accuracy_class} needs at this e."
        yield LabelFinding("too-few-intervals", said, _SOURCE[scheme], facts | {"n_min": str(row.n_min)})


def _least_min(scale: Scale, scheme: LabelScheme, one: Range, *, first: bool) -> Iterator[LabelFinding]:
    """R 76-1:2006 Table 3 says how small a marked Min may be; HB 44 marks none."""
    least = least_by_class(scale.accuracy_class, one)
    if scheme != "r76" or not first or one.min is None or least is None:
        return
    interval = one.e if least.interval == "e" else one.d
    if one.min >= least.number * interval:
        return
    facts = {
        "min": _shown(one.min, one), least.interval: _shown(interval, one), "least": _shown(least.number * interval, one),
    }  # fmt: skip
    said = f"Min = {facts['min']} is below {least.words} = {facts['least']}."
    yield LabelFinding("min-too-small", said, _SOURCE[scheme], facts)


def _fine_class_one(scale: Scale, scheme: LabelScheme, one: Range) -> bool:
    """R 76-1:2006 3.4.4: class I with d below 0.1 mg has e = 1 mg and may hold fewer than 50 000 of them."""
    return scheme == "r76" and scale.accuracy_class == "I" and one.d_kg < in_kilograms(Decimal("0.1"), "mg")


def _steps(scheme: LabelScheme, one: Range) -> Iterator[LabelFinding]:
    for name, value in (("d", one.d), ("e", one.e)):
        if is_step(value) or (scheme == "hb44" and one.unit in _AVOIRDUPOIS and _is_binary_part(value)):
            continue
        said = f"{name} = {_shown(value, one)} is not 1, 2 or 5 times a power of ten."
        source = "OIML R 76-1:2006 3.2" if scheme == "r76" else "NIST HB 44 section 2.20 S.1.2, from memory"
        yield LabelFinding("not-a-step", said, source, {name: _shown(value, one)})


def is_step(value: Decimal) -> bool:
    """Return whether a division or interval is 1, 2 or 5 times a power of ten (OIML R 76-1:2006 3.2)."""
    digits = value.normalize().as_tuple().digits
    return value > 0 and digits in ((1,), (2,), (5,))


def _is_binary_part(value: Decimal) -> bool:
    """Halves, quarters, eighths of a pound or ounce: NIST HB 44 allows them in some devices (from memory, medium)."""
    part = Fraction(value)
    return value > 0 and part.numerator == 1 and part.denominator.bit_count() == 1


def _auxiliary(scale: Scale, scheme: LabelScheme, one: Range) -> Iterator[LabelFinding]:
    """R 76-1:2006 3.4: d below e only in classes I and II, e at most 10 d and a power of ten; not on partial ranges."""
    facts = {"d": _shown(one.d, one), "e": _shown(one.e, one)}
    source = "OIML R 76-1:2006 3.4" if scheme == "r76" else "NIST HB 44 section 2.20 Table 3 note 1, from memory"
    if one.d > one.e:
        yield LabelFinding("d-above-e", f"d = {facts['d']} is above e = {facts['e']}.", source, facts)
    if one.d >= one.e:
        return
    if scale.accuracy_class not in ("I", "II"):
        said = f"Class {scale.accuracy_class} has no auxiliary digit: d = e, not {facts['d']} beside {facts['e']}."
        yield LabelFinding("auxiliary-digit", said, source, facts)
    elif one.e > 10 * one.d and not _fine_class_one(scale, scheme, one):
        yield LabelFinding("auxiliary-digit", f"e = {facts['e']} is more than 10 d, d = {facts['d']}.", source, facts)
    if scheme == "r76" and one.e.normalize().as_tuple().digits != (1,):
        said = f"With an auxiliary digit e is a power of ten of the gram, not {facts['e']}."
        yield LabelFinding("auxiliary-digit", said, source, facts)
    if scheme == "r76" and scale.arrangement == "multi-interval":
        said = "A multi-interval scale has no auxiliary digit."
        yield LabelFinding("auxiliary-digit", said, "OIML R 76-1:2006 3.4.1, Directive 2014/31/EU Annex I", facts)


def _of_partial_ranges(accuracy_class: str, scheme: LabelScheme, ranges: tuple[Range, ...]) -> Iterator[LabelFinding]:
    """R 76-1:2006 3.3 and Table 4; under HB 44 only that the interval grows (T.N.2.4 counts each range's own e)."""
    for lower, upper in pairwise(ranges):
        facts = {"max": _shown(lower.max, lower), "e": _shown(lower.e, lower), "next e": _shown(upper.e, upper)}
        if upper.e <= lower.e:
            said = f"e does not grow from one partial range to the next: {facts['e']}, then {facts['next e']}."
            yield LabelFinding("interval-does-not-grow", said, "OIML R 76-1:2006 3.3", facts)
        least = R76_TABLE_4.get(accuracy_class)
        if scheme == "r76" and least is not None and Fraction(lower.max) / Fraction(upper.e) < least:
            n = _number(Fraction(lower.max) / Fraction(upper.e))
            said = f"Max of a partial range over the next e is {n}; class {accuracy_class} needs {least}."
            yield LabelFinding(
                "partial-range-too-short", said, "OIML R 76-1:2006 Table 4", facts | {"least": str(least)}
            )


def _shown(value: Decimal, one: Range) -> str:
    return f"{value:f} {label_of(one.unit)}"


def _number(n: Fraction) -> str:
    return str(n.numerator) if n.denominator == 1 else f"{float(n):.6g}"
