"""The owner's policy numbers, as values. They live in the register with a source line each; `STARTING` begins it."""

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Final, Literal

from api.metrology.terms import Between, Code, Kind, Line, Many, TestName

Share = Annotated[Decimal, Between(Decimal(0), Decimal(2))]
RequiredTest = Literal[
    "zero", "increasing", "decreasing", "eccentricity", "repeatability", "discrimination", "return to zero", "creep",
    "tare", "unit switch", "power cycle", "rolling load", "difference",
]  # fmt: skip
RuleName = Literal["simple acceptance", "guarded acceptance", "four zones"]


NO_SOURCE: Final = "the policy names no source"


@dataclass(frozen=True, slots=True)
class PolicySource:
    """Where one policy number comes from."""

    of: Line
    source: Line


@dataclass(frozen=True, slots=True)
class Exempt:
    """A kind of scale for which a test is not required, because it cannot be done on it."""

    kind: Kind
    test: RequiredTest


@dataclass(frozen=True, slots=True)
class GuardWidth:
    """How wide the guard band of a guarded rule is: r times U, or what a wanted risk asks; exactly one of the two.

    The risk is that of accepting, at one limit, what lies beyond it.
    """

    r: Annotated[Decimal, Between(Decimal("0.01"), Decimal(3))] | None = None
    risk: Annotated[Decimal, Between(Decimal("0.00001"), Decimal("0.49"))] | None = None


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of the errors of scales before one is measured: mean and standard deviation, taken as normal.

    Both are counted in the tolerance at a load, or in divisions d of the range in use.
    """

    mean: Annotated[Decimal, Between(Decimal(-10), Decimal(10))]
    standard_deviation: Annotated[Decimal, Between(Decimal("0.001"), Decimal(100))]
    counted_in: Literal["tolerance", "division"]


@dataclass(frozen=True, slots=True)
class Policy:
    """What the owner decided once for all calibrations: reference, rule, shares, required tests, each with its source.

    With a prior the risks of every decision are stated beside it; it decides nothing. `release_unflagged` releases by rule
    what nothing was flagged in; `responsible` is the person who answers for that.
    """

    code: Code
    reference: Literal["certificate", "nominal"] = "certificate"
    decision_rule: RuleName = "simple acceptance"
    guard_band: GuardWidth | None = None
    drift_factor: Share = Decimal(1)
    weights_divisor: Annotated[Decimal, Between(Decimal(1), Decimal(20))] = Decimal(3)
    least_span_share: Share = Decimal("0.5")
    advised_span_share: Share = Decimal("0.7")
    action_share: Share = Decimal("0.7")
    least_eccentric_share: Share = Decimal("0.3")
    least_loads: Annotated[int, Between(Decimal(1), Decimal(20))] = 3
    required_as_found: Annotated[tuple[RequiredTest, ...], Many(13)] = (
        "zero", "increasing", "eccentricity", "repeatability",
    )  # fmt: skip
    required_as_left: Annotated[tuple[RequiredTest, ...], Many(13)] = ("zero", "increasing")
    exempt: Annotated[tuple[Exempt, ...], Many(40)] = (Exempt("sling", "eccentricity"),)
    due_date_on_certificate: bool = False
    sources: Annotated[tuple[PolicySource, ...], Many(40)] = field(default=())
    prior: Prior | None = None
    release_unflagged: bool = True
    responsible: Code | None = None

    def source_of(self, number: str) -> str:
        """Return the source line of one of the policy's numbers, or that it names none."""
        return next((line.source for line in self.sources if line.of == number), NO_SOURCE)


# The test of readings that a reading's word belongs to.
TEST_OF: Final[dict[TestName, str]] = {
    "zero found": "zero", "zero set": "zero", "first loading": "first loading", "increasing": "increasing",
    "decreasing": "decreasing", "eccentricity": "eccentricity", "repeatability": "repeatability",
    "discrimination": "discrimination", "return to zero": "return to zero", "creep": "creep", "tare": "tare",
    "unit switch": "unit switch", "power cycle": "power cycle", "rolling load": "rolling load",
    "difference": "difference",
}  # fmt: skip

_COMMON = "common practice, no source"
STARTING: Final = Policy(
    code="network",
    sources=(
        PolicySource(
            "reference", "conventional mass from the certificate: OIML R 111-1:2004 use of weights; house choice"
        ),
        PolicySource(
            "decision_rule", "simple acceptance with U printed beside: ILAC-G8:09/2019 section 4.2.1; house choice"
        ),
        PolicySource(
            "drift_factor", "drift at most k_D x U with k_D 1 to 3: EURAMET cg-18 v4.0 section 7.1.2.3, from memory"
        ),
        PolicySource(
            "weights_divisor",
            "errors of the weights at most one third of the tolerance: OIML R 76-1:2006 3.7.1; NIST HB 44 Appendix A 3.2, "
            "from memory",
        ),
        PolicySource("least_span_share", f"span adjusted with at least half the capacity: {_COMMON}"),
        PolicySource("advised_span_share", f"span adjusted with 70 to 100 % of capacity: {_COMMON}"),
        PolicySource("action_share", f"adjust above 70 % of the tolerance: {_COMMON}"),
        PolicySource("least_eccentric_share", "30 to 35 % of capacity: NIST HB 44 section 2.20 N.1.3, from memory"),
        PolicySource(
            "least_loads",
            f"three increasing loads at least: {_COMMON}; R 76-1 A.4.4.1 asks five of a weighing test, from memory",
        ),
        PolicySource("required_as_found", f"{_COMMON}"),
        PolicySource("required_as_left", f"{_COMMON}; a test that did not pass as found is repeated as left"),
        PolicySource("exempt", "a suspended load has no corners"),
        PolicySource("due_date_on_certificate", "not on the certificate unless agreed: ISO/IEC 17025:2017 7.8.4.3"),
        PolicySource(
            "release_unflagged",
            "what nothing was flagged in is released by rule, the rest by a person; ISO/IEC 17025:2017 7.8.1.1 asks that "
            "results are reviewed and authorised before release, from memory; house choice",
        ),
    ),
)
