"""May I use it, and when is it due: the invented network's stories answered, whatever order the visits arrived in."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any, get_args

import pytest
from sqlalchemy import Connection, select

from api.answers.due import due_list, due_of
from api.answers.may_i_use import use_of
from api.answers.nearest import instead_of
from api.database import make_engine, reading
from api.demo.devices import STANDINGS
from api.demo.history import visits
from api.demo.weights import UNREGISTERED_PIECE
from api.metrology.use import MayUse, Use
from api.models.log import LOG_ENTRY
from api.queries.calibrations import history_of
from api.records.calibration import Calibration
from api.records.problems import NotOnRecord
from tests.filled_record import TODAY, copy_of
from tests.record.visits_kept import keep

WORST_LAST: tuple[MayUse, ...] = get_args(MayUse)
# Scales with many visits, a move, attempts, repairs, a flagged record: what order could change, it would change here.
SHUFFLED = ("A-04", "A-07", "A-09", "C-05", "E-02", "E-04", "G-03")


def codes(use: Use) -> set[str]:
    return {why.code for why in use.why}


def without_arrival(history: tuple[Calibration, ...]) -> list[Calibration]:
    """Return a history without what belongs to the order of arrival: log numbers and certificate numbers."""
    return [replace(c, log_number=0, certificate="issued" if c.certificate else None) for c in history]


def answers(connection: Connection, tag: str) -> tuple[Any, ...]:
    days = [TODAY - timedelta(days=back) for back in (0, 40, 200, 400)]
    return (
        without_arrival(history_of(connection, tag)),
        [use_of(connection, tag, on=day) for day in days],
        [due_of(connection, tag, on=day) for day in days],
    )


@pytest.mark.parametrize("tag", [standing.tag for standing in STANDINGS])
def test_every_scale_has_an_answer_with_its_reasons_the_worst_first(world: Connection, tag: str) -> None:
    use = use_of(world, tag, on=TODAY)

    ranks = [WORST_LAST.index(why.may) for why in use.why]
    assert ranks == sorted(ranks, reverse=True)
    assert use.why[0].may == use.may
    assert all(why.sentence.endswith(".") and why.code for why in use.why)
    usable = use.may in ("may use", "may use within limits")
    assert all((value is not None) is usable for value in (use.from_kg, use.up_to_kg, use.until))


@pytest.mark.parametrize(
    ("tag", "may", "code"),
    [
        ("A-04", "may use", "within-tolerance"),
        ("A-09", "may use within limits", "limited"),
        ("A-13", "do not use", "state"),
        ("B-08", "do not use", "state"),
        ("E-02", "not proven", "overdue"),
        ("E-06", "do not use", "decision"),
        ("G-05", "do not use", "electrical-safety-overdue"),
    ],
)
def test_a_known_story_has_its_answer(world: Connection, tag: str, may: MayUse, code: str) -> None:
    use = use_of(world, tag, on=TODAY)

    assert (use.may, code in codes(use)) == (may, True), use


def test_a_scale_whose_electrical_safety_test_is_overdue_is_not_used_however_well_it_weighs(world: Connection) -> None:
    use = use_of(world, "G-05", on=TODAY)

    assert [why.code for why in use.why if why.may == "do not use"] == ["electrical-safety-overdue"]
    assert history_of(world, "G-05")[0].as_left == "pass"
    assert "10 November 2026" in use.why[0].sentence


def test_a_limited_scale_may_be_used_up_to_its_written_limit(world: Connection) -> None:
    use = use_of(world, "A-09", on=TODAY)

    assert use.up_to_kg == Decimal(120)
    assert "Limited to 120 kg by S-01." in [why.sentence for why in use.why]
    assert use.until is not None
    assert use.until <= TODAY + timedelta(days=60)
    after = use_of(world, "A-09", on=TODAY + timedelta(days=61))
    assert (after.may, "limit-ended" in codes(after)) == ("do not use", True)


def test_a_scale_that_nobody_finds_and_a_retired_one_say_so(world: Connection) -> None:
    said = {tag: [why.sentence for why in use_of(world, tag, on=TODAY).why] for tag in ("B-08", "A-13")}

    assert "It is not found." in said["B-08"]
    assert "It is retired." in said["A-13"]
    assert due_of(world, "A-13", on=TODAY).state == "retired"
    assert history_of(world, "B-08")[0].reasons == ("not found",)


def test_a_flagged_visit_stays_provisional_and_leaves_the_due_date_where_it_was(world: Connection) -> None:
    """E-04: a borrowed piece that is on no register. Twelve months after the visit before, it is overdue."""
    newest, before = history_of(world, "E-04")[:2]
    due = due_of(world, "E-04", on=TODAY)

    assert (newest.standing, newest.certificate, before.standing) == ("provisional", None, "released")
    assert any(UNREGISTERED_PIECE in flag.sentence for flag in newest.flags)
    assert (due.last_calibrated, due.state) == (date.fromisoformat(before.performed_on), "overdue")


def test_attempts_move_no_due_date(world: Connection) -> None:
    """E-02: last weighed 412 days ago (or on the Friday before), due every twelve months; three attempts since."""
    attempts = [c for c in history_of(world, "E-02") if c.outcome == "not tested"]
    due = due_of(world, "E-02", on=TODAY)

    assert len(attempts) == 3
    assert due.state == "overdue"
    assert due.due is not None
    assert 412 - 365 <= (TODAY - due.due).days <= 414 - 365


def test_the_due_list_has_every_scale_but_the_retired_one_the_longest_due_first(world: Connection) -> None:
    listed = due_list(world, on=TODAY)

    days = [item.due or date.max for item in listed]
    assert {item.device for item in listed} == {s.tag for s in STANDINGS} - {"A-13"}
    assert days == sorted(days)
    assert all(item == due_of(world, item.device, on=TODAY) for item in listed)
    assert {item.device for item in due_list(world, on=TODAY, site="HM")} == {
        "A-02",
        "A-07",
        "C-06",
        "D-03",
        "E-04",
        "G-05",
    }


def test_what_came_later_does_not_speak_for_an_earlier_day(world: Connection) -> None:
    """C-05 failed 258 days ago and came back repaired 237 days ago."""
    days = {back: use_of(world, "C-05", on=TODAY - timedelta(days=back)) for back in (300, 250, 200)}

    assert "do not use" not in (days[300].may, days[200].may)
    assert days[250].may == "do not use"


def test_before_it_was_on_the_register_a_scale_has_no_answer(world: Connection) -> None:
    with pytest.raises(NotOnRecord):
        use_of(world, "A-04", on=date(2000, 1, 1))


@pytest.mark.parametrize("seed", range(2))
def test_history_use_and_due_are_the_same_in_whatever_order_visits_arrive(
    world: Connection, registered: str, tmp_path: Path, seed: int
) -> None:
    sent = [(name, body) for name, body in visits(TODAY) if body["device"] in SHUFFLED]
    shuffled = Random(seed).sample(sent, len(sent))
    assert shuffled != sent

    with copy_of(registered, tmp_path / "shuffled") as settings:
        engine = make_engine(settings.database_url)
        keep(engine, shuffled)
        with reading(engine) as connection:
            found = {tag: answers(connection, tag) for tag in SHUFFLED}
            logged = connection.scalars(
                select(LOG_ENTRY.c.kind).where(LOG_ENTRY.c.kind == "calibration recorded")
            ).all()
        engine.dispose()

    assert len(logged) == len(sent)
    assert found == {tag: answers(world, tag) for tag in SHUFFLED}


def test_what_to_use_instead_is_usable_for_the_same_and_on_the_same_site_the_own_ward_first(world: Connection) -> None:
    found = instead_of(world, "E-06", on=TODAY)

    assert found
    assert {scale.site for scale in found} == {"QG"}
    assert {scale.may for scale in found} <= {"may use", "may use within limits"}
    assert "infant" not in {scale.kind for scale in found}
    assert "E-06" not in {scale.tag for scale in found}


def test_an_infant_scale_is_replaced_by_an_infant_scale_only(world: Connection) -> None:
    assert [scale.kind for scale in instead_of(world, "G-03", on=TODAY)] == ["infant"]
