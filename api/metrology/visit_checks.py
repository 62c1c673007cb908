"""What a visit as a whole leaves open: flags that a person must look at, and notes that hold nothing back."""

from api.metrology.hysteresis_found import hysteresis_note
from api.metrology.judgement import Flag, PhaseJudgement
from api.metrology.mass import METRIC, label_of
from api.metrology.readings import Phase, Reading
from api.metrology.scale import Scale
from api.metrology.submission import Submission
from api.metrology.visit_identity import identity_flags, identity_notes


def flags_of_visit(sent: Submission, scale: Scale, adjusted: bool, pieces_used: int) -> tuple[Flag, ...]:
    """Return the flags that the visit raises by what it lacks or contradicts; `pieces_used` is how many were named."""
    flags = [
        *identity_flags(sent, scale),
        *_missing_phases(sent, adjusted),
        *_pieces_counted(sent, pieces_used),
        *_outcome_fits(sent),
        *_left_out(sent),
        *_not_compared(sent),
    ]
    for number, adjustment in enumerate(sent.adjustments):
        if adjustment.type == "zero" and adjustment.platform_empty is False:
            flags.append(
                Flag(
                    "zero-not-empty", "Zero was adjusted with something on the platform.", {}, f"#/adjustments/{number}"
                )
            )
    return tuple(flags)


def _missing_phases(sent: Submission, adjusted: bool) -> list[Flag]:
    flags = []
    if sent.outcome != "not tested" and sent.as_found is None:
        flags.append(
            Flag(
                "as-found-missing",
                "No as-found readings. Adjusting erases evidence: take them before anything is touched (C-14).",
                {},
                "#/as_found",
            )  # fmt: skip
        )
    if sent.as_left is not None and sent.as_found is not None and not adjusted and sent.purpose != "after repair":
        said = (
            "As-left readings were sent, but nothing that was adjusted or repaired is named between them and as found."
        )
        flags.append(Flag("as-left-without-change", said, {}, "#/as_left"))
    if adjusted and sent.as_left is None:
        flags.append(
            Flag("as-left-missing", "The scale was adjusted, but no readings were taken afterwards.", {}, "#/as_left")
        )
    return flags


def _pieces_counted(sent: Submission, used: int) -> list[Flag]:
    if not used:
        return []
    counted = sent.pieces_counted
    if counted is None:
        return [
            Flag("pieces-not-counted", "Weights were used, but not counted out and in (C-21).", {}, "#/pieces_counted")
        ]
    if counted.out != counted.back:
        sentence = f"{counted.out} pieces went out and {counted.back} came back: look in the bed, cot or basket (C-21)."
        return [
            Flag("pieces-missing", sentence, {"out": str(counted.out), "back": str(counted.back)}, "#/pieces_counted")
        ]
    if counted.out < used:
        sentence = f"{counted.out} pieces were counted out, but {used} are named in the readings (C-21)."
        facts = {"out": str(counted.out), "named": str(used)}
        return [Flag("pieces-missing", sentence, facts, "#/pieces_counted")]
    return []


def _not_compared(sent: Submission) -> list[Flag]:
    """What was typed from paper has to be compared with the paper: a slip of the pen looks like an error of the scale."""
    typed = sent.taken_down
    if typed is None or typed.from_sheet is None or typed.compared_by is not None:
        return []
    said = "The readings were typed from a sheet of paper, and nobody compared them with it."
    return [Flag("not-compared", said, {}, "#/taken_down/compared_by")]


def _compared_alone(sent: Submission) -> list[Flag]:
    """Who read, or typed, and then compared, compared with himself."""
    typed = sent.taken_down
    if typed is None or typed.compared_by is None or typed.compared_by not in (typed.read_by, typed.typed_by):
        return []
    facts = {"compared_by": typed.compared_by}
    said = f"{typed.compared_by} read or typed the readings and compared them too: no second pair of eyes."
    return [Flag("compared-alone", said, facts, "#/taken_down/compared_by")]


def _left_out(sent: Submission) -> list[Flag]:
    """A reading may be left out with a reason; what it measured has to be measured again."""
    flags = []
    for name, phase in (("as_found", sent.as_found), ("as_left", sent.as_left)):
        for number, reading in enumerate(phase.readings if phase else ()):
            if reading.excluded is not None and phase is not None and not _taken_again(reading, phase):
                said = f"Reading {reading.seq} was left out and not taken again."
                flags.append(Flag("excluded-not-repeated", said, {}, f"#/{name}/readings/{number}"))
    return flags


def _taken_again(reading: Reading, phase: Phase) -> bool:
    wanted = (reading.test, reading.pieces, reading.position)
    return any(r.excluded is None and (r.test, r.pieces, r.position) == wanted for r in phase.readings)


def _outcome_fits(sent: Submission) -> list[Flag]:
    if sent.outcome == "not tested" and (sent.as_found or sent.as_left):
        return [Flag("tested-but-said-not", "The outcome says not tested, but readings were sent.", {}, "#/outcome")]
    if sent.outcome == "not tested" and not sent.reasons:
        return [Flag("reason-missing", "Nothing was tested, and no reason is given.", {}, "#/reasons")]
    return []


