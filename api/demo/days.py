"""The demonstration's days, counted back from `today`: where the register and the visits have to agree on one.

Visits fall on working days, so that a Saturday or Sunday goes back to its Friday and no day is ever after `today`.
"""

from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

ZONE_NAME: Final = "America/Denver"
_ZONE: Final = ZoneInfo(ZONE_NAME)

REGISTER_BEGINS: Final = 1100

# Days ago on which a story turns; both the register and the visits look them up here.
A07_MOVED: Final = 350
A09_COMPLAINT: Final = 33
A13_LAST_VISIT: Final = 302
A13_RETIRED: Final = 290
B02_SECOND_VISIT: Final = 355
B08_MISSED_AGAIN: Final = 160
C05_FAILED: Final = 258
C05_REPAIRED: Final = 237
E06_CORNER: Final = 41
G03_ON_FOAM: Final = 150
G03_ON_TABLE: Final = 147
# FS2-2-B had no certificate in force between these two days; one visit fell between them.
FS2_PIECE_EXPIRED: Final = 240
FS2_PIECE_RENEWED: Final = 208


def days_before(today: date, days: int) -> date:
    """Return the day so many days before `today`; a negative count lies after it."""
    return today - timedelta(days=days)


def working_day(today: date, days: int) -> date:
    """Return the day so many days before `today`, or the Friday before it where that is a Saturday or Sunday."""
    day = days_before(today, days)
    return day - timedelta(days=max(0, day.weekday() - 4))


def moment(day: date, minutes: int) -> datetime:
    """Return the moment so many minutes after midnight by the clock of the sites, with its offset from UTC."""
    naive = datetime.combine(day, time(minutes // 60, minutes % 60))
    return naive.replace(tzinfo=_ZONE)
