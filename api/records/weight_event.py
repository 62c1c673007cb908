"""What is sent of weights between their certificates: out, back, dropped or washed, compared, to the laboratory, released.

Shape is `schemas`' to check; what it makes of a piece is told by `api.metrology.weight_life`. Persons are named by code.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any, Literal

from api.metrology.comparison import Comparison, ComparisonVerdict, PairWeighed
from api.metrology.mass import Mass
from api.metrology.terms import Between, Code, Line, Many, Name, SiteCode, Uuid
from api.metrology.weight_life import Mishap, WeightEventKind
from api.records.calibration import StoredFlag
from api.records.plan import CautionText

Pieces = Annotated[tuple[Code, ...], Many(200, 1)]
Schema = Literal["weight-event/1"]


@dataclass(frozen=True, slots=True)
class CheckedOut:
    """A set leaves its place: every piece counted out by its code, who takes it, and for which round."""

    schema: Schema
    kind: Literal["checked out"]
    site: SiteCode
    happened_at: datetime
    weight_set: Code
    pieces: Pieces
    by: Code
    round: Name
    remarks: Line | None = None
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class CountedIn:
    """A set comes back: every piece that is there, counted by its code. What went out with the set and is not named here is
    missing. A count may be sent in parts."""

    schema: Schema
    kind: Literal["counted in"]
    site: SiteCode
    happened_at: datetime
    weight_set: Code
    pieces: Annotated[tuple[Code, ...], Many(200)]
    by: Code
    remarks: Line | None = None
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class MishapTold:
    """Pieces were dropped, washed or damaged: they are held from that moment on, until a person releases them."""

    schema: Schema
    kind: Mishap
    site: SiteCode
    happened_at: datetime
    pieces: Pieces
    by: Code
    remarks: Line | None = None
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class BalanceSpread:
    """The standard deviation of one reading of a balance, where it is known from before, and its degrees of freedom."""

    standard_deviation: Mass
    degrees_of_freedom: Annotated[int, Between(Decimal(1), Decimal(100_000))]
    source: Line


@dataclass(frozen=True, slots=True)
class Compared:
    """A piece was weighed against a standard of the same nominal mass: on which balance, and every pair of readings."""

    schema: Schema
    kind: Literal["compared"]
    site: SiteCode
    happened_at: datetime
    piece: Code
    against: Annotated[tuple[Code, ...], Many(20, 1)]
    balance: Name
    division: Mass
    pairs: Annotated[tuple[PairWeighed, ...], Many(50, 1)]
    by: Code
    repeatability: BalanceSpread | None = None
    remarks: Line | None = None
    id: Uuid | None = None

    @property
    def pieces(self) -> tuple[str, ...]:
        """The piece that it is about; the standard only stood beside it."""
        return (self.piece,)


@dataclass(frozen=True, slots=True)
class ToLaboratory:
    """Pieces were sent to a laboratory, or came back from it."""

    schema: Schema
    kind: Literal["sent to the laboratory", "back from the laboratory"]
    site: SiteCode
    happened_at: datetime
    pieces: Pieces
    laboratory: Name
    by: Code
    remarks: Line | None = None
    id: Uuid | None = None


@dataclass(frozen=True, slots=True)
class WeightReleaseAsked:
    """A person lifts the hold on a piece: on a comparison that agreed or else a certificate made since, and why."""

    schema: Literal["weight-release/1"]
    site: SiteCode
    happened_at: datetime
    piece: Code
    reason: Line
    comparison: Uuid | None = None
    certificate: Code | None = None
    id: Uuid | None = None

    @property
    def kind(self) -> Literal["released"]:
        """What becomes of the piece."""
        return "released"

    @property
    def pieces(self) -> tuple[str, ...]:
        """The piece."""
        return (self.piece,)


WeightEventSent = CheckedOut | CountedIn | MishapTold | Compared | ToLaboratory


@dataclass(frozen=True, slots=True)
class StoredWeightEvent:
    """One event of weights as it is kept. `happened_at` is as sent; `counts_from` decides: corrected where the clocks were
    apart, and never after it was received. A comparison has its verdict and all that it came from."""

    event: str
    site: str
    kind: WeightEventKind
    happened_at: str
    happened_on: date
    counts_from: datetime
    received_at: datetime
    recorded_by: str
    pieces: tuple[str, ...]
    flags: tuple[StoredFlag, ...]
    log_number: int
    digest: str
    content: dict[str, Any]
    weight_set: str | None = None
    verdict: ComparisonVerdict | None = None
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True)
class WeightEventReceipt:
    """What the sender of an event of weights gets: that it is kept, under which digest and log entry, and what it does.

    The app may delete its copy when `digest` or `arrived_digest` is the SHA-256 of the bytes it holds. `not_counted_on` are
    the pieces of the event that may not be counted on now; `missing` went out with the set and were not counted back.
    """

    event: str
    site: str
    kind: WeightEventKind
    replayed: bool
    received_at: datetime
    digest: str
    arrived_digest: str
    log_number: int
    log_hash: str
    flags: tuple[StoredFlag, ...]
    not_counted_on: tuple[str, ...]
    missing: tuple[str, ...]
    cautions: tuple[CautionText, ...]
    verdict: ComparisonVerdict | None = None
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True)
class AgainstPiece:
    """One thing that speaks against counting on a piece: its code, the sentence, since which day, and the event behind it."""

    code: str
    sentence: str
    since: date | None = None
    event: str | None = None


@dataclass(frozen=True, slots=True)
class OutWith:
    """With whom a piece or a set is out, for which round, since when."""

    by: str
    round: str | None
    since: datetime


@dataclass(frozen=True, slots=True)
class WeightLife:
    """May this piece be counted on, on a day: yes where nothing speaks against it; and its last events, the newest first."""

    piece: str
    on: date
    may_be_used: bool
    why: tuple[AgainstPiece, ...]
    events: tuple[StoredWeightEvent, ...]
    certificate: str | None = None
    valid_to: date | None = None
    out: OutWith | None = None


@dataclass(frozen=True, slots=True)
class PieceOfSet:
    """One piece of a set, whether it may be counted on, and what speaks against it."""

    piece: str
    may_be_used: bool
    why: tuple[AgainstPiece, ...]
    out: OutWith | None = None


@dataclass(frozen=True, slots=True)
class WeightSetLife:
    """May this set be used on a day: all of it, some of it, or none; each piece, and its last events, the newest first."""

    weight_set: str
    on: date
    may_be_used: Literal["all of it", "not all of it", "none of it"]
    pieces: tuple[PieceOfSet, ...]
    missing: tuple[str, ...]
    events: tuple[StoredWeightEvent, ...]
    out: OutWith | None = None
