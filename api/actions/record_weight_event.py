"""Record what happened to weights: out, back in, dropped, washed, compared, to and from the laboratory. Create-only."""

from datetime import datetime

from sqlalchemy import Connection

from api.keeping.case_on_file import POLICY
from api.keeping.content import Arrived
from api.keeping.weight_event import counts_from, flags_of, keep_weight_event, replayed_event
from api.metrology.comparison import Comparison, comparison_of
from api.metrology.judgement import Flag, flag_of
from api.metrology.policy import STARTING
from api.metrology.refusals import Refusal
from api.metrology.repeatability import Spread
from api.queries.register import find_in_force
from api.queries.weights import pieces_on
from api.records.weight_event import Compared, WeightEventReceipt, WeightEventSent


def record_weight_event(connection: Connection, arrived: Arrived, sent: WeightEventSent) -> WeightEventReceipt:
    """Record an event of weights and return its receipt; the same content again returns the first receipt, marked replayed.

    Refuses other content under an id that is taken (`ContentDiffers`); nothing is changed then.
    """
    again = replayed_event(connection, arrived, sent.site)
    if again is not None:
        return again
    flags = flags_of(connection, arrived, sent)
    comparison = None
    if isinstance(sent, Compared):
        comparison, more = _compared(connection, sent, counts_from(arrived, sent.happened_at))
        flags += more
    return keep_weight_event(connection, arrived, sent, flags, comparison)


def _compared(connection: Connection, sent: Compared, at: datetime) -> tuple[Comparison | None, list[Flag]]:
    """What a comparison came to by the certificates of that day; what forbids an answer becomes a flag of it."""
    policy = find_in_force(connection, "policy", POLICY, on=at.date())
    told = sent.repeatability
    spread = Spread(float(told.standard_deviation.kg), told.degrees_of_freedom, told.source) if told else None
    try:
        found = comparison_of(
            sent.piece, sent.against, sent.pairs, sent.division,
            pieces_on(connection, (sent.piece, *sent.against), at.date()), policy.record if policy else STARTING, spread,
        )  # fmt: skip
    except Refusal as refusal:
        return None, [flag_of(refusal)]
    return found, []
