"""Readings said by the load and what was shown: every load is one certified piece of exactly its nominal mass.

What a visit, a piece or a case is made of stands in `a_case`.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from api.metrology.densities import density_of
from api.metrology.judgement import Judgement
from api.metrology.judging import Case, judge
from api.metrology.mass import Mass, mass
from api.metrology.policy import STARTING, Policy, PolicySource, Prior
from api.metrology.readings import Reading
from api.metrology.scale import Scale
from api.metrology.submission import Adjustment, Air, Environment, Submission
from api.metrology.terms import SchemeName
from api.metrology.terms import TestName as ReadingName
from tests.metrology.a_case import CORNERS, a_certificate, a_range, a_scale, a_visit
from tests.metrology.a_case import a_case as case_of
from tests.metrology.a_case import a_piece as piece_of

# A class III scale of 300 kg by 0.1 kg, and the same with its display in hundredths: there no rounding hides an error.
PLAIN: Final = a_scale([a_range(min="2")])
FINE: Final = a_scale([a_range(d="0.01", e="0.1", min="2")])


def kg(text: str) -> Mass:
    """Return a mass in kilograms."""
    return mass(text, "kg")


def a_reading(test: ReadingName, load: str, shown: str, **more: Any) -> Reading:
    """Return a reading of a load in kilograms, carried by the one piece that weighs it and is called by it."""
    pieces = (load,) if Decimal(load) else ()
    return Reading(**{"seq": 1, "test": test, "indication": kg(shown), "pieces": pieces, **more})


def increasing(*loads: str, off_by: str = "0.0") -> list[Reading]:
    """Return one increasing reading a load, each off by the same error."""
    return [a_reading("increasing", load, str(Decimal(load) + Decimal(off_by))) for load in loads]


def corners(load: str, *shown: str) -> list[Reading]:
    """Return one eccentricity reading a corner, for as many corners as values."""
    places = zip(CORNERS, shown, strict=False)
    return [a_reading("eccentricity", load, value, position=place) for place, value in places]


def repeated(load: str, *shown: str) -> list[Reading]:
    """Return several weighings of one load."""
    return [a_reading("repeatability", load, value) for value in shown]


def sound_readings() -> list[Reading]:
    """Return the readings of a scale without an error: every test that the starting policy requires."""
    return [
        a_reading("zero set", "0", "0.0"),
        *increasing("20.0", "100.0", "200.0", "300.0"),
        *corners("100.0", "100.0", "100.0", "100.0", "100.0"),
        *repeated("200.0", "200.0", "200.0", "200.0"),
    ]


def a_submission(
    found: Sequence[Reading] | None,
    left: Sequence[Reading] | None = None,
    adjustments: Sequence[Adjustment] = (),
    **more: Any,
) -> Submission:
    """Return a visit with these readings; `more` replaces any other of its fields."""
    return replace(a_visit(found, left, adjustments), **more)


def a_case(sent: Submission, scheme: SchemeName = "hb44", scale: Scale = PLAIN, policy: Policy = STARTING) -> Case:
    """Return a visit with what it is judged against; a piece is on the register for every load named."""
    pieces = {load: piece_of(load, load, certificate=a_certificate(load)) for load in sent.pieces_used}
    return case_of(sent, scale, pieces, scheme_name=scheme, policy=policy)


def a_visit_in_measured_air() -> Judgement:
    """Return the visit of sound readings in air that was read, with pieces of grey cast iron."""
    iron = density_of(Decimal(7100), None)
    read = Air(Decimal("21.5"), Decimal("21.5"), Decimal(40), Decimal(1000))
    case = a_case(replace(a_submission(sound_readings()), environment=Environment(read)))
    return judge(replace(case, pieces={code: replace(piece, density=iron) for code, piece in case.pieces.items()}))


def a_visit_by_a_prior() -> Judgement:
    """Return the visit of sound readings and one that is far off, under a policy with a prior in shares of the tolerance."""
    prior = Prior(Decimal("0.1"), Decimal("0.5"), "tolerance")
    source = PolicySource("prior", "errors found by the owner over four years")
    policy = replace(STARTING, prior=prior, sources=(*STARTING.sources, source))
    return judge(a_case(a_submission([*sound_readings(), *increasing("150.0", off_by="4.0")]), policy=policy))
