"""What was measured at a visit, apart from how it was numbered, worded and sent: for telling a visit sent twice."""

from datetime import datetime, timedelta
from typing import Any, Final

from api.records.documents import read_mass

NEAR: Final = timedelta(minutes=30)  # between two beginnings; a house choice, no source
LONGEST: Final = timedelta(hours=24)  # no visit to one scale takes longer; a house choice, no source
_PHASES: Final = ("as_found", "as_left")
_MASSES: Final = ("load", "indication", "added", "before", "change_over_added", "tare")

Measured = tuple[Any, ...]


def measured_in(content: Any) -> Measured:
    """Return every reading of a submission as phase, test, position and masses in kilograms, sorted.

    Where nothing was read: the outcome and its reasons.
    """
    readings = [
        (phase, reading["test"], reading.get("position") or "", *(_kg(reading.get(name)) for name in _MASSES))
        for phase in _PHASES
        for reading in (content.get(phase) or {}).get("readings", ())
    ]
    if not readings:
        return (content["outcome"], *sorted(content.get("reasons", ())))
    return tuple(sorted(readings))


def _kg(mass: Any) -> str:
    """One text for one mass, whichever unit and however many zeros it was sent with."""
    return "" if mass is None else f"{read_mass(mass).kg.normalize():f}"


def at_the_same_time(one: tuple[datetime, datetime], other: tuple[datetime, datetime]) -> bool:
    """Return whether two visits overlap, or begin near each other; each is given as its beginning and its end."""
    overlap = one[0] <= other[1] and other[0] <= one[1]
    return overlap or abs(one[0] - other[0]) <= NEAR
