"""May I use it, and when is it due, on the whole invented network: worked out again here from the visits themselves."""

from calendar import monthrange
from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import Connection

from api.answers.corners import corners_of_device
from api.answers.due import due_list, due_of
from api.answers.may_i_use import use_of
from api.metrology.use import Use
from api.queries.calibrations import history_of
from api.queries.register import all_in_force, certificates_of, in_force
from api.records.device import Device
from tests.filled_record import TODAY

DAYS = (TODAY, TODAY - timedelta(days=200), TODAY + timedelta(days=400))


def months_after(day: date, months: int) -> date:
    """The same day so many calendar months later, or the last day of that month (common practice, no source)."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def last_good(world: Connection, tag: str, on: date) -> date | None:
    days = [date.fromisoformat(c.performed_on) for c in history_of(world, tag)
            if c.standing == "released" and c.as_left in ("pass", "conditional pass")]  # fmt: skip
    return max((day for day in days if day <= on), default=None)


def devices(world: Connection, on: date) -> list[Device]:
    return [revision.record for revision in all_in_force(world, "device", on=on)]


@pytest.mark.parametrize("on", DAYS)
def test_every_due_date_is_so_many_months_after_the_last_visit_that_left_it_good(world: Connection, on: date) -> None:
    for device in devices(world, on):
        due, good = due_of(world, device.tag, on=on), last_good(world, device.tag, on)
        assert due.last_calibrated == good
        if device.state == "retired":
            assert (due.due, due.state) == (None, "retired")
        elif good is None:
            assert (due.due, due.state) == (device.on_register_since, "never calibrated")
        else:
            assert due.due == months_after(good, device.interval_months)
            assert due.state == ("overdue" if due.due < on else "due today" if due.due == on else "not yet due")


@pytest.mark.parametrize("days", [0, 30, 365])
def test_the_due_list_within_days_holds_what_is_due_by_then(world: Connection, days: int) -> None:
    everything = due_list(world, on=TODAY)

    within = due_list(world, on=TODAY, within_days=days)

    assert within == [d for d in everything if d.due is not None and d.due <= TODAY + timedelta(days=days)]


def test_the_due_list_of_a_site_is_of_that_site(world: Connection) -> None:
    sites = {site: due_list(world, on=TODAY, site=site) for site in ("QG", "HM")}

    assert all(d.site == site for site, found in sites.items() for d in found)
    assert sum(map(len, sites.values())) == len(due_list(world, on=TODAY))


def codes(use: Use) -> set[str]:
    return {why.code for why in use.why}


@pytest.mark.parametrize("on", DAYS)
def test_nothing_unknown_or_past_its_day_is_ever_may_use(world: Connection, on: date) -> None:
    for device in devices(world, on):
        use = use_of(world, device.tag, on=on)
        if use.may in ("may use", "may use within limits"):
            good = last_good(world, device.tag, on)
            assert device.state in ("in service", "limited"), device.tag
            assert good is not None or device.limit is not None, device.tag
            assert device.electrical_safety_due is not None, device.tag
            assert device.electrical_safety_due >= on, device.tag
            assert use.until is not None, device.tag
            assert use.until >= on, device.tag
            assert use.from_kg is not None, device.tag
            assert Decimal(0) <= use.from_kg < (use.up_to_kg or Decimal(0)), device.tag
        else:
            assert (use.from_kg, use.up_to_kg, use.until) == (None, None, None), device.tag


def test_the_network_shows_every_answer_and_each_with_its_reasons(world: Connection) -> None:
    uses = {device.tag: use_of(world, device.tag, on=TODAY) for device in devices(world, TODAY)}

    assert {use.may for use in uses.values()} == {"may use", "may use within limits", "not proven", "do not use"}
    assert all(use.why for use in uses.values())
    assert all(why.sentence.endswith(".") for use in uses.values() for why in use.why)


def test_a_scale_whose_newest_released_result_failed_is_not_to_be_used_without_a_limit(world: Connection) -> None:
    failed = 0
    for device in devices(world, TODAY):
        newest = next((c for c in history_of(world, device.tag) if c.standing == "released" and c.as_left), None)
        if newest is not None and newest.as_left == "fail" and device.limit is None:
            failed += 1
            assert use_of(world, device.tag, on=TODAY).may == "do not use"
    assert failed


def test_a_scale_that_is_overdue_is_not_proven_at_best(world: Connection) -> None:
    overdue = [d.device for d in due_list(world, on=TODAY) if d.state == "overdue"]
    assert overdue

    for tag in overdue:
        use = use_of(world, tag, on=TODAY)
        assert use.may in ("not proven", "do not use")
        assert codes(use) & {"overdue", "state"}


def test_an_answer_on_a_past_day_knows_nothing_of_later_visits(world: Connection) -> None:
    day = date.fromisoformat(history_of(world, "A-04")[-1].performed_on)

    assert "never-calibrated" in codes(use_of(world, "A-04", on=day - timedelta(days=1)))
    assert "never-calibrated" not in codes(use_of(world, "A-04", on=day))


def test_the_history_of_a_scale_is_newest_first_whatever_its_register_says_today(world: Connection) -> None:
    for device in devices(world, TODAY):
        history = history_of(world, device.tag)
        days = [c.performed_on for c in history]
        assert days == sorted(days, reverse=True)
        assert {c.device for c in history} <= {in_force(world, "device", device.tag, on=TODAY).key}


def test_a_visit_with_a_piece_whose_certificate_had_lapsed_says_which_ended_when(world: Connection) -> None:
    visits = [c for device in devices(world, TODAY) for c in history_of(world, device.tag)]
    said = [f.sentence for c in visits for f in c.flags if f.code == "no-reference-value" and "FS2-2-B" in f.sentence]
    governing = certificates_of(world, ["FS2-2-B"])["FS2-2-B"]
    ended = {number: in_force(world, "weight certificate", number, on=TODAY).record.valid_to for number in governing}

    assert said
    assert all(any(f"FS2-2-B ({n} ended on {day})" in sentence for n, day in ended.items()) for sentence in said)


@pytest.mark.parametrize("tag", ["J-01", "H-01"])
def test_corners_read_at_their_change_over_points_are_solved(world: Connection, tag: str) -> None:
    answer = corners_of_device(world, tag, on=TODAY)

    assert answer.finding
    assert len(answer.supports) == 4


def test_a_balance_is_told_in_grams(world: Connection) -> None:
    said = use_of(world, "H-01", on=TODAY).why[0].sentence

    assert said.endswith("proven from 2 to 2000 g. Do not rely on it above 2000 g.")
