"""Release a piece that is held: a person says so, on a comparison that agreed or a certificate made since. Create-only."""

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy import Connection

from api.keeping.content import Arrived
from api.keeping.weight_event import counts_from, flags_of, keep_weight_event, replayed_event
from api.metrology.weight_life import HOLDS, Span, WeightEvent, spans_of
from api.queries.weight_events import life_on_file
from api.records.problems import HoldStays
from api.records.weight_event import WeightEventReceipt, WeightReleaseAsked


def release_weight(connection: Connection, arrived: Arrived, sent: WeightReleaseAsked) -> WeightEventReceipt:
    """Record the release of a piece and return its receipt; the same content again returns the first one, marked replayed.

    Refuses where nothing holds the piece, or what it rests on lifts nothing that does (`HoldStays`), and other content under
    an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    again = replayed_event(connection, arrived, sent.site)
    if again is not None:
        return again
    _check(connection, arrived, sent)
    return keep_weight_event(connection, arrived, sent, flags_of(connection, arrived, sent))


def _check(connection: Connection, arrived: Arrived, sent: WeightReleaseAsked) -> None:
    """A release that lifts only some of what holds a piece would be read as if it lifted all."""
    at = counts_from(arrived, sent.happened_at)
    events, certificates = life_on_file(connection, sent.piece)
    released = WeightEvent(
        arrived.calibration, "released", at, at.date(), sent.pieces, arrived.by_whom,
        comparison=sent.comparison.lower() if sent.comparison else None, certificate=sent.certificate,
    )  # fmt: skip
    before, after = (_holding(spans_of(sent.piece, some, certificates), at) for some in (events, (*events, released)))
    if not before:
        raise HoldStays(f"Nothing holds {sent.piece} that a person could lift.", piece=sent.piece)
    if after:
        basis = f"comparison {sent.comparison}" if sent.comparison else f"certificate {sent.certificate}"
        said = " ".join(span.sentence for span in after)
        raise HoldStays(
            f"{sent.piece} stays held: {said} The {basis} is none that agreed, or was made, after that.",
            piece=sent.piece, since=after[-1].since.isoformat(), event=after[-1].event,
        )  # fmt: skip


def _holding(spans: Iterable[Span], at: datetime) -> list[Span]:
    """What holds a piece at a moment and could be lifted; a release ends it at the moment itself."""
    return [s for s in spans if s.kind in HOLDS and s.since <= at and (s.until is None or s.until > at)]
