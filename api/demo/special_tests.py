"""The tests beyond the usual ones, as a technician takes them: each a few readings from the simulated scale."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Final, Literal

from api.demo.bench import Bench
from api.demo.load_lists import Doing, Further
from api.metrology.scale import display_range
from api.metrology.terms import Position

# Creep is read when the load is placed, at 15 and at 30 minutes (OIML R 76-1:2006 3.9.4.1, from memory).
CREEP_MINUTES: Final = (0, 15, 30)
# How much of the creep is left when the load has just been taken off: invented, no source.
_LEFT_OVER: Final = 0.5
# Where a rolled load is read: coming on, in the middle, going off.
_ON_THE_WAY: Final[tuple[Position, ...]] = ("front", "centre", "back")
_ADDED_TO_A_BASE: Final = (Decimal(1), Decimal(2), Decimal(3))
_BESIDE_THE_SEAT: Final[tuple[Position, ...]] = ("left armrest", "right armrest", "footrest")


def take(bench: Bench, further: Further) -> None:
    """Do one of the tests and write its readings down."""
    _DONE[further.doing](bench, further)


def _more_repeats(bench: Bench, asked: Further) -> None:
    for _ in range(asked.times):
        bench.weigh("repeatability", asked.load)


def _armrests_and_footrest(bench: Bench, asked: Further) -> None:
    for position in _BESIDE_THE_SEAT:
        bench.weigh("eccentricity", asked.load, position)


def _tare(bench: Bench, asked: Further) -> None:
    """What is carried is balanced out; the pieces on top of it are read net."""
    for load in (asked.load, 2 * asked.load):
        _net(bench, asked.carried, load)


def _net(bench: Bench, carried: Decimal, load: Decimal, position: Position | None = None) -> None:
    tared = bench.scale.felt(float(carried))
    net = bench.scale.felt(float(carried) + bench.truly(load), position) - tared
    bench.write(
        "rolling load" if position else "tare",
        bench.scale.shown(net),
        load,
        position=position,
        placed=None if position else bench.placing_of(load),
        tare=bench.scale.shown(tared),
    )


def _rolling_load(bench: Bench, asked: Further) -> None:
    """A wheelchair of known tare with pieces strapped into it is rolled on, read three times on its way, and rolled off."""
    for position in _ON_THE_WAY:
        _net(bench, asked.carried, asked.load, position)


def _substitution(bench: Bench, asked: Further) -> None:
    """Ballast takes the place of the heaviest load until the display shows the same; pieces on top make up the rest."""
    heaviest = max(
        (r for r in bench.readings if r.test == "increasing" and r.load), key=lambda r: r.load.kg if r.load else 0
    )
    assert heaviest.load is not None  # kept above
    division = float(display_range(bench.scale.scale, bench.scale.unit, heaviest.indication.kg).d_kg)
    balanced = float(heaviest.indication.kg) + bench.scale.luck.uniform(-0.4, 0.4) * division
    on_top = asked.load - heaviest.load.kg
    felt = bench.scale.felt(balanced / bench.scale.gain() + bench.truly(on_top))
    bench.write(
        "increasing",
        bench.scale.shown(felt),
        on_top,
        load=bench.as_written(asked.load),
        placed="spread",
        before=bench.scale.shown(balanced),
        substitution=heaviest.seq,
    )


def _difference(bench: Bench, asked: Further) -> None:
    """One, two and three kilograms are added to a load that stays; little moves, so little of the spread is seen."""
    stays = bench.scale.felt(bench.truly(asked.load))
    _at_rest(bench, "difference", stays, asked.load)
    base = bench.readings[-1].seq
    for added in _ADDED_TO_A_BASE:
        more = bench.truly(asked.load + added) - bench.truly(asked.load)
        moved = bench.scale.luck.gauss(0.0, 0.3 * bench.scale.spread_kg(float(asked.load)))
        _at_rest(bench, "difference", stays + more * bench.scale.gain() + moved, asked.load + added)
        bench.readings[-1] = replace(bench.readings[-1], base=base)


def _creep(bench: Bench, asked: Further) -> None:
    """Zero is set, the load stays for half an hour, and zero is read again when it is off."""
    bench.empty("zero set", bench.scale.zero_set())
    stays = bench.scale.felt(bench.truly(asked.load))
    for minutes in CREEP_MINUTES:
        _at_rest(bench, "creep", stays + bench.scale.crept(float(asked.load), minutes), asked.load)
        bench.readings[-1] = replace(bench.readings[-1], minutes=minutes)
    _zero_after(bench, asked.load, CREEP_MINUTES[-1])


def _at_rest(bench: Bench, test: Literal["difference", "creep"], felt: float, load: Decimal) -> None:
    exact = bench.scale.added_to_change_over(felt) if bench.change_over else None
    bench.write(test, bench.scale.shown(felt), load, placed=bench.placing_of(load), change_over_added=exact)


def _return_to_zero(bench: Bench, asked: Further) -> None:
    """Zero is set, the load stands for so many minutes, and zero is read when it is off again."""
    bench.empty("zero set", bench.scale.zero_set())
    _zero_after(bench, asked.load, asked.times)


def _zero_after(bench: Bench, load: Decimal, minutes: int) -> None:
    felt = _LEFT_OVER * bench.scale.crept(float(load), minutes)
    exact = bench.scale.added_to_change_over(felt) if bench.change_over else None
    bench.write("return to zero", bench.scale.shown(felt), minutes=minutes, change_over_added=exact)


def _unit_switch(bench: Bench, asked: Further) -> None:
    """The same load in every unit that the scale can show."""
    felt = bench.scale.felt(bench.truly(asked.load))
    for unit in dict.fromkeys(r.unit for r in bench.scale.scale.ranges):
        shown = replace(bench.scale, unit=unit).shown(felt)
        bench.write("unit switch", shown, asked.load, placed=bench.placing_of(asked.load))


def _power_cycle(bench: Bench, asked: Further) -> None:
    bench.weigh("power cycle", asked.load)


_DONE: Final[dict[Doing, Callable[[Bench, Further], None]]] = {
    "more repeats": _more_repeats,
    "armrests and footrest": _armrests_and_footrest,
    "tare": _tare,
    "rolling load": _rolling_load,
    "substitution": _substitution,
    "difference": _difference,
    "creep": _creep,
    "return to zero": _return_to_zero,
    "unit switch": _unit_switch,
    "power cycle": _power_cycle,
}
