"""What a label may say: never more than its record. Common practice, no source; C-06 for what is proven in part."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from api.metrology.visit_label import LabelFacts, RecordSaid, not_right

DAY = date(2026, 11, 24)
RECORD = RecordSaid("released", "A-04", DAY, "pass", Decimal(200))
RIGHT = LabelFacts(
    "calibrated", "A-04", DAY, date(2027, 11, 24), None, date(2026, 12, 1), None, RECORD, ("A-04", "OLD-4"), None,
    date(2027, 11, 24), Decimal(200),
)  # fmt: skip
LIMITED = replace(RIGHT, says="use within limits", up_to_kg=Decimal(150), due=None)
STOP = replace(RIGHT, says="do not use", due=None, record=replace(RECORD, as_left="fail", standing="provisional"))


def codes(facts: LabelFacts) -> list[str]:
    return [reason.code for reason in not_right(facts)]


@pytest.mark.parametrize("facts", [RIGHT, LIMITED, STOP])
def test_a_label_that_says_no_more_than_its_record_is_right(facts: LabelFacts) -> None:
    assert codes(facts) == []


@pytest.mark.parametrize(("change", "code"), [
    ({"ended": "void"}, "void"),
    ({"ended": "removed"}, "removed"),
    ({"record": None}, "record-not-here"),
    ({"record": replace(RECORD, standing="void")}, "record-void"),
    ({"record": replace(RECORD, standing="superseded")}, "record-superseded"),
    ({"record": replace(RECORD, standing="provisional")}, "record-not-reviewed"),
    ({"newer_on": date(2026, 11, 30)}, "newer-visit"),
    ({"on": date(2027, 11, 25)}, "past-due"),
    ({"due_by_record": date(2027, 11, 23)}, "due-too-late"),
    ({"record": replace(RECORD, device="B-01")}, "another-scale"),
    ({"record": replace(RECORD, on=date(2026, 11, 23))}, "another-day"),
    ({"record": replace(RECORD, as_left="fail")}, "says-more"),
    ({"record": replace(RECORD, as_left="undecided")}, "says-more"),
    ({"record": replace(RECORD, as_left=None)}, "says-more"),
    ({"record": replace(RECORD, proven_to_kg=Decimal(150))}, "limit-missing"),
])  # fmt: skip
def test_each_thing_that_is_not_right_is_named(change: dict[str, Any], code: str) -> None:
    assert codes(replace(RIGHT, **change)) == [code]


def test_on_its_due_day_a_label_is_still_right() -> None:
    assert codes(replace(RIGHT, on=date(2027, 11, 24))) == []


def test_a_record_under_a_former_tag_is_of_the_same_scale() -> None:
    assert codes(replace(RIGHT, record=replace(RECORD, device="OLD-4"))) == []


def test_a_limit_goes_as_far_as_is_proven_and_no_further() -> None:
    assert codes(replace(LIMITED, up_to_kg=Decimal(200))) == []
    assert codes(replace(LIMITED, up_to_kg=Decimal("200.1"))) == ["beyond-proof"]
    assert codes(replace(LIMITED, record=replace(RECORD, proven_to_kg=None))) == ["beyond-proof"]


def test_do_not_use_needs_no_review_and_a_newer_visit_ends_it_too() -> None:
    assert codes(replace(STOP, newer_on=date(2026, 11, 30))) == ["newer-visit"]
