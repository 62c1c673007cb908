"""The invented network's weights: pieces, sets, and a certificate a year with every piece's conventional mass.

Each piece has a lasting deviation of its own; certificates report it with a little change from year to year. The set
that the examples use is certified without a gap, from before the register begins to well after `today`.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from random import Random
from typing import Final

from api.demo.days import FS2_PIECE_EXPIRED, FS2_PIECE_RENEWED, REGISTER_BEGINS, days_before
from api.metrology.mass import Mass, mass
from api.metrology.rounding import printed_uncertainty
from api.records.weight import CertifiedPiece, Membership, Weight, WeightCertificate, WeightSet

LABORATORY: Final = "Larkfield Mass Laboratory (invented)"


@dataclass(frozen=True, slots=True)
class SetPlan:
    """One set: its class, the site that keeps it, its pieces as (code, nominal), and its certificates' first days."""

    code: str
    site: str
    weight_class: str
    largest_ppm: int
    pieces: tuple[tuple[str, Mass], ...]
    begins: tuple[int, ...]
    # The last digit of a conventional mass on the certificates, in mg.
    step_mg: Decimal = Decimal(10)


def _heavy(prefix: str) -> tuple[tuple[str, Mass], ...]:
    twenties = [(f"{prefix}-20-{number:02d}", mass("20", "kg")) for number in range(1, 11)]
    small = [("10", "10"), ("5", "5"), ("2-A", "2"), ("2-B", "2"), ("1", "1")]
    return (*twenties, *((f"{prefix}-{name}", mass(value, "kg")) for name, value in small))


_INFANT_PIECES: Final = (
    ("IN1-10", mass("10", "kg")), ("IN1-5", mass("5", "kg")), ("IN1-2-A", mass("2", "kg")),
    ("IN1-2-B", mass("2", "kg")), ("IN1-1", mass("1", "kg")), ("IN1-500G", mass("500", "g")),
    ("IN1-200G-A", mass("200", "g")), ("IN1-200G-B", mass("200", "g")), ("IN1-100G", mass("100", "g")),
)  # fmt: skip

_BALANCE_PIECES: Final = tuple(
    (f"PH1-{name}", mass(value, "g"))
    for name, value in (
        ("2KG", "2000"), ("1KG", "1000"), ("500G", "500"), ("200G-A", "200"), ("200G-B", "200"), ("100G", "100"),
        ("50G", "50"), ("20G-A", "20"), ("20G-B", "20"), ("10G", "10"), ("5G", "5"), ("2G-A", "2"), ("2G-B", "2"),
        ("1G", "1"),
    )
)  # fmt: skip

# A limit in parts per million that no class limit of these nominal values falls below (tests compare with the tables).
FS_1: Final = SetPlan("FS-1", "QG", "M1", 50, _heavy("FS1"), (1100, 790, 430, 65))
FS_2: Final = SetPlan("FS-2", "HM", "F", 100, _heavy("FS2"), (1100, 765, 404, 38))
IN_1: Final = SetPlan("IN-1", "QG", "F2", 15, _INFANT_PIECES, (1100, 778, 415, 52), Decimal("0.1"))
PH_1: Final = SetPlan("PH-1", "QG", "F1", 5, _BALANCE_PIECES, (1100, 771, 409, 44), Decimal("0.001"))
SETS: Final = (FS_1, FS_2, IN_1, PH_1)
SET_CODED: Final = {plan.code: plan for plan in SETS}
LAST_CERTIFICATES_END: Final = -430

LATE_PIECE: Final = "FS2-2-B"
UNREGISTERED_PIECE: Final = "LOAN-20-1"


def pieces_of(plan: SetPlan) -> list[Weight]:
    """Return the pieces of one set as the register holds them."""
    iron = plan.weight_class in ("M1", "F")
    return [
        Weight(
            code=code,
            site=plan.site,
            nominal=nominal,
            weight_class=plan.weight_class,
            state="active",
            custodian="clinical engineering workshop",
            material="cast iron" if iron else "stainless steel",
            density_kg_m3=Decimal("7100") if iron else Decimal("7950"),
            has_cavity=iron,
        )
        for code, nominal in plan.pieces
    ]


def set_of(plan: SetPlan, today: date) -> WeightSet:
    """Return one set with its members, all of them in it since the register began."""
    since = days_before(today, REGISTER_BEGINS)
    members = tuple(Membership(code, since) for code, _ in plan.pieces)
    return WeightSet(plan.code, plan.site, "clinical engineering workshop", members)


def deviation_ppm(code: str, largest_ppm: int) -> float:
    """Return how far a piece lies from its nominal value, in parts per million: never above 0.55 of the class limit."""
    share = Random(f"piece {code}").gauss(0.25, 0.2)
    return largest_ppm * max(-0.5, min(0.5, share))


def certificates_of(plan: SetPlan, today: date) -> list[WeightCertificate]:
    """Return the certificates of one set: one after the other, and apart from them those of the piece that was late."""
    certificates = []
    for number, (first, last) in enumerate(_windows(plan.begins)):
        late = [p for p in plan.pieces if p[0] == LATE_PIECE and number == 2]
        together = [p for p in plan.pieces if p not in late]
        certificates.append(_certificate(plan, f"{plan.code}-{number + 1}", together, first, last, today))
        if late:
            certificates.append(_certificate(plan, f"{LATE_PIECE}-3A", late, first, FS2_PIECE_EXPIRED, today))
            certificates.append(_certificate(plan, f"{LATE_PIECE}-3B", late, FS2_PIECE_RENEWED, last, today))
    return certificates


def _windows(begins: tuple[int, ...]) -> list[tuple[int, int]]:
    """First and last day of each certificate, in days ago; each ends the day before the next begins."""
    return list(zip(begins, (*(b + 1 for b in begins[1:]), LAST_CERTIFICATES_END), strict=True))


def _certificate(
    plan: SetPlan, number: str, pieces: list[tuple[str, Mass]], first: int, last: int, today: date
) -> WeightCertificate:
    return WeightCertificate(
        number=f"LM-{number}",
        laboratory=LABORATORY,
        calibrated_on=days_before(today, first + 9),
        issued_on=days_before(today, first + 4),
        valid_from=days_before(today, first),
        valid_to=days_before(today, last),
        pieces=tuple(_certified(code, nominal, plan, number) for code, nominal in pieces),
        statement="Invented for the demonstration; conventional mass, pieces not adjusted.",
    )


def _certified(code: str, nominal: Mass, plan: SetPlan, number: str) -> CertifiedPiece:
    change = Random(f"{number} {code}").gauss(0.0, 0.02) * plan.largest_ppm
    ppm = deviation_ppm(code, plan.largest_ppm) + max(-0.05 * plan.largest_ppm, min(0.05 * plan.largest_ppm, change))
    conventional = _conventional(nominal, ppm, plan.step_mg)
    # At most a third of the limit (OIML R 111-1:2004 5.2, from memory): a third printed in two digits may lie above it.
    expanded_mg = 0.3 * plan.largest_ppm * float(nominal.kg)
    return CertifiedPiece(code, conventional, Mass(printed_uncertainty(expanded_mg), "mg"), Decimal(2), conventional)


def _conventional(nominal: Mass, ppm: float, step_mg: Decimal) -> Mass:
    """The nominal value plus a deviation in whole steps of the last digit."""
    steps = round(ppm * float(nominal.kg) / float(step_mg))
    deviation_mg = steps * step_mg
    return Mass(nominal.value + deviation_mg.scaleb(-3 if nominal.unit == "g" else -6), nominal.unit)
