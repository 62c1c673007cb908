"""A visit measured by a definition of the scale that was not the one in force: judged by both, and a person looks where the
answers differ.

The definition in force counts. What the app had matters where it led the technician to stop, or to adjust, by another
tolerance than the one that holds.
"""

from api.keeping.case_on_file import OnFile
from api.metrology.judgement import Flag, Judgement
from api.metrology.judging import judge
from api.metrology.submission import Submission

Flags = tuple[Flag, ...]


def stale_definition(sent: Submission, held: OnFile, judgement: Judgement) -> tuple[Flags, Flags]:
    """Return what is flagged and what is only noted, where the app's revision of the device was not the one in force.

    Flagged where it gives another verdict, or is on no register; both verdicts are among the facts.
    """
    if held.device is None or sent.device_revision in (None, held.device.number):
        return (), ()
    facts = {"app": str(sent.device_revision), "in_force": str(held.device.number)}
    said = f"The app worked with revision {facts['app']} of the device; {facts['in_force']} was in force that day."
    if held.case_of_app is None:
        return (Flag("stale-definition", said, facts, "#/device_revision"),), ()
    by_app, ours = _verdicts(judge(held.case_of_app)), _verdicts(judgement)
    if by_app == ours:
        same = Flag("stale-definition", f"{said} The verdict is the same by both.", facts, "#/device_revision")
        return (), (same,)
    facts |= {f"{phase}_by_app": verdict for phase, verdict in by_app.items()} | ours
    differs = f"{said} By the app's it is {_told(by_app)}; by the one in force, which counts, {_told(ours)}."
    return (Flag("stale-definition", differs, facts, "#/device_revision"),), ()


def _verdicts(judgement: Judgement) -> dict[str, str]:
    phases = {"as_found": judgement.verdict_as_found, "as_left": judgement.verdict_as_left}
    return {phase: verdict or "not measured" for phase, verdict in phases.items()}


def _told(verdicts: dict[str, str]) -> str:
    return f"{verdicts['as_found']} as found and {verdicts['as_left']} as left"
