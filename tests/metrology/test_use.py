"""May I use this scale? Row by row: facts, answer. The worst wins, and nothing unknown is ever "may use".

The rows are the design's own rules (a house choice); no document gives them.
"""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.metrology.device_events import OpenEvent, OpenKind, open_sentence
from api.metrology.judgement import ProvenRange
from api.metrology.terms import AfterVisit, DeviceState
from api.metrology.use import LastResult, MayUse, PersonsLimit, UseFacts, use_of
from api.metrology.verdict import Verdict

TODAY = date(2026, 10, 14)
YESTERDAY, TOMORROW = TODAY - timedelta(days=1), TODAY + timedelta(days=1)
WORSE: dict[MayUse, int] = {"may use": 0, "may use within limits": 1, "not proven": 2, "do not use": 3}


def a_result(verdict: Verdict = "pass", low: str | None = "2", high: str = "300") -> LastResult:
    """Return a result of September 2026, proven over the whole range unless `low` is None."""
    proven = ProvenRange(Decimal(low), Decimal(high)) if low is not None else None
    return LastResult(date(2026, 9, 1), verdict, proven)


def a_limit(up_to: str = "100", until: date | None = TOMORROW) -> PersonsLimit:
    return PersonsLimit(Decimal(up_to), until, "T-02")


GOOD = UseFacts(
    on=TODAY,
    state="in service",
    capacity_kg=Decimal(300),
    released=a_result(),
    unreviewed=None,
    due=date(2027, 9, 1),
    electrical_safety_due=date(2027, 3, 1),
    legal_verification_required=False,
    legal_verification_until=None,
    unit_left="kg",
    unit_locked=True,
    unit_lock_required=True,
    limit=None,
    decision="return to service",
)


def facts(**changed: Any) -> UseFacts:
    return replace(GOOD, **changed)


def an_event(kind: OpenKind) -> OpenEvent:
    return OpenEvent(kind, open_sentence(kind, YESTERDAY))


# What is open, how far it lets the scale be used, and its code.
OPEN: list[tuple[OpenKind, MayUse, str]] = [
    ("dropped", "do not use", "dropped"),
    ("moved", "not proven", "moved"),
    ("reads oddly", "not proven", "reads-oddly"),
    ("damaged", "do not use", "damaged"),
    ("wrong unit", "do not use", "wrong-unit-reported"),
    ("other", "not proven", "reported"),
    ("failed check", "do not use", "failed-check"),
    ("moved on the register", "not proven", "moved"),
    ("sent for repair", "do not use", "sent-for-repair"),
    ("back from repair", "not proven", "not-calibrated-since-repair"),
    ("not in order", "not proven", "not-in-order"),
    ("site unknown", "not proven", "site-unknown"),
]


def codes(asked: UseFacts) -> list[str]:
    return [why.code for why in use_of(asked).why]


