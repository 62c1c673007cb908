"""The app's clock against the service's: what was measured of it, and what it makes of the moments of a visit.

The moments as sent are never altered; corrected ones stand beside them, and only where the clocks were so far apart that it
matters. A correction takes for granted that the clock was as far off at the visit as when it was sent.
"""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

# Clocks further apart than this are flagged (a house choice, no source).
MOST_OFFSET_SECONDS: Final = 120


def offset_of(received_at: datetime, sent_at: datetime | None) -> Decimal | None:
    """Return how far the app's clock was behind the service's, in seconds to the millisecond; None where it is not known."""
    if sent_at is None:
        return None
    return Decimal((received_at - sent_at) // timedelta(milliseconds=1)) / 1000


def is_off(offset_seconds: Decimal | None) -> bool:
    """Return whether the clocks were so far apart that the moments of the visit are in doubt."""
    return offset_seconds is not None and abs(offset_seconds) > MOST_OFFSET_SECONDS


def corrected(moment: datetime, offset_seconds: Decimal | None) -> datetime:
    """Return a moment as the service's clock would have had it, with its own offset from UTC.

    One that a correction would put outside the calendar stays as it is.
    """
    if offset_seconds is None or not is_off(offset_seconds):
        return moment
    try:
        return moment + timedelta(milliseconds=int(offset_seconds * 1000))
    except OverflowError:
        return moment
