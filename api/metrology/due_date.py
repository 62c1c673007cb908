"""When a scale is due: calendar months after the last calibration that left it within tolerance."""

from calendar import monthrange
from datetime import date


def due_date(last_good: date, interval_months: int) -> date:
    """Return the day that many calendar months later, at most the last day of its month.

    >>> due_date(date(2026, 8, 31), 6)
    datetime.date(2027, 2, 28)
    """
    months = last_good.month - 1 + interval_months
    year, month = last_good.year + months // 12, months % 12 + 1
    return date(year, month, min(last_good.day, monthrange(year, month)[1]))
