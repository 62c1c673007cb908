"""The life of a weight: which events hold it, what ends a hold. The rules are common practice, no source."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.weight_life import MISHAPS, MadeOn, Span, WeightEvent, WeightEventKind, against_on, spans_of

BEGIN = datetime(2026, 11, 23, 6, tzinfo=UTC)
OLD = {"LM-1": MadeOn(date(2026, 1, 5), date(2026, 1, 10))}
RENEWED = OLD | {"LM-2": MadeOn(date(2026, 11, 26), date(2026, 11, 28))}


def at(hours: float) -> datetime:
    return BEGIN + timedelta(hours=hours)


def an_event(kind: WeightEventKind, hours: float, *pieces: str, **more: str) -> WeightEvent:
    moment = at(hours)
    event = WeightEvent(f"{kind} {hours}", kind, moment, moment.date(), pieces or ("A",), "T-01")
    return replace(event, **more) if more else event


def out(hours: float, *pieces: str) -> WeightEvent:
    return an_event("checked out", hours, *(pieces or ("A", "B")), weight_set="S", round="north wing")


def back(hours: float, *pieces: str) -> WeightEvent:
    return replace(an_event("counted in", hours, *pieces), pieces=pieces, weight_set="S")


def kinds(
    *events: WeightEvent, piece: str = "A", certificates: dict[str, MadeOn] = OLD, on: date | None = None
) -> list[str]:
    """Return what speaks against a piece in the end."""
    return [span.kind for span in against_on(spans_of(piece, events, certificates), on or date(2027, 1, 1))]


def test_a_piece_of_which_nothing_was_told_may_be_counted_on() -> None:
    assert spans_of("A", (), OLD) == ()


@pytest.mark.parametrize("kind", MISHAPS)
def test_a_mishap_holds_the_piece_from_that_moment_on(kind: WeightEventKind) -> None:
    (span,) = spans_of("A", [an_event(kind, 5)], OLD)

    assert (span.kind, span.since, span.until, span.speaks_against) == (kind, at(5), None, True)
    assert span.overlaps(at(4), at(5))
    assert not span.overlaps(at(3), at(4.9))


def test_a_mishap_of_one_piece_holds_no_other() -> None:
    assert kinds(an_event("dropped", 5, "A"), piece="B") == []


def test_being_out_speaks_against_nothing_and_ends_with_the_count() -> None:
    (span,) = spans_of("A", [out(1), back(9, "A", "B")], OLD)

    assert (span.kind, span.since, span.until, span.speaks_against) == ("out", at(1), at(9), False)


def test_what_is_not_counted_back_in_is_missing_until_it_is_seen() -> None:
    assert kinds(out(1), back(9, "A"), piece="B") == ["missing"]
    assert kinds(out(1), back(9, "A"), piece="A") == []
    assert kinds(out(1), back(9, "A"), back(10, "B"), piece="B") == []
    assert kinds(out(1), back(9, "A"), out(30), piece="B") == []


def test_a_count_of_another_set_misses_nothing() -> None:
    assert kinds(out(1), replace(back(9), weight_set="OTHER")) == []


def test_at_one_moment_a_set_goes_out_before_it_comes_back_and_a_piece_is_released_after_it_was_compared() -> None:
    good = an_event("compared", 1, verdict="agrees")

    assert kinds(back(1, "A"), out(1), piece="B") == ["missing"]
    assert kinds(an_event("released", 1, comparison=good.event), good, an_event("dropped", 1)) == []


def test_a_count_before_the_set_went_out_misses_nothing() -> None:
    assert kinds(back(0, "B"), out(1)) == []


def test_a_comparison_that_differs_holds_the_piece_and_one_that_agrees_releases_nothing() -> None:
    assert kinds(an_event("compared", 2, verdict="differs")) == ["differs"]
    assert kinds(an_event("compared", 2, verdict="agrees")) == []
    assert kinds(an_event("compared", 2, verdict="cannot tell")) == []
    assert kinds(an_event("dropped", 1), an_event("compared", 2, verdict="agrees")) == ["dropped"]


def test_a_release_lifts_what_the_comparison_it_rests_on_came_after() -> None:
    dropped, good = an_event("dropped", 1), an_event("compared", 2, verdict="agrees")
    released = an_event("released", 3, comparison=good.event)

    assert kinds(dropped, good, released) == []
    assert kinds(replace(dropped, at=at(2.5)), good, released) == ["dropped"]
    assert kinds(dropped, replace(good, verdict="cannot tell"), released) == ["dropped"]
    assert kinds(dropped, replace(good, pieces=("B",)), released) == ["dropped"]
    assert kinds(dropped, released) == ["dropped"]


def test_a_release_on_a_certificate_needs_one_made_on_a_later_day() -> None:
    dropped = an_event("dropped", 1)

    assert kinds(dropped, an_event("released", 200, certificate="LM-2"), certificates=RENEWED) == []
    assert kinds(dropped, an_event("released", 200, certificate="LM-1"), certificates=RENEWED) == ["dropped"]
    assert kinds(dropped, an_event("released", 200, certificate="LM-9"), certificates=RENEWED) == ["dropped"]
    same_day = {"LM-3": MadeOn(dropped.on, dropped.on)}
    assert kinds(dropped, an_event("released", 200, certificate="LM-3"), certificates=same_day) == ["dropped"]


def test_a_second_drop_after_the_release_holds_again() -> None:
    good = an_event("compared", 2, verdict="agrees")

    found = kinds(an_event("dropped", 1), good, an_event("released", 3, comparison=good.event), an_event("dropped", 4))

    assert found == ["dropped"]


def test_at_the_laboratory_it_may_not_be_used_and_afterwards_it_waits_for_a_certificate_made_since() -> None:
    sent, returned = an_event("sent to the laboratory", 1), an_event("back from the laboratory", 100)

    assert kinds(sent) == ["at the laboratory"]
    assert kinds(sent, returned) == ["waits for its certificate"]
    assert kinds(sent, returned, certificates=RENEWED) == []
    assert kinds(sent, returned, certificates=RENEWED, on=date(2026, 11, 27)) == ["waits for its certificate"]
    assert kinds(sent, returned, certificates=RENEWED, on=date(2026, 11, 28)) == []


def test_a_new_certificate_alone_lifts_no_hold() -> None:
    sent, returned = an_event("sent to the laboratory", 2), an_event("back from the laboratory", 150)

    assert kinds(an_event("dropped", 1), sent, returned, certificates=RENEWED) == ["dropped"]


def test_a_hold_is_so_on_the_days_from_its_first_to_the_one_before_it_ended() -> None:
    span = Span("dropped", at(0), at(0).date(), "e", "T-01", until=at(48), until_on=at(48).date())

    days = [BEGIN.date() + timedelta(days=n) for n in (-1, 0, 1, 2)]
    assert [span.is_on(day) for day in days] == [False, True, True, False]


def test_where_place_and_utc_have_two_days_the_first_of_them_counts() -> None:
    """24 November 23:00 UTC is the 25th in Auckland: a hold that would begin with that day would begin late."""
    moment = datetime(2026, 11, 24, 23, tzinfo=UTC)

    assert Span("dropped", moment, date(2026, 11, 25), "e", "T-01").is_on(date(2026, 11, 24))


EVENTS = (
    out(1), an_event("dropped", 2), an_event("washed", 3, "B"), an_event("compared", 4, verdict="agrees"), back(5, "A"),
    an_event("released", 6, comparison="compared 4"), an_event("sent to the laboratory", 7, "A", "B"),
    an_event("back from the laboratory", 120, "A", "B"), out(130), back(131),
)  # fmt: skip


@given(st.permutations(EVENTS))
def test_the_order_of_arrival_changes_nothing(order: list[WeightEvent]) -> None:
    for piece in ("A", "B"):
        assert spans_of(piece, order, RENEWED) == spans_of(piece, EVENTS, RENEWED)
