"""A scale, pieces, readings, a visit, a case: plain builders for the tests, each with a default that passes.

The default is an invented stand-on scale of 300 kg x 0.1 kg, class III, judged by NIST HB 44, with twenty pieces of
20 kg class M1 (`K01` to `K20`) whose certificates were in force on the day. Tests name only what matters to them.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal

from api.metrology.judgement import Flag, Judgement, PhaseJudgement, PointJudgement
from api.metrology.judging import Case, judge
from api.metrology.mass import Mass, mass
from api.metrology.policy import STARTING, Policy
from api.metrology.readings import Phase, Reading
from api.metrology.repeatability import Spread
from api.metrology.scale import Arrangement, Range, Scale
from api.metrology.submission import Adjustment, Installation, Performed, PiecesCounted, Submission
from api.metrology.terms import AccuracyClass, AdjustmentType, Kind, Outcome, Placed, Position, Purpose, SchemeName
from api.metrology.terms import TestName as ReadingName
from api.metrology.tolerance import HouseTolerance
from api.metrology.weights import CertifiedMass, Piece

BEGAN = datetime(2026, 3, 2, 9, 0, tzinfo=timezone(timedelta(hours=1)))
ALL_BACK = PiecesCounted(20, 20)
CORNERS: tuple[Position, ...] = ("front left", "front right", "back left", "back right")


def a_range(max: str = "300", d: str = "0.1", unit: str = "kg", e: str | None = None, min: str | None = None) -> Range:
    """Return a weighing range; e is d unless given."""
    return Range(unit, Decimal(max), Decimal(d), Decimal(e or d), Decimal(min) if min else None)


def a_scale(
    ranges: Sequence[Range] = (a_range(),),
    kind: Kind = "stand-on",
    accuracy_class: AccuracyClass = "III",
    arrangement: Arrangement = "single",
    supports: int = 4,
) -> Scale:
    """Return a scale, by default a stand-on scale of 300 kg x 0.1 kg, class III."""
    return Scale(kind, accuracy_class, arrangement, tuple(ranges), supports)


def a_dual_unit_scale() -> Scale:
    """Return the stand-on scale of 600 lb x 0.2 lb and 300 kg x 0.1 kg."""
    return a_scale([a_range("600", "0.2", "[lb_av]"), a_range("300", "0.1", "kg")])


def a_certificate(conventional_kg: str, expanded_kg: str = "0.0003", k: str = "2") -> CertifiedMass:
    """Return what an invented weight certificate says of one piece, in force for the whole of 2026."""
    return CertifiedMass(
        "W-2026-01", Decimal(conventional_kg), Decimal(expanded_kg), Decimal(k), date(2026, 1, 1), date(2026, 12, 31)
    )


def a_piece(
    code: str = "K01",
    nominal: str = "20",
    unit: str = "kg",
    weight_class: str = "M1",
    certificate: CertifiedMass | None | bool = True,
) -> Piece:
    """Return a piece; its certificate says the nominal value unless one is given, or none where it is None."""
    stated = mass(nominal, unit)
    given = a_certificate(f"{stated.kg:f}") if certificate is True else certificate or None
    return Piece(code, stated, weight_class, given)


def some_pieces(count: int = 20, certified: bool = True) -> dict[str, Piece]:
    """Return the pieces K01, K02 ... of 20 kg class M1."""
    codes = [f"K{number:02d}" for number in range(1, count + 1)]
    return {code: a_piece(code, certificate=certified) for code in codes}


def stack(load_kg: int) -> tuple[str, ...]:
    """Return the codes of as many pieces of 20 kg as make a load."""
    assert load_kg % 20 == 0
    return tuple(f"K{number:02d}" for number in range(1, load_kg // 20 + 1))


def a_reading(
    test: ReadingName = "increasing",
    shown: str = "100.0",
    pieces: Sequence[str] = (),
    *,
    unit: str = "kg",
    load: Mass | None = None,
    placed: Placed | None = None,
    position: Position | None = None,
    range_selected: int | None = None,
    before: str | None = None,
    added: str | None = None,
    excluded: str | None = None,
) -> Reading:
    """Return a reading; `before` and `added` are in its unit."""
    return Reading(
        0,
        test,
        mass(shown, unit),
        load=load,
        pieces=tuple(pieces),
        placed=placed,
        position=position,
        range_selected=range_selected,
        before=mass(before, unit) if before else None,
        added=mass(added, unit) if added else None,
        excluded=excluded,
    )


def zero(shown: str = "0.0", unit: str = "kg") -> list[Reading]:
    """Return the reading after the zero key."""
    return [a_reading("zero set", shown, unit=unit)]


def increasing(shown: Sequence[str] = ("20.0", "100.0", "200.0", "300.0")) -> list[Reading]:
    """Return readings at the multiples of 20 kg next to what was shown."""
    return [a_reading("increasing", text, stack(20 * round(float(text) / 20))) for text in shown]


def eccentricity(
    centre: str = "100.0", corners: Sequence[str] = ("100.0",) * 4, pieces: Sequence[str] = stack(100)
) -> list[Reading]:
    """Return readings of one load, by default 100 kg, at the centre and the four corners."""
    placed = [a_reading("eccentricity", centre, pieces, position="centre")]
    return placed + [
        a_reading("eccentricity", text, pieces, position=where) for where, text in zip(CORNERS, corners, strict=True)
    ]


def repeatability(
    shown: Sequence[str] = ("100.0", "100.0", "100.0"), pieces: Sequence[str] = stack(100)
) -> list[Reading]:
    """Return weighings of one load, by default 100 kg."""
    return [a_reading("repeatability", text, pieces) for text in shown]


def all_required() -> list[Reading]:
    """Return readings of every test that the starting policy requires, without any error."""
    return [*zero(), *increasing(), *eccentricity(), *repeatability()]


def a_phase(readings: Iterable[Reading], switched_off_and_on: bool | None = True) -> Phase:
    """Return a phase with its readings numbered in the order given."""
    numbered = [replace(reading, seq=number) for number, reading in enumerate(readings, 1)]
    return Phase(tuple(numbered), switched_off_and_on)


def an_adjustment(
    type: AdjustmentType = "span", at: str | None = "200", pieces: Sequence[str] = (), unit: str = "kg"
) -> Adjustment:
    """Return an adjustment, by default of the span at 200 kg."""
    return Adjustment(type, mass(at, unit) if at else None, tuple(pieces))


def a_visit(
    as_found: Iterable[Reading] | None = None,
    as_left: Iterable[Reading] | None = None,
    adjustments: Sequence[Adjustment] = (),
    purpose: Purpose = "scheduled",
    outcome: Outcome = "completed",
    pieces_counted: PiecesCounted | None = ALL_BACK,
) -> Submission:
    """Return a visit; an iterable of readings becomes a phase, None leaves the phase out."""
    return Submission(
        "calibration/1",
        site="north",
        device="SC-0001",
        performed=Performed(BEGAN, BEGAN + timedelta(minutes=40)),
        technicians=("T-07",),
        purpose=purpose,
        outcome=outcome,
        installation=Installation("app-1", 1),
        as_found=a_phase(as_found) if as_found is not None else None,
        adjustments=tuple(adjustments),
        as_left=a_phase(as_left) if as_left is not None else None,
        pieces_counted=pieces_counted,
    )


def a_case(
    visit: Submission | None = None,
    scale: Scale | None = None,
    pieces: dict[str, Piece] | None = None,
    *,
    scheme_name: SchemeName = "hb44",
    house: HouseTolerance | None = None,
    policy: Policy = STARTING,
    heaviest_load_used_kg: str | None = None,
    registered_spread: Spread | None = None,
) -> Case:
    """Return a case; by default a complete visit to the default scale, without any error."""
    return Case(
        visit or a_visit(all_required()),
        scale or a_scale(),
        scheme_name,
        None,
        house,
        some_pieces() if pieces is None else pieces,
        policy,
        Decimal(heaviest_load_used_kg) if heaviest_load_used_kg else None,
        registered_spread,
    )


def judged(case: Case | None = None) -> Judgement:
    """Return the judgement of a case, by default of one that passes."""
    return judge(case or a_case())


def found_of(judgement: Judgement) -> PhaseJudgement:
    """Return the as-found judgement; there must be one."""
    assert judgement.as_found is not None
    return judgement.as_found


def left_of(judgement: Judgement) -> PhaseJudgement:
    """Return the as-left judgement; there must be one."""
    assert judgement.as_left is not None
    return judgement.as_left


def codes_of(flags: Iterable[Flag]) -> list[str]:
    """Return the codes of flags or reasons, in their order."""
    return [flag.code for flag in flags]


def a_point(case: Case, number: int = 0) -> PointJudgement:
    """Return the judgement of one as-found reading of a case."""
    return found_of(judge(case)).points[number]
