"""The readings of one phase of a visit, taken from a simulated scale in the order in which a technician takes them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from api.demo.behaviour import SimulatedScale
from api.demo.load_lists import LoadList, pieces_for, true_load
from api.demo.models import POSITIONS
from api.metrology.mass import Mass, kilograms
from api.metrology.readings import Phase, Reading
from api.metrology.scale import range_in_use
from api.metrology.terms import Placed, Position, TestName

# Discrimination: 1.4 d added to a scale at rest must change the display (OIML R 76-1:2006 3.8.2.2, from memory).
# Grains brought the scale to just below the next change-over first, as HB 44 N.1.5 has it (from memory).
_ADDED_DIVISIONS: Final = Decimal("1.4")


@dataclass(slots=True)
class Bench:
    """A scale, a set of weights beside it, and the readings written down so far.

    `swapped` names the piece that was really taken in place of one of the set.
    """

    scale: SimulatedScale
    weight_set: str
    swapped: Mapping[str, str] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)

    def empty(self, test: TestName, indication: Mass) -> None:
        """Write down a reading with nothing on the scale."""
        self.readings.append(Reading(len(self.readings) + 1, test, indication, stable=True))

    def weigh(
        self, test: TestName, load: Decimal, position: Position | None = None, excluded: str | None = None
    ) -> Mass:
        """Place a load, write down the display, and return it; an excluded reading shows 6 d too much."""
        pieces = pieces_for(self.weight_set, load)
        felt = self.scale.felt(true_load(self.weight_set, pieces), position, unloading=test == "decreasing")
        indication = self.scale.shown(felt + (6 * self.scale.finest_kg if excluded else 0.0))
        self.readings.append(
            Reading(
                seq=len(self.readings) + 1,
                test=test,
                indication=indication,
                load=kilograms(load),
                pieces=self._named(pieces),
                placed=None if position else _placed(pieces),
                position=position,
                stable=True,
                excluded=excluded,
            )
        )
        return indication

    def add_little(self, load: Decimal) -> None:
        """Add 1.4 divisions to a load at rest, just below a change-over, and write down the display before and after."""
        pieces = pieces_for(self.weight_set, load)
        felt = self.scale.just_below_change_over(self.scale.felt(true_load(self.weight_set, pieces)))
        in_use = range_in_use(self.scale.scale, self.scale.unit, load)
        self.readings.append(
            Reading(
                seq=len(self.readings) + 1,
                test="discrimination",
                indication=self.scale.shown(felt + float(_ADDED_DIVISIONS * in_use.d_kg)),
                load=kilograms(load),
                pieces=self._named(pieces),
                placed=_placed(pieces),
                stable=True,
                before=self.scale.shown(felt),
                added=Mass((_ADDED_DIVISIONS * in_use.d).normalize(), in_use.unit),
            )
        )

    def _named(self, pieces: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(self.swapped.get(code, code) for code in pieces)


def _placed(pieces: tuple[str, ...]) -> Placed:
    return "one body centred" if len(pieces) == 1 else "spread"


def as_found(bench: Bench, loads: LoadList, mishap: str | None = None) -> Phase:
    """Return all readings before anything is touched; a mishap is one more reading, excluded with its reason."""
    bench.empty("zero found", bench.scale.zero_found())
    bench.empty("zero set", bench.scale.zero_set())
    bench.weigh("first loading", loads.increasing[-1])
    for load in loads.increasing:
        if mishap and load == loads.discrimination:
            bench.weigh("increasing", load, excluded=mishap)
        bench.weigh("increasing", load)
    for load in loads.decreasing:
        bench.weigh("decreasing", load)
    _corners(bench, loads)
    _repeats(bench, loads)
    bench.add_little(loads.discrimination)
    return Phase(tuple(bench.readings))


def as_left(bench: Bench, loads: LoadList, corners_too: bool) -> Phase:
    """Return the readings after the last change, the scale switched off and on; with corners where asked for."""
    bench.empty("zero set", bench.scale.zero_set())
    for load in loads.as_left:
        bench.weigh("increasing", load)
    if corners_too:
        _corners(bench, loads)
    _repeats(bench, loads)
    return Phase(tuple(bench.readings), switched_off_and_on=True)


def _corners(bench: Bench, loads: LoadList) -> None:
    for position in POSITIONS[bench.scale.scale.kind]:
        bench.weigh("eccentricity", loads.eccentric, position)


def _repeats(bench: Bench, loads: LoadList) -> None:
    for _ in range(loads.repeats):
        bench.weigh("repeatability", loads.repeated)
