"""What lists can be narrowed by. Where lists have different words for the same, a name says whose words they are."""

from typing import Any, Final, get_args

from api.metrology.device_events import EventKind
from api.metrology.terms import AccuracyClass, DeviceState, Kind, Outcome, PieceState, Purpose, UseTier
from api.metrology.verdict import VERDICTS
from api.records.access_key import HeldBy, KeyState
from api.records.calibration import Standing
from api.records.due import DueState
from api.records.file_import import ImportState
from api.routes.question_kinds import LAST_ENTRY, Question, code, day, number, switch, word


def _words(literal: Any, description: str) -> Question:
    return word(get_args(literal), description)


FILTERS: Final[dict[str, Question]] = {
    "changed_after": number(0, LAST_ENTRY, "Only what an entry of the log after this number touched."),
    "device": code("Only of this device, under any of its tags."),
    "ward": code("Only of this ward."),
    "technician": code("Only what this technician answers for: the one named first."),
    "standing": _words(Standing, "Only where it stands so."),
    "verdict": word(VERDICTS, "Only with this verdict as it was left; as found where nothing was judged as left."),
    "as_found": word(VERDICTS, "Only with this verdict as found."),
    "purpose": _words(Purpose, "Only visits for this purpose."),
    "outcome": _words(Outcome, "Only visits that ended so."),
    "flag": code("Only with a flag of this code in the judgement in force."),
    "from": day("Only visits on this day or later, by the visit's own calendar."),
    "to": day("Only visits on this day or earlier, by the visit's own calendar."),
    "touching": code("Only entries that touched a thing of this kind, such as device or calibration."),
    "key": code("Only entries that touched the thing of this key; with `touching`, of that kind.", longest=120),
    "schema": code("Only in this schema."),
    "holder": code("Only of this holder."),
    "held_by": _words(HeldBy, "Only of installations, or of persons."),
    "model": code("Only of this model."),
    "serial": code("Only with this serial number, exactly as it is on the plate.", longest=120),
    "kind": _words(Kind, "Only of this kind."),
    "accuracy_class": _words(AccuracyClass, "Only of this accuracy class."),
    "use_tier": _words(UseTier, "Only of this tier of use."),
    "weight_class": code("Only of this class."),
    "laboratory": code("Only of this laboratory."),
    "piece": code("Only what holds or speaks for this piece."),
    "active": switch("Only those who are active, or who are not."),
    "event.device": code("Only of this device, by its tag."),
    "event.kind": _words(EventKind, "Only events of this kind."),
    "open": switch("true: only what is open; false: only what is not."),
    "device.state": _words(DeviceState, "Only in this state."),
    "weight.state": _words(PieceState, "Only in this state."),
    "due.state": _words(DueState, "Only those that stand so on the day asked."),
    "key.state": _words(KeyState, "Only keys that stand so now."),
    "import.state": _words(ImportState, "Only imports that are so far."),
}

# What the visits of a device can be narrowed by, and what all calibrations can.
VISIT_FILTERS: Final = (
    "standing", "verdict", "as_found", "purpose", "outcome", "flag", "technician", "from", "to", "changed_after",
)  # fmt: skip
CALIBRATION_FILTERS: Final = ("site", "ward", "device", *VISIT_FILTERS)
