"""What the corner readings of a scale say of its supports, as it is answered: parts per million of the load, as printed."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from api.metrology.corner_solver import Finding, Seen
from api.metrology.terms import Code, Position
from api.records.weighing import VisitLeaned


@dataclass(frozen=True, slots=True)
class SupportSaid:
    """One support: how far it is from the mean of all and from that of the others, and what can be said of it.

    Parts per million of the load that it carries, positive reads heavy; U covers about 95 %.
    """

    support: Position
    seen: Seen
    deviation_ppm: Decimal
    expanded_ppm: Decimal
    against_the_others_ppm: Decimal
    against_the_others_expanded_ppm: Decimal


@dataclass(frozen=True, slots=True)
class PredictionSaid:
    """What a load that lies otherwise than in the middle is predicted to add to the error, at a load in kilograms."""

    load: str
    stands: str
    difference_ppm: Decimal
    expanded_ppm: Decimal
    at_kg: Decimal
    difference_kg: Decimal
    expanded_kg: Decimal
    source: str


@dataclass(frozen=True, slots=True)
class CornersAnswer:
    """The supports of a device, solved from its newest corner readings: which is off and by how much.

    `named` are the supports that the finding speaks of. `chi_square` above its limit says that the readings contradict
    each other: then the uncertainties are too small. Without a reading more than there are supports there is no test.
    """

    device: Code
    on: date
    visit: VisitLeaned
    load_kg: Decimal
    finding: Finding
    named: tuple[Position, ...]
    sentence: str
    supports: tuple[SupportSaid, ...]
    predictions: tuple[PredictionSaid, ...]
    chi_square: Decimal
    degrees_of_freedom: int
    agrees: bool
    assumptions: tuple[str, ...]
    chi_square_limit: Decimal | None = None