def notes_of_visit(
    sent: Submission,
    scale: Scale,
    found: PhaseJudgement | None,
    left: PhaseJudgement | None,
    unit_lock_required: bool = True,
) -> tuple[Flag, ...]:
    """Return what is worth saying and holds nothing back: units, counters, the app's own verdict, power cycle."""
    about = (*_units(sent, unit_lock_required), *_counters(sent), *_app_differs(sent, found, left), *_power_cycle(sent))
    beside = (*_stood(sent), *_compared_alone(sent), *_clinical(found, left), *_hysteresis(found, left))
    return (*about, *identity_notes(sent), *beside)


def _units(sent: Submission, lock_required: bool) -> list[Flag]:
    notes = []
    before = sent.configuration.before if sent.configuration else None
    after = sent.configuration.after if sent.configuration else None
    if before and before.unit and before.unit not in METRIC:
        notes.append(
            Flag("unit-found", f"Found showing {label_of(before.unit)}: weigh and record in kilograms only (C-03).",
                 {"unit": before.unit}, "#/configuration/before/unit")
        )  # fmt: skip
    if after and after.unit and after.unit not in METRIC:
        notes.append(
            Flag("unit-left", f"Left showing {label_of(after.unit)}: it must not be used before it shows kilograms (C-03).",
                 {"unit": after.unit}, "#/configuration/after/unit")
        )  # fmt: skip
    if after and after.unit_locked is False:
        notes.append(
            Flag("unit-not-locked", "The unit can still be switched: lock it to kilograms where the scale allows (C-03).",
                 {}, "#/configuration/after/unit_locked")
        )  # fmt: skip
    if lock_required and not any(n.code == "unit-not-locked" for n in notes):
        notes += _switched(sent)
    return notes


def _switched(sent: Submission) -> list[Flag]:
    """A reading in another unit than the metric ones, taken by the unit key, shows that the unit is not locked."""
    for name, phase in (("as_found", sent.as_found), ("as_left", sent.as_left)):
        for number, reading in enumerate(phase.readings if phase else ()):
            unit = reading.indication.unit
            if reading.test == "unit switch" and unit not in METRIC:
                said = f"The unit key leads to {label_of(unit)}: lock it to kilograms where the scale allows (C-03)."
                return [Flag("unit-not-locked", said, {"unit": unit}, f"#/{name}/readings/{number}")]
    return []


def _hysteresis(found: PhaseJudgement | None, left: PhaseJudgement | None) -> list[Flag]:
    own = left if left is not found else None
    phases = [(phase, name) for phase, name in ((found, "#/as_found"), (own, "#/as_left")) if phase is not None]
    return [note for phase, name in phases for note in hysteresis_note(phase.hysteresis, name)]


def _clinical(found: PhaseJudgement | None, left: PhaseJudgement | None) -> list[Flag]:
    """The ward's own requirement is told beside the verdict: a note, for it holds nothing back."""
    own = left if left is not found else None
    phases = [(phase, name) for phase, name in ((found, "as_found"), (own, "as_left")) if phase is not None]
    return [note for phase, name in phases for note in _need_of_a_phase(phase, name)]


def _need_of_a_phase(phase: PhaseJudgement, name: str) -> list[Flag]:
    stated, when = phase.clinical, name.replace("_", " ")
    if stated is None:
        return []
    notes = []
    if stated.answer == "not met":
        said = f"What ward {stated.ward} needs was not met {when}: {stated.words}"
        notes.append(Flag("clinical-need-not-met", said, {"ward": stated.ward}, f"#/{name}"))
    missed = [d for test in phase.tests for d in test.differences if d.answer == "not met"]
    if missed:
        seqs = ", ".join(str(d.seq) for d in missed)
        said = f"A difference of two weights was off by more than ward {stated.ward} can bear {when}: reading {seqs}."
        notes.append(Flag("difference-need-not-met", said, {"ward": stated.ward, "readings": seqs}, f"#/{name}"))
    return notes


def _stood(sent: Submission) -> list[Flag]:
    if sent.setup is not None and sent.setup.level is False:
        return [Flag("not-level", "It was not level while it was tested.", {}, "#/setup/level")]
    return []


def _counters(sent: Submission) -> list[Flag]:
    read = sent.counters
    if not (sent.adjustments and read and read.before and read.after):
        return []
    if read.before.adjustment is None or read.before.adjustment != read.after.adjustment:
        return []
    return [
        Flag(
            "counter-stood-still", "The scale was adjusted, but its adjustment counter did not move.", {}, "#/counters"
        )
    ]


def _app_differs(sent: Submission, found: PhaseJudgement | None, left: PhaseJudgement | None) -> list[Flag]:
    notes = []
    for name, ours in (("as_found", found), ("as_left", left)):
        theirs = getattr(sent.app_verdict, name) if sent.app_verdict else None
        if theirs is not None and ours is not None and theirs != ours.verdict:
            notes.append(
                Flag("app-verdict-differs", f"The app said {theirs}, this service says {ours.verdict}; ours counts.",
                     {"app": theirs, "service": ours.verdict}, f"#/app_verdict/{name}")
            )  # fmt: skip
    return notes


def _power_cycle(sent: Submission) -> list[Flag]:
    if not (sent.adjustments and sent.as_left) or sent.as_left.switched_off_and_on:
        return []
    if any(r.test == "power cycle" and r.excluded is None for r in sent.as_left.readings):
        return []
    return [
        Flag(
            "not-switched-off-and-on",
            "As-left readings count best after the scale was switched off and on: only then is the adjustment kept.",
            {},
            "#/as_left/switched_off_and_on",
        )  # fmt: skip
    ]
