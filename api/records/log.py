"""The log as it is read: its head, an entry, and which entry last touched a thing."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class LogHead:
    """The newest entry of the log; number 0 where nothing was written yet."""

    number: int
    hash: str
    moment: datetime | None


@dataclass(frozen=True, slots=True)
class Touched:
    """One thing that an entry touched: its kind, key, and revision where it has one."""

    kind: str
    key: str
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One write: number, kind, by whom, when, what it touched, the digests it sealed, and its place in the chain."""

    number: int
    kind: str
    by_whom: str
    moment: datetime
    touched: tuple[Touched, ...]
    digest: str
    digests: dict[str, str]
    previous: str
    hash: str


@dataclass(frozen=True, slots=True)
class Changes:
    """Entries of the log, the number up to which it was looked at for them, and its head at that moment."""

    entries: tuple[LogEntry, ...]
    looked_up_to: int
    head: LogHead

    @property
    def at_end(self) -> bool:
        """Whether nothing more is there for now."""
        return self.looked_up_to == self.head.number


@dataclass(frozen=True, slots=True)
class LogTouch:
    """The entry that last touched a thing."""

    number: int
    moment: datetime
