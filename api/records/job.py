"""A long job: what was asked, how far it is, what came of it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

JobState = Literal["waiting", "taken", "done", "failed", "cancelled"]


@dataclass(frozen=True, slots=True)
class Job:
    """One job under its id; `attempts` counts how often it was taken, `progress` says how far it is in its own words."""

    job: str
    kind: str
    state: JobState
    asked_at: datetime
    asked_by: str
    request: dict[str, Any]
    attempts: int
    answer: str | None = None
    finished_at: datetime | None = None
    progress: dict[str, Any] | None = None

    @property
    def unfinished(self) -> bool:
        """Whether more is to come of it."""
        return self.state in ("waiting", "taken")
