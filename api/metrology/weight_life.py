"""The life of a weight between its certificates: out, back, dropped, compared, at the laboratory; and whether it may be
counted on.

Pure: events in any order give the same spans, because each has its place by the moment it happened. Bad news holds a piece
from that moment on; only a person lifts a hold, on a comparison or a certificate made after it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Final, Literal

from api.metrology.comparison import ComparisonVerdict

Mishap = Literal["dropped", "washed", "damaged"]
WeightEventKind = (
    Literal["checked out", "counted in", "compared", "sent to the laboratory", "back from the laboratory", "released"]
    | Mishap
)
SpanKind = Literal[
    "out", "missing", "at the laboratory", "waits for its certificate", "dropped", "washed", "damaged", "differs"
]
MISHAPS: Final[tuple[Mishap, ...]] = ("dropped", "washed", "damaged")

# What a person may lift; what is missing or away ends by itself when it is seen again.
HOLDS: Final[tuple[SpanKind, ...]] = (*MISHAPS, "differs", "waits for its certificate")
# Told for the same moment, as an app does that counts in minutes, events follow each other as they do in a day's work.
_AT_ONE_MOMENT: Final[tuple[WeightEventKind, ...]] = (
    "checked out", "sent to the laboratory", *MISHAPS, "compared", "released", "back from the laboratory", "counted in",
)  # fmt: skip
_SAID: Final[dict[SpanKind, str]] = {
    "out": "It is out with {by} since {on}.",
    "missing": "It was not counted back in on {on}.",
    "at the laboratory": "It is at the laboratory since {on}.",
    "waits for its certificate": "It is back from the laboratory since {on}, and no certificate made since is in force.",
    "dropped": "It was dropped on {on}.",
    "washed": "It was washed on {on}.",
    "damaged": "It was damaged on {on}.",
    "differs": "On {on} a comparison found it off.",
}


@dataclass(frozen=True, slots=True)
class WeightEvent:
    """What happened to pieces: which event, of what kind, when (and on which day there), to which pieces, through whom.

    A comparison has its verdict; a release the comparison or the certificate that it rests on.
    """

    event: str
    kind: WeightEventKind
    at: datetime
    on: date
    pieces: tuple[str, ...]
    by: str
    weight_set: str | None = None
    round: str | None = None
    verdict: ComparisonVerdict | None = None
    comparison: str | None = None
    certificate: str | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A time in which something was so with a piece, and the event that began it; without an end it still is."""

    kind: SpanKind
    since: datetime
    on: date
    event: str
    by: str
    round: str | None = None
    until: datetime | None = None
    until_on: date | None = None

    @property
    def speaks_against(self) -> bool:
        """Whether the piece may not be counted on while it lasts."""
        return self.kind != "out"

    @property
    def sentence(self) -> str:
        """What is to be said of it."""
        return _SAID[self.kind].format(on=self.on.isoformat(), by=self.by)

    def is_on(self, day: date) -> bool:
        """Return whether it is so at the end of a day: where the place and UTC have two days, by the one that comes first."""
        if min(self.on, self.since.date()) > day:
            return False
        return self.until is None or self.until_on is None or min(self.until_on, self.until.date()) > day

    def overlaps(self, start: datetime, end: datetime) -> bool:
        """Return whether it was so at any moment between two."""
        return self.since <= end and (self.until is None or self.until > start)


@dataclass(frozen=True, slots=True)
class MadeOn:
    """A certificate that speaks for a piece: when the laboratory calibrated it, and from which day it is in force."""

    calibrated_on: date
    valid_from: date


@dataclass(slots=True)
class _Walk:
    """The spans of one piece while its events are gone through in their order."""

    open: list[Span] = field(default_factory=list)
    ended: list[Span] = field(default_factory=list)

    def begin(self, kind: SpanKind, event: WeightEvent) -> None:
        self.open.append(Span(kind, event.at, event.on, event.event, event.by, event.round))

    def end(self, event: WeightEvent, *kinds: SpanKind) -> None:
        for span in [span for span in self.open if span.kind in kinds]:
            self.close(span, event.at, event.on)

    def close(self, span: Span, at: datetime, on: date) -> None:
        self.open.remove(span)
        self.ended.append(replace(span, until=at, until_on=on))

    def has(self, kind: SpanKind) -> Span | None:
        return next((span for span in self.open if span.kind == kind), None)


