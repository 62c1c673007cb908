"""What events leave open and what closes them, row by row. The rows are the design's own rules: no document gives them."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.device_events import (
    CLOSED_BY,
    EventKind,
    LaterResult,
    OpenKind,
    Trouble,
    closing_result,
    left_open_by,
    open_sentence,
)
from api.metrology.verdict import VERDICTS, Verdict

MOMENT = datetime(2026, 11, 3, 9, tzinfo=UTC)
AN_HOUR = timedelta(hours=1)


def a_result(
    begun: datetime = MOMENT + AN_HOUR, as_left: Verdict = "pass", unit: str = "kg", locked: bool | None = True
) -> LaterResult:
    return LaterResult("c-1", begun, as_left, unit, locked)


def closes(kind: OpenKind, result: LaterResult, *, lock_required: bool = True) -> bool:
    return closing_result(kind, MOMENT, [result], lock_required=lock_required) is not None


@pytest.mark.parametrize("kind", CLOSED_BY)
def test_a_released_pass_with_the_unit_locked_closes_all_but_what_only_a_person_can_close(kind: OpenKind) -> None:
    assert closes(kind, a_result()) == (kind not in ("damaged", "other", "not in order", "site unknown"))


@pytest.mark.parametrize("kind", CLOSED_BY)
def test_a_result_from_before_it_happened_closes_nothing(kind: OpenKind) -> None:
    assert not closes(kind, a_result(begun=MOMENT - timedelta(seconds=1)))


def test_a_result_that_began_at_the_very_moment_is_after_it() -> None:
    assert closes("dropped", a_result(begun=MOMENT))


@pytest.mark.parametrize("verdict", VERDICTS)
def test_of_all_verdicts_as_left_only_the_two_passes_close(verdict: Verdict) -> None:
    assert closes("reads oddly", a_result(as_left=verdict)) == (verdict in ("pass", "conditional pass"))


@pytest.mark.parametrize(("unit", "locked", "lock_required", "closed"), [
    ("kg", True, True, True),
    ("g", True, True, True),
    ("kg", False, True, False),
    ("kg", None, True, False),
    ("kg", None, False, True),
    ("[lb_av]", True, True, False),
    ("[lb_av]", True, False, False),
])  # fmt: skip
def test_a_wrong_unit_is_closed_by_the_right_one_locked_where_it_can_be(
    unit: str, locked: bool | None, lock_required: bool, closed: bool
) -> None:
    found = a_result(as_left="fail", unit=unit, locked=locked)

    assert closes("wrong unit", found, lock_required=lock_required) == closed


@given(st.permutations([a_result(MOMENT + hours * AN_HOUR) for hours in (-2, 1, 2, 5)]))
def test_the_first_result_after_it_closes_it_whatever_came_first(results: list[LaterResult]) -> None:
    found = closing_result("dropped", MOMENT, results, lock_required=True)

    assert found is not None
    assert found.begun == MOMENT + AN_HOUR


@pytest.mark.parametrize(("kind", "what", "verdict", "left_open"), [
    *(("report", trouble, None, trouble) for trouble in Trouble.__args__),
    ("check", "in service", "pass", None),
    ("check", "in service", "conditional pass", None),
    ("check", "in service", "undecided", None),
    ("check", "in service", None, None),
    ("check", "in service", "conditional fail", "failed check"),
    ("check", "in service", "fail", "failed check"),
    ("move", "moved", None, "moved on the register"),
    ("state", "held back", None, None),
    ("limit", "limited", None, None),
    ("repair", "sent", None, "sent for repair"),
    ("repair", "returned", None, "back from repair"),
])  # fmt: skip
def test_an_event_leaves_open(kind: EventKind, what: str, verdict: Verdict | None, left_open: str | None) -> None:
    assert left_open_by(kind, what, verdict) == left_open


@pytest.mark.parametrize("kind", CLOSED_BY)
def test_every_open_thing_has_a_sentence_that_names_its_day(kind: OpenKind) -> None:
    said = open_sentence(kind, date(2026, 11, 3), "; more")

    assert said.endswith("; more.")
    assert ("3 November 2026" in said) == (kind != "site unknown")
