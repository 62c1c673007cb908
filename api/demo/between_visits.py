"""What wards told of their scales between the visits, as wire bodies: trouble, and checks with a weight of their own."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Any, Final

from api.demo.days import G03_ON_FOAM, moment, working_day
from api.demo.devices import STANDINGS
from api.demo.history import SEED, identifier_at

Told = tuple[str, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class _Trouble:
    """Trouble with one scale: how many days ago, of which kind, for which role, in which words."""

    tag: str
    days_ago: int
    kind: str
    role: str
    words: str


_TROUBLE: Final = (
    _Trouble("A-11", 307, "wrong unit", "clinic lead", "A child of 20 read 44: the display said lb."),
    _Trouble("G-03", G03_ON_FOAM + 1, "reads oddly", "nurse in charge", "Three weighings, three readings 20 g apart."),
    _Trouble("B-02", 2, "dropped", "porter", "It slid off a trolley in the corridor and fell on its edge."),
)
# Days ago on which the dialysis unit put its own 20 kg on its scale, and what that showed.
_CHECKS: Final = ((62, "20.00"), (34, "20.00"), (6, "20.00"))


def told_between(today: date, seed: int = SEED) -> Iterator[Told]:
    """Return what was told, each as the path it is put to and its body, in order of time."""
    told = [*(_report(trouble, today, seed) for trouble in _TROUBLE), *(_check(*c, today, seed) for c in _CHECKS)]
    yield from sorted(told, key=lambda one: str(one[1]["happened_at"]))


def _report(trouble: _Trouble, today: date, seed: int) -> Told:
    happened_at = moment(working_day(today, trouble.days_ago), 7 * 60 + 40)
    name = identifier_at(happened_at, Random(f"{seed} report {trouble.tag} {trouble.days_ago}"))
    return f"/v1/reports/{name}", {
        "schema": "report/1", "site": _site(trouble.tag), "device": trouble.tag, "kind": trouble.kind,
        "happened_at": happened_at.isoformat(), "reported_for": trouble.role, "words": trouble.words,
    }  # fmt: skip


def _check(days_ago: int, shown: str, today: date, seed: int) -> Told:
    happened_at = moment(working_day(today, days_ago), 6 * 60 + 50)
    name = identifier_at(happened_at, Random(f"{seed} check J-01 {days_ago}"))
    known = {
        "mass": {"value": "20", "unit": "kg"}, "off_by_at_most": {"value": "0.01", "unit": "kg"},
        "described": "The unit's own weight, compared in the workshop each spring.",
    }  # fmt: skip
    return f"/v1/checks/{name}", {
        "schema": "check/1", "site": _site("J-01"), "device": "J-01", "happened_at": happened_at.isoformat(),
        "checked_for": "nurse in charge", "indication": {"value": shown, "unit": "kg"}, "placed": "one body centred",
        "position": "centre", "stable": True, "known": known,
    }  # fmt: skip


def _site(tag: str) -> str:
    return next(standing.ward for standing in STANDINGS if standing.tag == tag).partition("-")[0]
