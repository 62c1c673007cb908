"""May I use this scale? One pure answer from everything that speaks to it; the worst wins, and unknown is never yes."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from api.metrology.device_events import OpenEvent, OpenKind
from api.metrology.judgement import ProvenRange
from api.metrology.mass import METRIC
from api.metrology.terms import DeviceState
from api.metrology.verdict import Verdict

MayUse = Literal["may use", "may use within limits", "not proven", "do not use"]
_RANK: dict[MayUse, int] = {"may use": 0, "may use within limits": 1, "not proven": 2, "do not use": 3}

_GRAMS = ("g", "mg")

# How far a thing that is open lets the scale be used, and its code. What may hurt, or weighs in another unit, stops it; of
# anything else nobody knows what the scale reads now (a house choice, no source).
_OPEN: Final[dict[OpenKind, tuple[MayUse, str]]] = {
    "dropped": ("do not use", "dropped"),
    "damaged": ("do not use", "damaged"),
    "wrong unit": ("do not use", "wrong-unit-reported"),
    "failed check": ("do not use", "failed-check"),
    "sent for repair": ("do not use", "sent-for-repair"),
    "moved": ("not proven", "moved"),
    "moved on the register": ("not proven", "moved"),
    "reads oddly": ("not proven", "reads-oddly"),
    "other": ("not proven", "reported"),
    "back from repair": ("not proven", "not-calibrated-since-repair"),
    "not in order": ("not proven", "not-in-order"),
    "site unknown": ("not proven", "site-unknown"),
}


@dataclass(frozen=True, slots=True)
class WhyUse:
    """One thing that speaks to the answer: how far it allows use, a stable code, and the sentence for the ward."""

    may: MayUse
    code: str
    sentence: str


@dataclass(frozen=True, slots=True)
class LastResult:
    """The result that a use answer rests on: when, the verdict as left, and how far it was proven."""

    on: date
    verdict: Verdict
    proven: ProvenRange | None


@dataclass(frozen=True, slots=True)
class PersonsLimit:
    """A person's written, dated limit of use."""

    up_to_kg: Decimal
    until: date | None
    decided_by: str


@dataclass(frozen=True, slots=True)
class UseFacts:
    """Everything that speaks to the use of one scale on one day; None means that it is not known."""

    on: date
    state: DeviceState
    capacity_kg: Decimal
    released: LastResult | None
    unreviewed: LastResult | None
    due: date | None
    electrical_safety_due: date | None
    legal_verification_required: bool
    legal_verification_until: date | None
    unit_left: str | None
    unit_locked: bool | None
    unit_lock_required: bool
    limit: PersonsLimit | None
    decision: str | None
    open_events: tuple[OpenEvent, ...] = ()


@dataclass(frozen=True, slots=True)
class Use:
    """The answer: whether, from and up to which load, until which day, and every reason, the worst first."""

    may: MayUse
    from_kg: Decimal | None
    up_to_kg: Decimal | None
    until: date | None
    why: tuple[WhyUse, ...]


def use_of(facts: UseFacts) -> Use:
    """Return whether the scale may be used on a day, within which loads, until when, and why."""
    why = [
        *_by_state(facts), *_by_result(facts), *_by_dates(facts), *_by_unit(facts), *_by_limit(facts), *_by_events(facts),
    ]  # fmt: skip
    why.sort(key=lambda w: -_RANK[w.may])
    may = why[0].may if why else "not proven"
    if may in ("not proven", "do not use"):
        return Use(may, None, None, None, tuple(why))
    proven = facts.released.proven if facts.released else None
    return Use(may, proven.from_kg if proven else None, _most(facts), _until(facts), tuple(why))


def _by_state(facts: UseFacts) -> list[WhyUse]:
    if facts.state in ("in service", "limited"):
        return []
    return [WhyUse("do not use", "state", f"It is {facts.state}.")]


def _by_result(facts: UseFacts) -> list[WhyUse]:
    why = []
    if facts.unreviewed is not None:
        why.append(_unreviewed(facts.unreviewed))
    if facts.released is None:
        why.append(WhyUse("not proven", "never-calibrated", "No released calibration of it is on record."))
        return why
    result = facts.released
    return [*why, *_by_verdict(result, facts)]


def _unreviewed(result: LastResult) -> WhyUse:
    """Bad news acts on receipt, good news on release."""
    said = f"Measured on {_day(result.on)}, not yet reviewed"
    if result.verdict in ("pass", "conditional pass"):
        return WhyUse("may use", "not-reviewed", f"{said}: within tolerance. Earlier restrictions stay until it is.")
    if result.verdict in ("fail", "conditional fail"):
        return WhyUse("do not use", "failed-not-reviewed", f"{said}: out of tolerance.")
    return WhyUse("not proven", "undecided-not-reviewed", f"{said}: the readings do not decide it.")


