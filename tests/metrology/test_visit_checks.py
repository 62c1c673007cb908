"""What a visit as a whole leaves open: flags that hold it, and notes that hold nothing back (house rules, no source)."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from api.metrology.judging import judge
from api.metrology.mass import Mass
from api.metrology.submission import (
    Adjustment,
    AppVerdict,
    CheckItem,
    Configuration,
    ConfigurationRead,
    CountersRead,
    EventCounters,
    IdentityItem,
    PiecesCounted,
    Setup,
    Submission,
    TakenDown,
)
from api.metrology.visit_checks import flags_of_visit, notes_of_visit
from tests.metrology.loads_placed import PLAIN, a_case, a_reading, a_submission, increasing, kg, sound_readings

SPAN = Adjustment("span", kg("300.0"), ("300.0",))


def flags(sent: Submission) -> list[tuple[str, str | None]]:
    return [
        (flag.code, flag.pointer) for flag in flags_of_visit(sent, PLAIN, bool(sent.adjustments), len(sent.pieces_used))
    ]


def notes(sent: Submission) -> list[tuple[str, str | None]]:
    judgement = judge(a_case(sent))
    found = notes_of_visit(sent, PLAIN, judgement.as_found, judgement.as_left)
    return [(note.code, note.pointer) for note in found]


def a_sound_visit(**more: Any) -> Submission:
    return a_submission(sound_readings(), **more)


def an_adjusted_visit(**more: Any) -> Submission:
    return a_submission(sound_readings(), sound_readings(), [SPAN], **more)


def test_a_complete_visit_raises_nothing() -> None:
    for sent in (a_sound_visit(), an_adjusted_visit()):
        assert (flags(sent), notes(sent)) == ([], [])


def test_missing_as_found_readings_are_flagged_because_adjusting_erases_evidence() -> None:
    sent = a_submission(None, sound_readings(), [SPAN])

    assert flags(sent) == [("as-found-missing", "#/as_found")]
    assert "C-14" in flags_of_visit(sent, PLAIN, adjusted=True, pieces_used=1)[0].sentence


def test_a_scale_that_was_adjusted_and_not_read_again_is_flagged() -> None:
    assert flags(a_submission(sound_readings(), None, [SPAN])) == [("as-left-missing", "#/as_left")]


def test_nothing_adjusted_needs_no_as_left() -> None:
    assert flags(a_submission(sound_readings(), None)) == []


@pytest.mark.parametrize(
    ("counted", "code"),
    [
        (None, "pieces-not-counted"),
        (PiecesCounted(20, 19), "pieces-missing"),
        (PiecesCounted(19, 20), "pieces-missing"),
        (PiecesCounted(20, 20), None),
        (PiecesCounted(4, 4), None),
        (PiecesCounted(3, 3), "pieces-missing"),  # four are named in the readings
    ],
)
def test_weights_are_counted_out_and_in(counted: PiecesCounted | None, code: str | None) -> None:
    raised = flags(a_sound_visit(pieces_counted=counted))

    assert raised == ([(code, "#/pieces_counted")] if code else [])


def test_a_missing_piece_says_where_to_look() -> None:
    sent = a_sound_visit(pieces_counted=PiecesCounted(20, 19))

    flag = flags_of_visit(sent, PLAIN, adjusted=False, pieces_used=19)[0]

    assert flag.sentence == "20 pieces went out and 19 came back: look in the bed, cot or basket (C-21)."
    assert flag.facts == {"out": "20", "back": "19"}


def test_without_weights_there_is_nothing_to_count() -> None:
    sent = a_submission([a_reading("zero found", "0", "0.0")], pieces_counted=None)

    assert flags(sent) == []


def test_not_tested_with_a_reason_is_a_whole_visit() -> None:
    sent = a_submission(None, outcome="not tested", reasons=("in use",), pieces_counted=None)

    assert flags(sent) == []


def test_not_tested_without_a_reason_is_flagged() -> None:
    sent = a_submission(None, outcome="not tested", pieces_counted=None)

    assert flags(sent) == [("reason-missing", "#/reasons")]


def test_not_tested_with_readings_contradicts_itself() -> None:
    assert flags(a_sound_visit(outcome="not tested", reasons=("in use",))) == [("tested-but-said-not", "#/outcome")]


@pytest.mark.parametrize(("empty", "raised"), [(False, True), (True, False), (None, False)])
def test_zero_adjusted_under_a_load_is_flagged_at_its_place(empty: bool | None, raised: bool) -> None:
    adjustments = [SPAN, Adjustment("zero", platform_empty=empty)]

    found = flags(a_submission(sound_readings(), sound_readings(), adjustments))

    assert found == ([("zero-not-empty", "#/adjustments/1")] if raised else [])


def test_a_reading_left_out_and_not_taken_again_is_flagged() -> None:
    bumped = a_reading("increasing", "250.0", "261.0", excluded="somebody leaned on it")

    found = flags(a_submission([*sound_readings(), bumped]))

    assert found == [("excluded-not-repeated", f"#/as_found/readings/{len(sound_readings())}")]


def test_a_reading_left_out_and_taken_again_raises_nothing() -> None:
    bumped = a_reading("increasing", "250.0", "261.0", excluded="somebody leaned on it")

    assert flags(a_submission([*sound_readings(), bumped, *increasing("250.0")])) == []


@pytest.mark.parametrize(
    ("unit", "noted"), [("[lb_av]", True), ("compound", True), ("[stone_av]", True), ("kg", False), ("g", False)]
)
def test_a_scale_found_in_another_unit_is_noted(unit: Any, noted: bool) -> None:
    sent = a_sound_visit(configuration=ConfigurationRead(before=Configuration(unit=unit)))

    assert notes(sent) == ([("unit-found", "#/configuration/before/unit")] if noted else [])


@pytest.mark.parametrize(("locked", "noted"), [(False, True), (True, False), (None, False)])
def test_a_unit_that_can_still_be_switched_is_noted(locked: bool | None, noted: bool) -> None:
    sent = a_sound_visit(configuration=ConfigurationRead(after=Configuration(unit_locked=locked)))

    assert notes(sent) == ([("unit-not-locked", "#/configuration/after/unit_locked")] if noted else [])


def counted(before: int | None, after: int | None) -> CountersRead:
    return CountersRead(EventCounters(adjustment=before), EventCounters(adjustment=after))


@pytest.mark.parametrize(
    ("counters", "noted"),
    [(counted(7, 7), True), (counted(7, 8), False), (counted(None, None), False), (None, False)],
)
def test_a_counter_that_stood_still_through_an_adjustment_is_noted(counters: CountersRead | None, noted: bool) -> None:
    assert notes(an_adjusted_visit(counters=counters)) == ([("counter-stood-still", "#/counters")] if noted else [])


def test_a_counter_that_stood_still_without_an_adjustment_is_as_it_should_be() -> None:
    assert notes(a_sound_visit(counters=counted(7, 7))) == []


def test_the_apps_own_verdict_is_noted_where_it_differs_and_ours_counts() -> None:
    sent = an_adjusted_visit(app_verdict=AppVerdict(as_found="fail", as_left="pass"))

    assert notes(sent) == [("app-verdict-differs", "#/app_verdict/as_found")]
    assert judge(a_case(sent)).verdict_as_found == "pass"


@pytest.mark.parametrize(("switched", "noted"), [(True, False), (False, True), (None, True)])
def test_as_left_readings_without_switching_off_and_on_are_noted(switched: bool | None, noted: bool) -> None:
    sent = an_adjusted_visit()
    assert sent.as_left is not None
    sent = replace(sent, as_left=replace(sent.as_left, switched_off_and_on=switched))

    assert notes(sent) == ([("not-switched-off-and-on", "#/as_left/switched_off_and_on")] if noted else [])


@pytest.mark.parametrize("item", ["asset tag", "serial", "model", "capacity label", "interval label", "class mark"])
def test_what_tells_it_from_another_scale_is_flagged_where_it_differs(item: Any) -> None:
    sent = a_sound_visit(identity=(IdentityItem("firmware", True), IdentityItem(item, False, "A-77")))

    assert (flags(sent), notes(sent)) == ([("identity-differs", "#/identity/1")], [])


@pytest.mark.parametrize("item", ["firmware", "udi", "location"])
def test_what_may_change_on_the_same_scale_is_only_noted(item: Any) -> None:
    sent = a_sound_visit(identity=(IdentityItem("asset tag", True), IdentityItem(item, False)))

    assert (flags(sent), notes(sent)) == ([], [("identity-differs", "#/identity/1")])


@pytest.mark.parametrize(
    ("left", "raised"),
    [
        (Configuration(capacity=kg("300"), interval=kg("0.1")), 0),
        (Configuration(capacity=kg("250")), 1),
        (Configuration(interval=kg("0.2")), 1),
        (Configuration(capacity=kg("250"), interval=kg("0.2")), 2),
        (Configuration(capacity=Mass(Decimal(600), "[lb_av]")), 1),  # a unit this scale does not show
        (Configuration(), 0),
    ],
)
def test_a_scale_left_otherwise_than_registered_is_flagged(left: Configuration, raised: int) -> None:
    sent = a_sound_visit(configuration=ConfigurationRead(after=left))

    assert flags(sent) == [("configuration-differs", "#/configuration/after")] * raised


def test_a_configuration_read_only_before_is_how_it_was_left() -> None:
    sent = a_sound_visit(configuration=ConfigurationRead(before=Configuration(capacity=kg("250"))))

    assert flags(sent) == [("configuration-differs", "#/configuration/before")]


def test_a_configuration_set_right_during_the_visit_raises_nothing() -> None:
    read = ConfigurationRead(Configuration(capacity=kg("250")), Configuration(capacity=kg("300")))

    assert flags(a_sound_visit(configuration=read)) == []


def test_what_was_looked_at_and_is_not_in_order_is_flagged_at_its_place() -> None:
    checks = (
        CheckItem("feet", "in order"),
        CheckItem("mains lead", "not in order"),
        CheckItem("sling", "does not apply"),
    )

    assert flags(a_sound_visit(checks=checks)) == [("check-not-in-order", "#/checks/1")]


@pytest.mark.parametrize(("level", "noted"), [(False, True), (True, False), (None, False)])
def test_a_scale_that_did_not_stand_level_is_noted(level: bool | None, noted: bool) -> None:
    assert notes(a_sound_visit(setup=Setup(level=level))) == ([("not-level", "#/setup/level")] if noted else [])


def test_a_scale_left_in_another_unit_is_noted() -> None:
    sent = a_sound_visit(configuration=ConfigurationRead(after=Configuration(unit="[lb_av]", unit_locked=True)))

    assert notes(sent) == [("unit-left", "#/configuration/after/unit")]


SHEET = "sha256:" + "0" * 64


def test_what_was_typed_from_paper_and_compared_by_nobody_is_held() -> None:
    typed = a_sound_visit(taken_down=TakenDown("T-01", "T-02", None, SHEET))
    compared = a_sound_visit(taken_down=TakenDown("T-01", "T-02", "T-03", SHEET))

    assert ("not-compared", "#/taken_down/compared_by") in flags(typed)
    assert "not-compared" not in dict(flags(compared))


def test_readings_that_never_were_on_paper_need_nobody_to_compare_them() -> None:
    assert "not-compared" not in dict(flags(a_sound_visit(taken_down=TakenDown("T-01", "T-01"))))


@pytest.mark.parametrize("compared_by", ["T-01", "T-02"])
def test_comparing_with_oneself_is_said_and_holds_nothing(compared_by: str) -> None:
    alone = a_sound_visit(taken_down=TakenDown("T-01", "T-02", compared_by, SHEET))

    assert "compared-alone" in dict(notes(alone))
    assert "not-compared" not in dict(flags(alone))
