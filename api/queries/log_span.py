"""A stretch of the log, and which rows were written in it: what makes an export the same however long it takes.

Rows carry the moment of the entry they were written with. While an export goes on others write: their entries are known by
number, and rows with the moment of one of them are not part of it.
"""

from dataclasses import dataclass, field

from sqlalchemy import Connection, select

from api.models.log import LOG_ENTRY
from api.queries.register import LOG

# Two entries of one microsecond, one on either side of the end, were written side by side: so near they are looked for. Rows
# of such a moment are taken along, because to leave one out would lose it.
_NEAR = 1000


@dataclass(slots=True)
class LogSpan:
    """The entries after `since`, up to and with `until`."""

    since: int
    until: int
    _later: set[str] = field(default_factory=set)
    _known_to: int = 0
    _ours: set[str] | None = None

    def look(self, connection: Connection) -> None:
        """Learn what was written since the last look: before rows are read, in the same transaction."""
        entry = LOG_ENTRY.c
        if self._ours is None and self.since:
            ours = select(entry.moment).where(entry.log == LOG, entry.number > self.since, entry.number <= self.until)
            self._ours = set(connection.scalars(ours))
        known_to = max(self._known_to, self.until)
        newer = connection.execute(
            select(entry.number, entry.moment).where(entry.log == LOG, entry.number > known_to)
        ).all()
        if not newer:
            return
        near = select(entry.moment).where(
            entry.log == LOG, entry.number <= self.until, entry.number > self.until - _NEAR
        )
        self._later |= {row.moment for row in newer} - set(connection.scalars(near))
        self._known_to = max(row.number for row in newer)

    def has(self, moment: str) -> bool:
        """Return whether a row of a moment was written in it."""
        return moment not in self._later and (self._ours is None or moment in self._ours)

    def was_there(self, moment: str) -> bool:
        """Return whether a row of a moment was written before its end."""
        return moment not in self._later

    def has_number(self, number: int) -> bool:
        """Return whether an entry is one of it."""
        return self.since < number <= self.until