def _by_verdict(result: LastResult, facts: UseFacts) -> list[WhyUse]:
    day = _day(result.on)
    if result.verdict == "fail":
        return [_failed(result, facts)]
    if result.verdict == "conditional fail":
        if facts.limit is None or facts.limit.until is None:
            said = f"Left with a conditional fail on {day}, and nobody limited it in writing until a date."
            return [WhyUse("do not use", "conditional-fail", said)]
        return [WhyUse("may use within limits", "conditional-fail", f"Left with a conditional fail on {day}.")]
    if result.verdict in ("undecided", "not tested") or result.proven is None:
        return [WhyUse("not proven", "undecided", f"The test on {day} did not prove it.")]
    low, high = result.proven.from_kg, result.proven.to_kg
    said = f"Left within tolerance on {day}, proven from {_number(low, facts)} to {_told(high, facts)}."
    if high < facts.capacity_kg:
        return [
            WhyUse("may use within limits", "proven-in-part", f"{said} Do not rely on it above {_told(high, facts)}.")
        ]
    return [WhyUse("may use", "within-tolerance", said)]


def _failed(result: LastResult, facts: UseFacts) -> WhyUse:
    """A scale that fails above a load, and is proven up to it, may be limited to that by a person, in writing, for a time."""
    day, limit = _day(result.on), facts.limit
    if limit is None or limit.until is None or result.proven is None or limit.up_to_kg > result.proven.to_kg:
        return WhyUse("do not use", "failed", f"Left out of tolerance on {day}.")
    low, high = _number(result.proven.from_kg, facts), _told(result.proven.to_kg, facts)
    said = f"Out of tolerance above {high} on {day}, proven from {low} to {high}."
    return WhyUse("may use within limits", "failed-above", said)


def _by_dates(facts: UseFacts) -> list[WhyUse]:
    why = []
    if facts.due is None:
        why.append(WhyUse("not proven", "due-unknown", "When its calibration is due is not known."))
    elif facts.due < facts.on:
        why.append(WhyUse("not proven", "overdue", f"Its calibration was due on {_day(facts.due)}."))
    if facts.electrical_safety_due is None:
        why.append(WhyUse("not proven", "electrical-safety-unknown", "No electrical safety test is on the register."))
    elif facts.electrical_safety_due < facts.on:
        said = f"Its electrical safety test was due on {_day(facts.electrical_safety_due)}."
        why.append(WhyUse("do not use", "electrical-safety-overdue", said))
    if facts.legal_verification_required and (
        facts.legal_verification_until is None or facts.legal_verification_until < facts.on
    ):
        why.append(
            WhyUse("do not use", "legal-verification", "The legal verification that is required here is not valid.")
        )
    return why


def _by_unit(facts: UseFacts) -> list[WhyUse]:
    if facts.unit_left is None:
        return [WhyUse("not proven", "unit-unknown", "Which unit it was left in is not on record.")]
    if facts.unit_left not in METRIC:
        return [WhyUse("do not use", "wrong-unit", "It was left showing another unit than kilograms or grams.")]
    if facts.unit_lock_required and not facts.unit_locked:
        said = "Its unit can be switched: read that it shows kg before each weighing."
        return [WhyUse("may use within limits", "unit-not-locked", said)]
    return []


def _by_limit(facts: UseFacts) -> list[WhyUse]:
    limit = facts.limit
    if limit is None:
        limited = facts.state == "limited" or facts.decision == "return limited"
        return [WhyUse("not proven", "limit-missing", "It is limited, but no limit is written.")] if limited else []
    if limit.until is not None and limit.until < facts.on:
        return [
            WhyUse(
                "do not use", "limit-ended", f"The limit that {limit.decided_by} wrote ended on {_day(limit.until)}."
            )
        ]
    said = f"Limited to {_told(limit.up_to_kg, facts)} by {limit.decided_by}."
    proven = facts.released.proven if facts.released else None
    if proven is not None and limit.up_to_kg < proven.from_kg:
        said += f" Nothing below {_told(proven.from_kg, facts)} is proven."
        return [WhyUse("not proven", "limit-below-proven", said)]
    return [WhyUse("may use within limits", "limited", said)]


def _by_events(facts: UseFacts) -> list[WhyUse]:
    why = [WhyUse(*_OPEN[event.kind], event.sentence) for event in facts.open_events]
    if facts.decision in ("hold back", "send for repair", "retire"):
        why.append(WhyUse("do not use", "decision", f"The last visit decided: {facts.decision}."))
    return why


def _most(facts: UseFacts) -> Decimal | None:
    proven = facts.released.proven.to_kg if facts.released and facts.released.proven else None
    limit = facts.limit.up_to_kg if facts.limit else None
    return min((v for v in (proven, limit) if v is not None), default=None)


def _until(facts: UseFacts) -> date | None:
    ends = [facts.due, facts.electrical_safety_due, facts.limit.until if facts.limit else None]
    if facts.legal_verification_required:
        ends.append(facts.legal_verification_until)
    return min((day for day in ends if day is not None), default=None)


def _day(day: date) -> str:
    return f"{day.day} {day:%B} {day.year}"


def _number(kg: Decimal, facts: UseFacts) -> str:
    """A mass in grams where the scale was left showing them, else in kilograms: the number alone."""
    return f"{(kg.scaleb(3) if facts.unit_left in _GRAMS else kg).normalize():f}"


def _told(kg: Decimal, facts: UseFacts) -> str:
    return f"{_number(kg, facts)} {'g' if facts.unit_left in _GRAMS else 'kg'}"