ROWS: list[tuple[str, dict[str, Any], MayUse, str]] = [
    ("all is well", {}, "may use", "within-tolerance"),
    # state
    ("held back", {"state": "held back"}, "do not use", "state"),
    ("out of service", {"state": "out of service"}, "do not use", "state"),
    ("lent out", {"state": "lent out"}, "do not use", "state"),
    ("not found", {"state": "not found"}, "do not use", "state"),
    ("retired", {"state": "retired"}, "do not use", "state"),
    ("limited, limit unknown", {"state": "limited"}, "not proven", "limit-missing"),
    ("limited with its limit", {"state": "limited", "limit": a_limit()}, "may use within limits", "limited"),
    # released result
    ("never calibrated", {"released": None}, "not proven", "never-calibrated"),
    ("conditional pass", {"released": a_result("conditional pass")}, "may use", "within-tolerance"),
    ("undecided", {"released": a_result("undecided")}, "not proven", "undecided"),
    ("not tested", {"released": a_result("not tested")}, "not proven", "undecided"),
    ("pass that proves no load", {"released": a_result(low=None)}, "not proven", "undecided"),
    ("proven in part", {"released": a_result(high="200")}, "may use within limits", "proven-in-part"),
    ("fail", {"released": a_result("fail")}, "do not use", "failed"),
    ("fail, limited without a date", {"released": a_result("fail"), "limit": a_limit(until=None)}, "do not use", "failed"),
    (
        "fail, limited above what is proven", {"released": a_result("fail", high="90"), "limit": a_limit("100")},
        "do not use", "failed",
    ),
    (
        "fail, nothing proven, limited", {"released": a_result("fail", low=None), "limit": a_limit()},
        "do not use", "failed",
    ),
    (
        "fail above a load, limited below it", {"released": a_result("fail", high="150"), "limit": a_limit("100")},
        "may use within limits", "failed-above",
    ),
    ("conditional fail", {"released": a_result("conditional fail")}, "do not use", "conditional-fail"),
    (
        "conditional fail, limit without a date", {"released": a_result("conditional fail"), "limit": a_limit(until=None)},
        "do not use", "conditional-fail",
    ),
    (
        "conditional fail under a dated limit", {"released": a_result("conditional fail"), "limit": a_limit()},
        "may use within limits", "conditional-fail",
    ),
    # what was measured and not yet reviewed
    ("provisional fail", {"unreviewed": a_result("fail")}, "do not use", "failed-not-reviewed"),
    ("provisional conditional fail", {"unreviewed": a_result("conditional fail")}, "do not use", "failed-not-reviewed"),
    ("provisional undecided", {"unreviewed": a_result("undecided")}, "not proven", "undecided-not-reviewed"),
    ("provisional pass", {"unreviewed": a_result()}, "may use", "not-reviewed"),
    (
        "provisional pass after a fail", {"released": a_result("fail"), "unreviewed": a_result()},
        "do not use", "failed",
    ),
    ("provisional pass, first ever", {"released": None, "unreviewed": a_result()}, "not proven", "never-calibrated"),
    # dates
    ("due today", {"due": TODAY}, "may use", "within-tolerance"),
    ("due yesterday", {"due": YESTERDAY}, "not proven", "overdue"),
    ("due date unknown", {"due": None}, "not proven", "due-unknown"),
    ("electrical safety due today", {"electrical_safety_due": TODAY}, "may use", "within-tolerance"),
    ("electrical safety overdue", {"electrical_safety_due": YESTERDAY}, "do not use", "electrical-safety-overdue"),
    ("electrical safety unknown", {"electrical_safety_due": None}, "not proven", "electrical-safety-unknown"),
    ("legal verification not asked for", {"legal_verification_until": YESTERDAY}, "may use", "within-tolerance"),
    (
        "legal verification to the end of today",
        {"legal_verification_required": True, "legal_verification_until": TODAY}, "may use", "within-tolerance",
    ),
    (
        "legal verification ended", {"legal_verification_required": True, "legal_verification_until": YESTERDAY},
        "do not use", "legal-verification",
    ),
    ("legal verification unknown", {"legal_verification_required": True}, "do not use", "legal-verification"),
    # unit
    ("left in grams", {"unit_left": "g"}, "may use", "within-tolerance"),
    ("left in pounds", {"unit_left": "[lb_av]"}, "do not use", "wrong-unit"),
    ("left in stones", {"unit_left": "[stone_av]"}, "do not use", "wrong-unit"),
    ("left in a compound display", {"unit_left": "compound"}, "do not use", "wrong-unit"),
    ("unit unknown", {"unit_left": None}, "not proven", "unit-unknown"),
    ("never released, left in pounds", {"released": None, "unit_left": "[lb_av]"}, "do not use", "wrong-unit"),
    ("unit not locked", {"unit_locked": False}, "may use within limits", "unit-not-locked"),
    ("unit lock unknown", {"unit_locked": None}, "may use within limits", "unit-not-locked"),
    ("no lock needed", {"unit_locked": False, "unit_lock_required": False}, "may use", "within-tolerance"),
    # a person's limit
    ("limited by a person", {"limit": a_limit()}, "may use within limits", "limited"),
    ("limit to the end of today", {"limit": a_limit(until=TODAY)}, "may use within limits", "limited"),
    ("limit ended", {"limit": a_limit(until=YESTERDAY)}, "do not use", "limit-ended"),
    ("limit below all that is proven", {"limit": a_limit("1")}, "not proven", "limit-below-proven"),
    # events and decisions
    *((kind, {"open_events": (an_event(kind),)}, may, code) for kind, may, code in OPEN),
    (
        "two things open", {"open_events": (an_event("moved"), an_event("damaged"))}, "do not use", "damaged",
    ),
    ("sent to hold back", {"decision": "hold back"}, "do not use", "decision"),
    ("sent for repair", {"decision": "send for repair"}, "do not use", "decision"),
    ("to be retired", {"decision": "retire"}, "do not use", "decision"),
    ("returned limited, no limit written", {"decision": "return limited"}, "not proven", "limit-missing"),
    ("no decision", {"decision": None}, "may use", "within-tolerance"),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "may", "code"), [row[1:] for row in ROWS], ids=[row[0] for row in ROWS])
def test_the_answer_to_these_facts_is(changed: dict[str, Any], may: MayUse, code: str) -> None:
    answer = use_of(facts(**changed))

    assert answer.may == may
    assert code in [why.code for why in answer.why if why.may == may]


