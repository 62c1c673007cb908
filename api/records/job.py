"""A long job: what was asked, how far it is, what came of it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

JobState = Literal["waiting", "taken", "done", "failed"]


@dataclass(frozen=True, slots=True)
class Job:
    """One job under its id; `attempts` counts how often it was taken."""

    job: str
    kind: str
    state: JobState
    asked_at: datetime
    asked_by: str
    request: dict[str, Any]
    attempts: int
    answer: str | None = None
    finished_at: datetime | None = None
