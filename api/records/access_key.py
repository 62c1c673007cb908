"""A key as it is read: who holds it, what it is for and where, from when to when. Never its secret, nor its digest."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Annotated, Final, Literal

from api.metrology.terms import Between, Code, Line, Many, SiteCode
from api.records.caller import GrantedScope

HeldBy = Literal["installation", "person"]
KeyState = Literal["active", "revoked", "expired"]

# A house choice, no source: a year, and a month in which to change it. Two, so that one works while the other is replaced.
LONGEST_DAYS: Final = 400
USUAL_DAYS: Final = 365
MOST_ACTIVE: Final = 2
# What a person needs a key of their own for, beside the installation's.
OF_A_PERSON: Final[tuple[GrantedScope, ...]] = ("amend", "release")


@dataclass(frozen=True, slots=True)
class KeyAsked:
    """A key asked for: for whom (an installation, or a technician on the register), what for, where, for how many days.

    Without sites it is for all of them.
    """

    held_by: HeldBy
    holder: Code
    scopes: Annotated[tuple[GrantedScope, ...], Many(7, 1)]
    sites: Annotated[tuple[SiteCode, ...], Many(100, 1)] | None = None
    days: Annotated[int, Between(Decimal(1), Decimal(LONGEST_DAYS))] = USUAL_DAYS


@dataclass(frozen=True, slots=True)
class RevocationAsked:
    """Why a key is revoked."""

    because: Line


@dataclass(frozen=True, slots=True)
class AccessKey:
    """A key under its public name: holder, scopes, sites (all where left out), its days, and its revocation if there is one.

    `used_at` is coarse: written at most once a minute by each process of the service.
    """

    name: str
    held_by: HeldBy
    holder: str
    scopes: tuple[GrantedScope, ...]
    made_at: datetime
    made_by: str
    expires_at: datetime
    sites: tuple[str, ...] | None = None
    revoked_at: datetime | None = None
    revoked_by: str | None = None
    revoked_because: str | None = None
    used_at: datetime | None = None

    def state(self, moment: datetime) -> KeyState:
        """Return where it stands at a moment; a revoked key stays revoked."""
        if self.revoked_at is not None:
            return "revoked"
        return "expired" if self.expires_at <= moment else "active"

    def is_within(self, sites: frozenset[str] | None) -> bool:
        """Return whether it is for some sites at most: who answers for those may see it and revoke it."""
        return sites is None or (self.sites is not None and sites.issuperset(self.sites))


@dataclass(frozen=True, slots=True)
class KeyMade:
    """A key just made: its text, which is shown this once and kept nowhere, and what is kept of it."""

    text: str
    key: AccessKey
