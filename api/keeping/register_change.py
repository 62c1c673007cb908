"""A change of the register as it is asked for, and what it was made against."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

from api.records.problems import PreconditionRequired, RevisionDiffers
from api.records.register import Entity, Revision

# What a change may be made against beside a revision's number: nothing that is there yet, whichever is the newest, and what
# names no revision at all.
NOTHING_YET: Final = 0
ANY_REVISION: Final = -1
NO_REVISION: Final = -2


@dataclass(frozen=True, slots=True)
class RegisterChange:
    """A change as it was asked for: which entity, from which day, the whole record, by whom, against which revisions.

    One of `against` must be the newest revision; None asks for nothing, and the empty set is what was made against nothing
    at all: it may only be something new. `taken_out` is the revision that was shown, changed and put back.
    """

    kind: str
    key: str
    valid_from: date
    record: Entity
    by_whom: str
    moment: datetime
    against: frozenset[int] | None = None
    taken_out: int | None = None

    @property
    def is_new_only(self) -> bool:
        """Whether it is asked as something that is not there yet."""
        return self.against == {NOTHING_YET}


def check_revision(change: RegisterChange, newest: Revision[Any] | None) -> None:
    """Refuse a change of another revision than the newest (`RevisionDiffers`), or of none (`PreconditionRequired`)."""
    if change.against is None:
        return
    number = newest.number if newest else NOTHING_YET
    if number in change.against or (ANY_REVISION in change.against and newest is not None):
        return
    known = {"key": change.key} | ({"newest": str(number)} if newest else {})
    if change.against:
        raise RevisionDiffers(_said(change, number), **known)
    if newest is not None:
        raise PreconditionRequired(
            f"{change.key!r} is on the register, as revision {number}. Send its ETag in If-Match to change it.", **known
        )


def _said(change: RegisterChange, number: int) -> str:
    stands = f"revision {number} is the newest" if number else "it is not on the register yet"
    if change.is_new_only:
        return f"Asked to put {change.key!r} on the register as something new (If-None-Match), but {stands}."
    numbers = sorted(n for n in change.against or () if n > 0)
    if ANY_REVISION in (change.against or ()):
        return f"Asked to change a revision of {change.key!r}, but {stands}."
    if not numbers:
        return f"If-Match is not the ETag of a revision of {change.key!r}; {stands}."
    asked = " or ".join(map(str, numbers))
    return f"Asked to change revision {asked} of {change.key!r}, but {stands}."
