"""Whether the owner's policy releases a record by rule, and in whose name: what has no flag, and nothing else.

The policy in force on the day of the release counts. It is an act of that day, however old the visit is.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection

from api.keeping.case_on_file import POLICY
from api.metrology.judgement import Flag
from api.metrology.policy import STARTING, Policy
from api.queries.register import find_in_force
from api.records.calibration import Standing


@dataclass(frozen=True, slots=True)
class ReleaseRule:
    """The rule of one policy revision; `revision` is None where the register has no policy, and the program's own holds."""

    policy: Policy
    revision: int | None

    @property
    def name(self) -> str:
        """The rule with its edition, as a certificate and a standing name it."""
        edition = f"revision {self.revision}" if self.revision else "the program's own"
        return f"policy {self.policy.code}, {edition}"

    def why_not(self, technicians: Collection[str]) -> str | None:
        """Return why a record in which nothing is flagged is not released by the rule; None where it is."""
        if not self.policy.release_unflagged:
            return f"by {self.name}, a person releases every record"
        if self.policy.responsible in technicians:
            return f"{self.policy.responsible}, in whose name {self.name} releases, made the visit"
        return None

    def said(self) -> str:
        """Return the rule as the reason of a release."""
        named = self.policy.responsible
        answers = f"; {named} is responsible" if named else ""
        return f"released by rule, nothing is flagged: {self.name}{answers}"

    def document(self) -> dict[str, Any]:
        """Return the rule as a certificate names it."""
        told = {
            "policy": self.policy.code, "revision": self.revision, "responsible": self.policy.responsible,
            "source": self.policy.source_of("release_unflagged"),
        }  # fmt: skip
        return {name: value for name, value in told.items() if value is not None}


def release_rule(connection: Connection, on: date) -> ReleaseRule:
    """Return the rule that holds for releases on a day."""
    found = find_in_force(connection, "policy", POLICY, on=on)
    return ReleaseRule(STARTING, None) if found is None else ReleaseRule(found.record, found.number)


def standing_on_receipt(rule: ReleaseRule, flags: Sequence[Flag], technicians: Collection[str]) -> tuple[Standing, str]:
    """Return where a record stands when it arrives, and why: flagged or held by the rule it waits for a person."""
    if flags:
        return "provisional", flagged_words(flag.code for flag in flags)
    held = rule.why_not(technicians)
    return ("released", rule.said()) if held is None else ("provisional", f"nothing is flagged; {held}")


def flagged_words(codes: Iterable[str]) -> str:
    """Return the reason of a record that flags hold, each code once."""
    return f"flagged: {', '.join(dict.fromkeys(codes))}"