def _place(event: WeightEvent) -> tuple[datetime, int, str]:
    return event.at, _AT_ONE_MOMENT.index(event.kind), event.event


def spans_of(piece: str, events: Iterable[WeightEvent], certificates: Mapping[str, MadeOn]) -> tuple[Span, ...]:
    """Return everything that was so with a piece, the earliest first; what still is has no end.

    `events` are all that name the piece and every count of the sets it went out with; `certificates` those that speak for it.
    """
    walk = _Walk()
    before: dict[str, WeightEvent] = {}
    for event in sorted(events, key=_place):
        if piece in event.pieces:
            _happened(walk, event, before, certificates)
            before[event.event] = event
        elif event.kind == "counted in":
            _not_counted(walk, event, before)
    return tuple(sorted((*walk.ended, *walk.open), key=lambda s: (s.since, s.event, s.kind)))


def _happened(
    walk: _Walk, event: WeightEvent, before: Mapping[str, WeightEvent], certificates: Mapping[str, MadeOn]
) -> None:
    if event.kind in ("checked out", "counted in", "sent to the laboratory", "back from the laboratory"):
        walk.end(event, "out", "missing", "at the laboratory")
    if event.kind == "checked out":
        walk.begin("out", event)
    elif event.kind == "sent to the laboratory":
        walk.begin("at the laboratory", event)
    elif event.kind == "back from the laboratory":
        _back(walk, event, certificates)
    elif event.kind == "compared":
        walk.end(event, "missing")
        if event.verdict == "differs":
            walk.begin("differs", event)
    elif event.kind == "released":
        _released(walk, event, before, certificates)
    elif event.kind in ("dropped", "washed", "damaged"):
        walk.begin(event.kind, event)


def _not_counted(walk: _Walk, event: WeightEvent, before: Mapping[str, WeightEvent]) -> None:
    """A count of the set that it went out with, and it was not there."""
    out = walk.has("out")
    if out is not None and before[out.event].weight_set == event.weight_set and walk.has("missing") is None:
        walk.begin("missing", event)


def _back(walk: _Walk, event: WeightEvent, certificates: Mapping[str, MadeOn]) -> None:
    """It waits until a certificate made since it was sent is in force; one that says when it was sent is on record."""
    sent = next((s for s in reversed(walk.ended) if s.kind == "at the laboratory" and s.until == event.at), None)
    since = sent.on if sent is not None else event.on
    made = min((c.valid_from for c in certificates.values() if c.calibrated_on >= since), default=None)
    if made is not None and made <= event.on:
        return
    walk.begin("waits for its certificate", event)
    if made is not None:
        begins = datetime(made.year, made.month, made.day, tzinfo=event.at.tzinfo)
        walk.close(walk.open[-1], max(begins, event.at), made)


def _released(
    walk: _Walk, event: WeightEvent, before: Mapping[str, WeightEvent], certificates: Mapping[str, MadeOn]
) -> None:
    for span in [span for span in walk.open if span.kind in HOLDS and lifts(event, span, before, certificates)]:
        walk.close(span, event.at, event.on)


def lifts(
    event: WeightEvent, span: Span, before: Mapping[str, WeightEvent], certificates: Mapping[str, MadeOn]
) -> bool:
    """Return whether a release may end a hold: it rests on a comparison that agreed or a certificate made after it began."""
    if event.comparison is not None:
        basis = before.get(event.comparison)
        return basis is not None and basis.verdict == "agrees" and basis.at >= span.since
    made = certificates.get(event.certificate or "")
    return made is not None and made.calibrated_on > span.on


def against_on(spans: Sequence[Span], day: date) -> tuple[Span, ...]:
    """Return what speaks against counting on a piece at the end of a day."""
    return tuple(span for span in spans if span.speaks_against and span.is_on(day))
