"""The closed word lists and bounded texts of the trade's records: what a field may say, and how long it may be.

Values only. `schemas` turns these into wire checks and into the published contract; nothing else interprets them.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Literal


@dataclass(frozen=True, slots=True)
class Written:
    """Bounds of a text: its longest length, and a pattern it must match whole where one is given."""

    longest: int
    pattern: str | None = None
    shortest: int = 1


@dataclass(frozen=True, slots=True)
class Between:
    """Bounds of a number, both inclusive."""

    least: Decimal
    most: Decimal


@dataclass(frozen=True, slots=True)
class Figure:
    """A number of a calculator, as decimal text or as a plain JSON number, and its bounds.

    `least` and `most` are inclusive, `above` is not. Beside a record or a mass it says that a bare number may stand there.
    """

    least: Decimal | None = None
    most: Decimal | None = None
    above: Decimal | None = None


# A coverage factor: Student's t at 99.9999 % and one degree of freedom is 636 620, of no use to anyone; a thousand is ample.
COVERAGE_FACTOR = Figure(least=Decimal("0.001"), most=Decimal(1000))


@dataclass(frozen=True, slots=True)
class UcumUnit:
    """Marks a text that is the UCUM code of a unit of mass used here."""


@dataclass(frozen=True, slots=True)
class Many:
    """The longest a list may be, and the shortest."""

    most: int
    least: int = 0


Code = Annotated[str, Written(40, r"[A-Za-z0-9](?:[A-Za-z0-9 ._-]{0,38}[A-Za-z0-9])?")]
# A site's code begins its certificates' numbers, which have an address of at most 40 characters too.
SiteCode = Annotated[str, Written(20, r"[A-Za-z0-9](?:[A-Za-z0-9 ._-]{0,18}[A-Za-z0-9])?")]
Name = Annotated[str, Written(120)]
Line = Annotated[str, Written(500)]
Note = Annotated[str, Written(4000)]
UnitCode = Annotated[str, UcumUnit()]
# Any UUID, in either case, as RFC 9562 section 4 writes it; version 7 is advised.
Uuid = Annotated[str, Written(36, r"[0-9A-Fa-f]{8}-[0-9A-Fa-f]{4}-[0-9A-Fa-f]{4}-[0-9A-Fa-f]{4}-[0-9A-Fa-f]{12}")]
Digest = Annotated[str, Written(80, r"sha256:[0-9a-f]{64}")]
Whole = Annotated[int, Between(Decimal(0), Decimal(999_999_999))]
Minutes = Annotated[int, Between(Decimal(0), Decimal(1440))]
Celsius = Annotated[Decimal, Between(Decimal(-40), Decimal(60))]
RelativeHumidity = Annotated[Decimal, Between(Decimal(0), Decimal(100))]
Hectopascal = Annotated[Decimal, Between(Decimal(500), Decimal(1100))]

Kind = Literal[
    "stand-on", "portable platform", "chair", "wheelchair platform", "bed", "bed pads", "sling", "infant", "incubator",
    "dialysis platform", "pharmacy balance", "analytical balance",
]  # fmt: skip
AccuracyClass = Literal["I", "II", "III", "IIIL", "IIII", "none"]
UseTier = Literal["dose-critical", "monitoring", "record"]

DeviceState = Literal["in service", "limited", "held back", "out of service", "lent out", "not found", "retired"]
PieceState = Literal["active", "held back", "at the laboratory", "lost", "retired"]

Purpose = Literal["scheduled", "initial", "after repair", "after relocation", "complaint", "check", "audit", "blind"]
Outcome = Literal["completed", "partly completed", "not tested"]
Reason = Literal[
    "not found", "in use", "no access", "infection hold", "protective isolation", "patient on it", "no power",
    "damaged before test", "unsafe", "no tag", "not on the register", "load cannot be restrained",
    "lifting examination overdue", "adjustment locked", "sealed by authority", "no procedure", "not authorised",
    "weights not enough", "abandoned",
]  # fmt: skip
AfterVisit = Literal["return to service", "return limited", "hold back", "send for repair", "retire"]

# What a code in a record may name that the register gets later.
LinkKind = Literal["device", "technician", "ward", "weight", "weight set", "site"]

TestName = Literal[
    "zero found", "zero set", "first loading", "increasing", "decreasing", "eccentricity", "repeatability",
    "discrimination", "return to zero", "creep", "tare", "unit switch", "power cycle", "rolling load", "difference",
]  # fmt: skip
# How the load stood: only one body over the centre leaves the load's own place out of the budget (EURAMET cg-18 7.1.1,
# from memory; the three words are ours).
Placed = Literal["one body centred", "spread", "stacked aside"]
# Positions by the person's own side, plus a support's number where the display or drawing numbers them.
Position = Literal[
    "centre", "front left", "front right", "back left", "back right", "front", "back", "left", "right", "head left",
    "head right", "foot left", "foot right", "head", "foot", "left armrest", "right armrest", "footrest", "seat",
    "support 1", "support 2", "support 3", "support 4", "support 5", "support 6",
]  # fmt: skip

AdjustmentType = Literal["zero", "span", "linearity", "corner", "gravity setting", "internal", "repair part"]
SchemeName = Literal["hb44", "r76", "house"]
