"""The readings of one phase of a visit, taken from a simulated scale in the order in which a technician takes them."""

from api.demo.bench import Bench
from api.demo.load_lists import LoadList
from api.demo.models import POSITIONS
from api.demo.special_tests import take
from api.metrology.readings import Phase


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
    for further in loads.further:
        take(bench, further)
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
