"""A change of the register as it is asked for."""

from dataclasses import dataclass
from datetime import date, datetime

from api.records.register import Entity

# Against whichever revision is the newest, as long as there is one.
ANY_REVISION = -1


@dataclass(frozen=True, slots=True)
class RegisterChange:
    """A change as it was asked for: which entity, from which day, the whole record, by whom, against which revision.

    `against` must be the newest revision; `taken_out` is the one that was shown, changed and put back.
    """

    kind: str
    key: str
    valid_from: date
    record: Entity
    by_whom: str
    moment: datetime
    against: int | None = None
    taken_out: int | None = None
