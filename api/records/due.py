"""When a device is due, as it is answered and printed."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

DueState = Literal["not yet due", "due today", "overdue", "never calibrated", "retired"]


@dataclass(frozen=True, slots=True)
class Due:
    """The due date of a device, from which calibration it counts, and how it stands on the day asked."""

    device: str
    site: str
    ward: str
    due: date | None
    state: DueState
    basis: str
    last_calibrated: date | None = None
