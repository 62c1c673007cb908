"""Put back what an export says of the register: each revision that is not there yet, in the order of the log it came from."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from api.keeping.register_change import RegisterChange
from api.keeping.register_entry import put_on_register
from api.queries.register import chain_of


@dataclass(frozen=True, slots=True)
class RevisionRead:
    """A revision as an export has it: its number there, and the change that makes it here."""

    number: int
    change: RegisterChange


@dataclass(frozen=True, slots=True)
class PutBack:
    """What came of an export's revisions: new, on the register already, and those whose entity has another past here."""

    new: int
    already: int
    apart: tuple[tuple[str, str], ...]


def put_back_register(connection: Connection, revisions: Sequence[RevisionRead]) -> PutBack:
    """Put revisions on the register and return what came of them. Refuses as `put_on_register` does.

    A revision goes on only where its entity has as many revisions here as it had there before it. What was changed here
    otherwise stays as it is.
    """
    new = already = 0
    apart: dict[tuple[str, str], None] = {}
    for read in revisions:
        change = read.change
        chain = chain_of(connection, change.kind, change.key)
        if any((known.valid_from, known.record) == (change.valid_from, change.record) for known in chain):
            already += 1
        elif len(chain) == read.number - 1:
            put_on_register(connection, change)
            new += 1
        else:
            apart[change.kind, change.key] = None
    return PutBack(new, already, tuple(apart))
