"""One visit as the technician writes it down: an attempt, or a whole calibration with what was found, done and left."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Final

from api.demo.bench import Bench
from api.demo.days import moment
from api.demo.devices import STANDINGS
from api.demo.found_errors import span_share, worst_share
from api.demo.life import Life
from api.demo.load_lists import LOAD_LISTS, LoadList, pieces_for
from api.demo.models import MODEL_CODED, own_unit
from api.demo.people import SUPERVISOR
from api.demo.readings_taken import as_found, as_left
from api.demo.stories import MAY_NOT_ADJUST, Visit
from api.demo.surroundings import checks_of, configuration_read, environment_of, identity_of, setup_of
from api.demo.weights import SET_CODED
from api.metrology.mass import kilograms
from api.metrology.readings import Phase
from api.metrology.submission import (
    Adjustment,
    CountersRead,
    Informed,
    Performed,
    PiecesCounted,
    Procedure,
    Seals,
    Submission,
)  # fmt: skip
from api.records.device import Device

# An owner adjusts above 70 % of the tolerance (common practice, no source).
_ACTION_SHARE: Final = Decimal("0.7")
_FINE_SETS: Final[dict[str, str]] = {"infant": "IN-1", "pharmacy balance": "PH-1"}
# How long a visit takes more for a test that has to wait for the scale, in minutes.
_WAITING: Final = 32
_HOURS: Final = {standing.tag: 8 + number % 8 for number, standing in enumerate(STANDINGS)}


@dataclass(frozen=True, slots=True)
class Attendance:
    """A visit on its day: the plan, the scale as the register knew it then, its life, and the luck of the day."""

    visit: Visit
    day: date
    device: Device
    life: Life
    luck: Random

    @property
    def weight_set(self) -> str:
        """The set taken along: the fine ones for infant scales and balances, else the one kept at the site."""
        if (kind := MODEL_CODED[self.device.model].kind) in _FINE_SETS:
            return _FINE_SETS[kind]
        return "FS-1" if self.device.site == "QG" else "FS-2"

    @property
    def loads(self) -> LoadList:
        """What is placed on this kind of scale, with what is particular to the day."""
        loads, special = LOAD_LISTS[self.device.model], self.visit.special
        if special.also is not None:
            loads = replace(loads, increasing=tuple(sorted((*loads.increasing, special.also))))
        return replace(
            loads,
            repeated=special.repeated or loads.repeated,
            eccentric=special.eccentric or loads.eccentric,
            further=(*loads.further, *special.further),
            change_over=special.change_over or loads.change_over,
        )

    @property
    def unit(self) -> str:
        """The unit that the scale was found in: its own, unless something else was set."""
        return self.visit.special.unit or own_unit(MODEL_CODED[self.device.model])

    def bench(self, unit: str) -> Bench:
        """Return the scale as it is now with the weights beside it and no reading taken."""
        scale = self.life.on(self.day, self.device, unit, self.luck)
        return Bench(scale, self.weight_set, self.visit.special.swapped, self.loads.change_over)

    def times(self, shortest: int, longest: int) -> Performed:
        """Return begin and end by the clock of the site, at the hour of the day when this scale is usually free."""
        begin = _HOURS[self.device.tag] * 60 + self.luck.randint(0, 9)
        return Performed(moment(self.day, begin), moment(self.day, begin + self.luck.randint(shortest, longest)))


def attempt(at: Attendance) -> Submission:
    """Return the visit on which nothing could be weighed, with all its reasons."""
    return Submission(
        schema="calibration/1",
        site=at.device.site,
        device=at.device.tag,
        performed=at.times(4, 12),
        technicians=(at.visit.technician,),
        purpose=at.visit.purpose,
        outcome="not tested",
        reasons=at.visit.reasons,
        ward=at.device.ward,
        remarks=at.visit.special.remarks,
    )


def calibration(at: Attendance) -> Submission:
    """Return the whole visit: found, adjusted where that was called for, left, decided."""
    special = at.visit.special
    before, seal_before = at.life.counters, _seal(at.life)
    found = as_found(at.bench(at.unit), at.loads, special.mishap)
    adjustments, left = _adjusted(at, found)
    if special.unit is not None:
        at.life.configuration_counter += 1  # the unit is set back
    waited = sum(_WAITING for test in at.loads.further if test.doing in ("creep", "return to zero"))
    performed = at.times(40 + waited, 49 + waited)
    return Submission(
        schema="calibration/1",
        site=at.device.site,
        device=at.device.tag,
        performed=performed,
        technicians=(at.visit.technician,),
        purpose=at.visit.purpose,
        outcome="completed",
        ward=at.device.ward,
        procedure=Procedure(at.loads.procedure, "3"),
        identity=identity_of(at.device),
        seals=Seals(seal_before, _seal(at.life)),
        counters=CountersRead(before, at.life.counters) if MODEL_CODED[at.device.model].counters else None,
        configuration=configuration_read(at.device, at.unit),
        setup=setup_of(at.device, special.surface),
        checks=checks_of(at.device, special.surface),
        environment=environment_of(at.device, at.luck),
        weight_set=at.weight_set,
        as_found=found,
        adjustments=adjustments,
        as_left=left,
        pieces_counted=_counted(at),
        decision=special.decision,
        label=f"L{at.day:%y%m%d}-{at.device.tag}",
        informed=_informed(at, found, performed),
        remarks=special.remarks,
    )


def _seal(life: Life) -> str:
    return f"seal {life.seal:04d}, whole"


def _adjusted(at: Attendance, found: Phase) -> tuple[tuple[Adjustment, ...], Phase | None]:
    """The adjustments and the readings after them; neither where the span is good, or is not to be touched."""
    special = at.visit.special
    called_for = span_share(at.device, found) > _ACTION_SHARE or special.repaired is not None
    if special.left_alone or at.visit.technician == MAY_NOT_ADJUST or not called_for:
        return (), None
    corners_too = special.repaired is not None or worst_share(at.device, found) > 1
    at.life.adjust(at.day, at.device, at.luck, repaired=special.repaired is not None)
    left = as_left(at.bench(own_unit(MODEL_CODED[at.device.model])), at.loads, corners_too)
    return _adjustments(at, found, left), left


def _adjustments(at: Attendance, found: Phase, left: Phase) -> tuple[Adjustment, ...]:
    load = at.loads.increasing[-1]
    span = Adjustment(
        type="span",
        at_load=kilograms(load),
        pieces=pieces_for(at.weight_set, load),
        platform_empty=False,
        before_value=_shown_at(found, load),
        after_value=_shown_at(left, load),
        authorised_by=SUPERVISOR,
        reason="after the repair" if at.visit.special.repaired else "above 70 % of the tolerance",
    )
    if at.visit.special.repaired is None:
        return (span,)
    repair = Adjustment("repair part", authorised_by=SUPERVISOR, reason=at.visit.special.repaired)
    return (repair, span)


def _shown_at(phase: Phase, load: Decimal) -> str:
    shown = next(r.indication for r in phase.readings if r.test == "increasing" and r.load and r.load.kg == load)
    return f"{shown.shown} shown at {load:f} kg"


def _counted(at: Attendance) -> PiecesCounted:
    count = len(SET_CODED[at.weight_set].pieces)
    return PiecesCounted(count, count)


def _informed(at: Attendance, found: Phase, performed: Performed) -> Informed | None:
    """The ward is told of a failure, of anything but a plain return to service, and always of a bed that was zeroed."""
    bed = MODEL_CODED[at.device.model].kind in ("bed", "bed pads")
    plain = at.visit.special.decision == "return to service" and worst_share(at.device, found) <= 1
    if plain and not bed:
        return None
    return Informed("nurse in charge", performed.end - timedelta(minutes=2))
