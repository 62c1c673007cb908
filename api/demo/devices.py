"""The twenty-three scales of the invented network, and what the register learned of some of them later.

The changes go with the visits: a move, a written limit, repairs, a retirement, a scale that nobody finds.
"""

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from api.demo.days import (
    A07_MOVED,
    A09_COMPLAINT,
    A13_RETIRED,
    B02_SECOND_VISIT,
    B08_MISSED_AGAIN,
    C05_FAILED,
    C05_REPAIRED,
    E06_CORNER,
    G03_ON_FOAM,
    G03_ON_TABLE,
    REGISTER_BEGINS,
    days_before,
    working_day,
)  # fmt: skip
from api.demo.models import MODEL_CODED
from api.demo.people import SUPERVISOR
from api.demo.places import BED_RULE, G_AT
from api.metrology.mass import Mass, mass
from api.records.device import AdjustedAt, Device, LimitOfUse, ToleranceChoice

HB44: Final = ToleranceChoice("hb44", "2026")
R76: Final = ToleranceChoice("r76", "2006")
BED: Final = ToleranceChoice("house", house_rule=BED_RULE.code)

_HEAVIEST_USED: Final = {
    "COL-200": mass("160", "kg"), "DUO-300": mass("190", "kg"), "CHR-250": mass("180", "kg"),
    "BED-250": mass("170", "kg"), "INF-20": mass("9", "kg"), "WCH-300": mass("240", "kg"),
    "DIA-200": mass("140", "kg"), "PAD-500": mass("260", "kg"), "PHB-2": mass("1500", "g"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Standing:
    """A scale in short: tag, model, ward where it stood when the register began, place, interval, tolerance."""

    tag: str
    model: str
    ward: str
    place: str
    interval_months: int = 12
    tolerance: ToleranceChoice = HB44
    electrical_safety_due_in: int = 200


STANDINGS: Final = (
    Standing("A-01", "COL-200", "QG-ED", "triage bay"),
    Standing("A-02", "COL-200", "HM-MED", "corridor by the nurses' station", electrical_safety_due_in=95),
    Standing("A-04", "COL-200", "QG-CDU", "weighing corner", 6),
    Standing("A-07", "COL-200", "QG-IMG", "changing area outside the magnet zone"),
    Standing("A-09", "COL-200", "QG-ED", "assessment room"),
    Standing("A-11", "DUO-300", "QG-PAE", "clinic room 2"),
    Standing("A-13", "COL-200", "QG-CDU", "waiting area"),
    Standing("B-02", "DUO-300", "QG-CDU", "treatment area"),
    Standing("B-08", "DUO-300", "QG-ICU", "equipment bay"),
    Standing("C-02", "CHR-250", "QG-IMG", "preparation room", electrical_safety_due_in=60),
    Standing("C-05", "CHR-250", "QG-CDU", "bay 3"),
    Standing("C-06", "CHR-250", "HM-MED", "day room", tolerance=R76),
    Standing("E-02", "BED-250", "QG-ICU", "bed space 4", tolerance=BED),
    Standing("E-04", "BED-250", "HM-MED", "side room 1", tolerance=BED),
    Standing("E-06", "BED-250", "QG-ICU", "bed space 9", tolerance=BED),
    Standing("G-01", "INF-20", "QG-NEO", "milk kitchen shelf", 6),
    Standing("G-03", "INF-20", "QG-NEO", "room 5", 6),
    Standing("G-05", "INF-20", "HM-NUR", "nursery table", 6, electrical_safety_due_in=-15),
    Standing("D-01", "WCH-300", "QG-ED", "entrance from the ambulances"),
    Standing("D-03", "WCH-300", "HM-MED", "by the lift"),
    Standing("E-10", "PAD-500", "QG-ICU", "bed space 2"),
    Standing("J-01", "DIA-200", "QG-DIA", "between stations 3 and 4", tolerance=R76),
    Standing("H-01", "PHB-2", "QG-PHA", "stone table, preparation room", 6, tolerance=R76),
)


def devices(today: date) -> list[Device]:
    """Return the twenty-three scales as they stood when the register began."""
    return [_device(standing, number, today) for number, standing in enumerate(STANDINGS, start=1)]


def _device(standing: Standing, number: int, today: date) -> Device:
    since = days_before(today, REGISTER_BEGINS)
    site = standing.ward.partition("-")[0]
    return Device(
        tag=standing.tag,
        serial=f"QH{number:02d}{number * 7919 % 9973:04d}",
        model=standing.model,
        site=site,
        ward=standing.ward,
        place=standing.place,
        in_place_since=since,
        state="in service",
        tolerance=standing.tolerance,
        interval_months=standing.interval_months,
        on_register_since=since,
        adjusted_at=AdjustedAt(site, days_before(today, REGISTER_BEGINS - 30), G_AT[site]),
        heaviest_load_used=_HEAVIEST_USED[standing.model],
        electrical_safety_due=days_before(today, -standing.electrical_safety_due_in),
        unit_lock_required=bool(MODEL_CODED[standing.model].unit_lock_possible),
        firmware="2.4",
    )


def later_changes(today: date) -> list[tuple[date, Device]]:
    """Return what the register learned later: the day, and the whole record from that day on, in order."""
    first = {device.tag: device for device in devices(today)}
    changes = [*_places_and_intervals(first, today), *_out_of_use(first, today), *_there_and_back(first, today)]
    return sorted(changes, key=lambda change: change[0])


def _places_and_intervals(first: dict[str, Device], today: date) -> list[tuple[date, Device]]:
    moved = working_day(today, A07_MOVED)
    shorter = days_before(working_day(today, B02_SECOND_VISIT), -7)
    limited = working_day(today, A09_COMPLAINT)
    return [
        (moved, replace(first["A-07"], site="HM", ward="HM-MED", place="treatment room", in_place_since=moved)),
        (shorter, replace(first["B-02"], interval_months=6)),
        (limited, replace(first["A-09"], state="limited", limit=_limit(mass("120", "kg"), today))),
    ]


def _limit(up_to: Mass, today: date) -> LimitOfUse:
    reason = "reads low above 120 kg; a load cell is on order"
    return LimitOfUse(up_to, reason, decided_by=SUPERVISOR, until=days_before(today, -60))


def _out_of_use(first: dict[str, Device], today: date) -> list[tuple[date, Device]]:
    missed, retired = working_day(today, B08_MISSED_AGAIN), working_day(today, A13_RETIRED)
    return [
        (missed, replace(first["B-08"], state="not found", state_reason="looked for twice, nobody has seen it")),
        (retired, replace(first["A-13"], state="retired", state_reason="a cell is failing; not worth its repair")),
        (
            working_day(today, E06_CORNER),
            replace(first["E-06"], state="held back", state_reason="reads low at the head, left side"),
        ),
    ]


def _there_and_back(first: dict[str, Device], today: date) -> list[tuple[date, Device]]:
    """Scales taken out of use after a visit and returned after the next one."""
    chair, infant = first["C-05"], first["G-03"]
    failed, foam = working_day(today, C05_FAILED), working_day(today, G03_ON_FOAM)
    repaired, table = working_day(today, C05_REPAIRED), working_day(today, G03_ON_TABLE)
    return [
        (failed, replace(chair, state="out of service", state_reason="in the workshop for repair")),
        (repaired, replace(chair, adjusted_at=AdjustedAt("QG", repaired, G_AT["QG"]))),
        (foam, replace(infant, state="held back", state_reason="does not repeat on the trolley")),
        (table, replace(infant, place="room 5, on the hard table", in_place_since=table)),
    ]