def test_every_state_verdict_and_decision_has_its_row() -> None:
    states = {row[1].get("state", GOOD.state) for row in ROWS}
    released = {row[1]["released"].verdict for row in ROWS if row[1].get("released")} | {"pass"}
    decided = {row[1].get("decision", GOOD.decision) for row in ROWS} - {None}

    assert states == set(DeviceState.__args__)
    assert {kind for kind, _, _ in OPEN} == set(OpenKind.__args__)
    assert released == set(Verdict.__args__)
    assert decided == set(AfterVisit.__args__)


def test_a_scale_that_may_be_used_says_from_up_to_and_until() -> None:
    answer = use_of(GOOD)

    assert (answer.from_kg, answer.up_to_kg, answer.until) == (Decimal(2), Decimal(300), date(2027, 3, 1))


def test_the_least_of_proven_load_and_limit_is_the_upper_end() -> None:
    by_limit = use_of(facts(limit=a_limit("100")))
    by_proof = use_of(facts(limit=a_limit("250"), released=a_result(high="200")))

    assert (by_limit.up_to_kg, by_proof.up_to_kg) == (Decimal(100), Decimal(200))


@pytest.mark.parametrize(
    ("changed", "until"),
    [
        ({"due": date(2026, 12, 1)}, date(2026, 12, 1)),
        ({"limit": a_limit(until=date(2026, 11, 1))}, date(2026, 11, 1)),
        ({"legal_verification_required": True, "legal_verification_until": date(2026, 11, 5)}, date(2026, 11, 5)),
        ({"legal_verification_until": date(2026, 11, 5)}, date(2027, 3, 1)),
    ],
)
def test_the_first_date_that_ends_it_is_the_last_day(changed: dict[str, Any], until: date) -> None:
    assert use_of(facts(**changed)).until == until


def test_a_scale_that_may_not_be_used_states_no_range_and_no_day() -> None:
    answer = use_of(facts(state="held back"))

    assert (answer.from_kg, answer.up_to_kg, answer.until) == (None, None, None)


def test_every_reason_is_told_the_worst_first() -> None:
    asked = facts(
        due=YESTERDAY, unit_left="[lb_av]", unit_locked=False, state="held back", open_events=(an_event("moved"),)
    )

    answer = use_of(asked)

    assert [why.may for why in answer.why] == sorted((w.may for w in answer.why), key=lambda m: -WORSE[m])
    assert {"overdue", "wrong-unit", "state", "moved", "within-tolerance"} == set(codes(asked))


def test_a_provisional_pass_says_that_restrictions_stay() -> None:
    said = next(w.sentence for w in use_of(facts(unreviewed=a_result())).why if w.code == "not-reviewed")

    assert said == (
        "Measured on 1 September 2026, not yet reviewed: within tolerance. Earlier restrictions stay until it is."
    )


# A person's limit lifts some restrictions on purpose; its rows stand above.
RESTRICTIONS = [row[1] for row in ROWS if row[2] != "may use" and "limit" not in row[1]]
PAIRS = [(one, other) for one, other in combinations(RESTRICTIONS, 2) if not set(one) & set(other)]


def test_of_two_restrictions_the_worse_one_wins() -> None:
    for one, other in PAIRS:
        alone = [WORSE[use_of(facts(**changed)).may] for changed in (one, other)]

        both = WORSE[use_of(facts(**one, **other)).may]

        assert both == max(alone), (one, other)


@given(
    unreviewed=st.sampled_from(["pass", "conditional pass"]),
    changed=st.sampled_from([row[1] for row in ROWS if "unreviewed" not in row[1]]),
)
def test_a_provisional_pass_lifts_nothing(unreviewed: Verdict, changed: dict[str, Any]) -> None:
    before = use_of(facts(**changed))

    after = use_of(facts(**changed, unreviewed=a_result(unreviewed)))

    assert (after.may, after.from_kg, after.up_to_kg, after.until) == (
        before.may, before.from_kg, before.up_to_kg, before.until,
    )  # fmt: skip


@given(
    unreviewed=st.sampled_from(["fail", "conditional fail"]),
    changed=st.sampled_from([row[1] for row in ROWS if "unreviewed" not in row[1]]),
)
def test_a_provisional_fail_acts_at_once_whatever_was_before(unreviewed: Verdict, changed: dict[str, Any]) -> None:
    answer = use_of(facts(**changed, unreviewed=a_result(unreviewed)))

    assert answer.may == "do not use"


UNKNOWN: list[dict[str, Any]] = [
    {"released": None},
    {"due": None},
    {"electrical_safety_due": None},
    {"unit_left": None},
    {"unit_locked": None},
    {"legal_verification_required": True},
    {"state": "limited"},
]


@pytest.mark.parametrize("unknown", UNKNOWN, ids=lambda u: next(iter(u)))
def test_what_is_unknown_is_never_may_use(unknown: dict[str, Any]) -> None:
    assert use_of(facts(**unknown)).may != "may use"
