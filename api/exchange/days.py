"""Days and times out of cells, under one declared order. Months by number only: their names are in some language."""

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.records.import_faults import CellRefused
from api.records.import_profile import DayOrder

_PARTS = re.compile(r"([0-9]{1,4})([./-])([0-9]{1,2})\2([0-9]{1,4})")
_SERIAL = re.compile(r"[0-9]{1,5}(?:[.,][0-9]+)?")
_TIME = re.compile(r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2}))?(?:[ ]?([AaPp])\.?[Mm]\.?)?")
_OFFSET = re.compile(r"(.*?)\s*([+-][0-9]{2}:[0-9]{2}|Z)")
_PLACES: Final = {"year-month-day": (0, 1, 2), "day-month-year": (2, 1, 0), "month-day-year": (2, 0, 1)}
# Serial day 0 of either count. From 1900 counts a 29 February 1900 that never was, so that days before March are one off.
SERIAL_EPOCH: Final = {"serial from 1900": date(1899, 12, 30), "serial from 1904": date(1904, 1, 1)}
_FIRST_SURE = 61
_EXAMPLE = {"year-month-day": "2019-03-14", "day-month-year": "14.03.2019", "month-day-year": "03/14/2019"}


@dataclass(frozen=True, slots=True)
class DayForm:
    """How days are written in a column: their order, and the first year that two digits may mean."""

    order: DayOrder | None
    year_pivot: int | None


def day_of(cell: str, form: DayForm) -> date:
    """Return the day that a cell holds, in the declared order. Refuses what does not fit it (`CellRefused`).

    >>> day_of("3/4/2019", DayForm("day-month-year", None))
    datetime.date(2019, 4, 3)
    """
    parts = _PARTS.fullmatch(cell)
    if parts is None:
        return _serial_day(cell, form.order)
    numbers = (parts[1], parts[3], parts[4])
    if len(numbers[0]) == 4:  # a year that comes first leaves one order only (ISO 8601)
        return _made(cell, int(numbers[0]), int(numbers[1]), int(numbers[2]))
    if form.order not in _PLACES or form.order == "year-month-day":
        wanted = _EXAMPLE.get(form.order or "", "the days in the order that the profile says")
        raise CellRefused(
            "day-order", f"Found {cell!r}; accepted: {wanted}.", "Say the order of the days in the profile."
        )
    year, month, day = (numbers[place] for place in _PLACES[form.order])
    return _made(cell, _year(cell, year, form.year_pivot), int(month), int(day), form.order)


def _year(cell: str, digits: str, pivot: int | None) -> int:
    if len(digits) == 4:
        return int(digits)
    if len(digits) != 2 or pivot is None:
        raise CellRefused(
            "year-pivot", f"Found {cell!r}, whose year has {len(digits)} digits; accepted: four digits.",
            "Or say year_pivot in the profile: the first year that two digits may mean.",
        )  # fmt: skip
    return pivot + (int(digits) - pivot) % 100


def _made(cell: str, year: int, month: int, day: int, order: str = "year-month-day") -> date:
    try:
        found = date(year, month, day)
    except ValueError:
        raise CellRefused(
            "no-such-day", f"Found {cell!r}, which is no day in the order {order}.",
            "Mend the cell; if more of them are so, the order in the profile is wrong.",
        ) from None  # fmt: skip
    return found


def _serial_day(cell: str, order: DayOrder | None) -> date:
    if not _SERIAL.fullmatch(cell):
        raise CellRefused("not-a-day", f"Found {cell!r}; accepted: a day, for example 2019-03-14.")
    count = int(re.split("[.,]", cell)[0])
    if order not in SERIAL_EPOCH:
        raise CellRefused(
            "day-serial",
            f"Found {cell!r}: a spreadsheet's count of days; accepted: a day, for example 2019-03-14.",
            "Show the column as dates and save again, or say in the profile from which year it counts (1900 or 1904).",
        )
    if order == "serial from 1900" and count < _FIRST_SURE:
        raise CellRefused("no-such-day", f"Found {cell!r}, before 1 March 1900, where this count cannot be trusted.")
    return SERIAL_EPOCH[order] + timedelta(days=count)


def time_of(cell: str) -> time:
    """Return the time of day that a cell holds, by 24 hours or with AM or PM."""
    found = _TIME.fullmatch(cell)
    try:
        if found is not None:
            hour = int(found[1])
            if found[4]:
                if not 1 <= hour <= 12:
                    raise ValueError
                hour = hour % 12 + (12 if found[4] in "Pp" else 0)
            return time(hour, int(found[2]), int(found[3] or 0))
    except ValueError:
        pass
    raise CellRefused("not-a-time", f"Found {cell!r}; accepted: a time of day, for example 14:05.")


def split_day(cell: str) -> tuple[str, str | None, str | None]:
    """Return the day, the time and the offset that one cell may hold together.

    >>> split_day("2019-03-14T09:05:00Z")
    ('2019-03-14', '09:05:00', 'Z')
    """
    day, _, rest = cell.replace("T", " ", 1).partition(" ")
    rest = rest.strip()
    if not rest:
        return day, None, None
    found = _OFFSET.fullmatch(rest)
    return (day, found[1], found[2]) if found else (day, rest, None)


def moment_text(day: date, at: time, offset: str | None, zone: str | None) -> str:
    """Return a moment with its offset (RFC 3339), in the zone of the place where the file gives no offset.

    Refuses where no zone is known, a time that the clocks skipped, and one that they showed twice (`CellRefused`).
    """
    local = datetime.combine(day, at)
    if offset is not None:
        return local.isoformat() + offset
    if zone is None:
        raise CellRefused(
            "time-zone",
            "Nothing says in which time zone the times are.",
            "Say time_zone in the profile, by its IANA name.",
        )
    try:
        first = local.replace(tzinfo=ZoneInfo(zone))
    except (ZoneInfoNotFoundError, ValueError):
        raise CellRefused(
            "time-zone", f"No time zone is called {zone!r}.", "Use an IANA name: Europe/Berlin."
        ) from None
    if first.utcoffset() != first.replace(fold=1).utcoffset():
        raise CellRefused(
            "time-twice-or-never", f"Found {local.isoformat(' ')}, when the clocks of {zone} were changed.",
            "Give the moment with its offset, for example 2019-10-27T02:30:00+01:00.",
        )  # fmt: skip
    return first.isoformat()
