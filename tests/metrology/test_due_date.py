"""Due dates by calendar months, at most the last day of a month (calendar arithmetic; a house choice, no source)."""

from calendar import monthrange
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.due_date import due_date

days = st.dates(date(1990, 1, 1), date(2090, 12, 31))


@pytest.mark.parametrize(
    ("last_good", "months", "due"),
    [
        ("2026-10-14", 12, "2027-10-14"),
        ("2026-10-14", 6, "2027-04-14"),
        ("2026-10-14", 3, "2027-01-14"),
        ("2026-12-31", 1, "2027-01-31"),
        ("2026-11-30", 12, "2027-11-30"),
        ("2026-08-31", 6, "2027-02-28"),
        ("2027-08-31", 6, "2028-02-29"),
        ("2028-02-29", 12, "2029-02-28"),
        ("2028-02-29", 48, "2032-02-29"),
        ("2026-03-31", 1, "2026-04-30"),
        ("2026-01-01", 24, "2028-01-01"),
        ("2026-01-31", 0, "2026-01-31"),
    ],
)
def test_a_scale_is_due_that_many_calendar_months_later(last_good: str, months: int, due: str) -> None:
    assert due_date(date.fromisoformat(last_good), months) == date.fromisoformat(due)


@given(days, st.integers(0, 120))
def test_the_day_is_kept_or_is_the_last_of_its_month(last_good: date, months: int) -> None:
    due = due_date(last_good, months)

    whole = (due.year - last_good.year) * 12 + due.month - last_good.month
    assert whole == months
    assert due.day == min(last_good.day, monthrange(due.year, due.month)[1])


@given(days, days, st.integers(1, 60))
def test_a_later_calibration_is_never_due_earlier(one: date, other: date, months: int) -> None:
    first, second = sorted((one, other))

    assert due_date(first, months) <= due_date(second, months)
