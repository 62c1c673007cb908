"""A part of a list read from the record: rows after a place in a total order, and never more than are asked for."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Connection, Row, Select, tuple_

from api.records.listing import Listed, Part, Place
from api.records.problems import CursorNotAccepted

T = TypeVar("T")
Column = ColumnElement[Any]


def rows_listed(
    connection: Connection, query: Select[Any], order: Sequence[Column], part: Part, *, falling: bool = False
) -> Listed[Row[Any]]:
    """Return a part of a query's rows in the order of some columns, which together are unique and never null.

    All rise, or all fall: places are then compared as rows of values, which both databases answer from an index.
    """
    labelled = query.add_columns(*(column.label(f"place_{n}") for n, column in enumerate(order)))
    ordered = labelled.order_by(*(column.desc() if falling else column for column in order)).limit(part.limit + 1)
    if part.after is not None:
        ordered = ordered.where(_beyond(order, part.after, falling=falling))
    rows = connection.execute(ordered).all()
    found = rows[: part.limit]
    return Listed(tuple(found), _place(found[-1], len(order)) if len(rows) > part.limit else None)


def _beyond(order: Sequence[Column], after: Place, *, falling: bool) -> ColumnElement[bool]:
    if len(after) != len(order):  # a cursor of a version that had this list in another order
        raise CursorNotAccepted("The cursor is of another version of this list; begin again without it.")
    here, there = tuple_(*order), tuple_(*after)
    return here < there if falling else here > there


def _place(row: Row[Any], size: int) -> Place:
    return tuple(row._mapping[f"place_{n}"] for n in range(size))


def picked(
    read: Callable[[Part], Listed[T]], wanted: Callable[[T], bool], place: Callable[[T], Place], part: Part
) -> Listed[T]:
    """Return a part of a list of which only some items are wanted, where the record itself cannot tell which.

    Parts are read until enough is found.
    """
    found: list[T] = []
    after = part.after
    while True:
        read_on = read(Part(part.limit, after))
        for item in read_on.items:
            if wanted(item):
                if len(found) == part.limit:
                    return Listed(tuple(found), place(found[-1]))
                found.append(item)
        if read_on.next is None:
            return Listed(tuple(found))
        after = read_on.next
