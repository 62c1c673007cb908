"""Rows of an exported table, page by page in the order of its key, with the bytes that they name."""

import json
from base64 import b64encode
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from sqlalchemy import Column, Connection, Row, Select, and_, select, tuple_

from api.ledger.digests import spliced
from api.models.log import LOG_ENTRY, LOG_TOUCH, SEALED
from api.models.record import CERTIFICATE, CONTENT, JUDGEMENT
from api.models.register import REVISIONS
from api.queries.exported_tables import Exported
from api.queries.log import entry_in_sight
from api.queries.log_span import LogSpan
from api.queries.register import LOG
from api.records.documents import record_from
from api.records.log import Touched
from api.records.register import KIND_NAMED

PAGE: Final = 200
_KIND_OF: Final = {table.name: name for name, table in REVISIONS.items()}
# Columns that name sealed bytes.
_NAMES_BYTES: Final = ("sealed", "raw")
_BESIDE: Final = ("its_moment", "its_bytes", "its_salt", "its_working")
Key = tuple[Any, ...]
Sites = frozenset[str] | None


@dataclass(frozen=True, slots=True)
class ExportedRow:
    """A row as it is exported: its key, and its columns by name."""

    key: Key
    document: dict[str, Any]


def exported_rows(
    connection: Connection, exported: Exported, span: LogSpan, sites: Sites, after: Key | None
) -> Iterator[ExportedRow]:
    """Give the rows of a table after a key that were written in a stretch of the log and belong to some sites, or to all."""
    if exported.network_only and sites is not None:
        return
    key = list(exported.table.primary_key.columns)
    while True:
        query = _query(exported).order_by(*key).limit(PAGE)
        rows = connection.execute(query if after is None else query.where(tuple_(*key) > tuple_(*after))).all()
        for row in rows:
            after = tuple(row._mapping[column.name] for column in key)
            if _is_written(exported, row, span) and (sites is None or _in_sight(exported, row, sites)):
                yield ExportedRow(after, _document(exported, row))
        if len(rows) < PAGE:
            return


def key_columns(exported: Exported) -> int:
    """Return how many columns the key of a table has."""
    return len(exported.table.primary_key.columns)


@cache
def _query(exported: Exported) -> Select[Any]:
    """A table's rows, each with its moment, its bytes and its place in the log where it has them."""
    table = exported.table
    beside = exported.came_with
    moment = (table if beside is None else beside).c[exported.moment]
    columns: list[Any] = [c for c in table.columns if c.name not in exported.without]
    query = select(*columns, moment.label("its_moment")).select_from(table)
    if beside is not None:
        query = query.join(beside, _same(table, beside))
    if table is LOG_ENTRY:
        return query.where(LOG_ENTRY.c.log == LOG)
    if table.name in _KIND_OF:
        logged = and_(
            LOG_TOUCH.c.kind == _KIND_OF[table.name],
            LOG_TOUCH.c.key == table.c.key,
            LOG_TOUCH.c.revision == table.c.revision,
        )
        return query.join(LOG_TOUCH, logged).add_columns(LOG_TOUCH.c.number.label("log_number"))
    if table is CERTIFICATE:
        return _with_certified(query)
    names = next((table.c[name] for name in _NAMES_BYTES if name in table.c), None)
    return query if names is None else _with_bytes(query, names)


def _same(table: Any, beside: Any) -> Any:
    return and_(*(table.c[column.name] == column for column in beside.primary_key.columns))


def _with_bytes(query: Select[Any], names: Column[Any]) -> Select[Any]:
    sealed = query.join(SEALED, SEALED.c.digest == names)
    return sealed.add_columns(SEALED.c.content.label("its_bytes"), SEALED.c.salt.label("its_salt"))


def _with_certified(query: Select[Any]) -> Select[Any]:
    """A certificate's bytes are its head, the content and the working, which are kept once."""
    of_it = ("site", "calibration")
    sent = and_(*(CONTENT.c[name] == CERTIFICATE.c[name] for name in of_it))
    judged = and_(*(JUDGEMENT.c[name] == CERTIFICATE.c[name] for name in of_it))
    joined = (
        query.join(CONTENT, and_(sent, CONTENT.c.revision == CERTIFICATE.c.content_revision))
        .join(SEALED, SEALED.c.digest == CONTENT.c.sealed)
        .join(
            JUDGEMENT,
            and_(
                judged,
                JUDGEMENT.c.revision == CERTIFICATE.c.content_revision,
                JUDGEMENT.c.number == CERTIFICATE.c.judgement,
            ),
        )
    )
    return joined.add_columns(SEALED.c.content.label("its_bytes"), JUDGEMENT.c.working.label("its_working"))


def _is_written(exported: Exported, row: Row[Any], span: LogSpan) -> bool:
    """By number where the row has one, else by its moment."""
    if exported.table is LOG_ENTRY:
        return span.has_number(row.number)
    if exported.table.name in _KIND_OF:
        return span.has_number(row.log_number)
    return span.has(row.its_moment)


def _in_sight(exported: Exported, row: Row[Any], sites: frozenset[str]) -> bool:
    """Whether a row belongs to one of some sites, or goes to all of them."""
    if exported.table is LOG_ENTRY:
        touched: Sequence[Any] = json.loads(row.facts)["touched"]
        return entry_in_sight([record_from(Touched, item) for item in touched], sites)
    kind = KIND_NAMED.get(_KIND_OF.get(exported.table.name, ""))
    if kind is None:
        return row.site in sites
    if kind.site_field is None or kind.travels:
        return True
    return (row.key if kind.name == "site" else row.site) in sites


def _document(exported: Exported, row: Row[Any]) -> dict[str, Any]:
    """The row's columns as they are stored; bytes as text where they are text, so that they come out exactly."""
    document = {str(name): value for name, value in row._mapping.items() if name not in _BESIDE}
    if exported.table is CERTIFICATE:
        del document["head"]
        whole = None
        if row.its_bytes is not None:
            whole = spliced(bytes(row.head), content=bytes(row.its_bytes), judgement=row.its_working.encode())
        return document | _bytes_told(whole)
    if "its_bytes" not in row._mapping:
        return document
    salt = None if row.its_salt is None else bytes(row.its_salt).hex()
    return document | _bytes_told(row.its_bytes) | {"salt": salt}


def _bytes_told(content: bytes | None) -> dict[str, str | None]:
    """Bytes in a line of JSON; none where a redaction removed them."""
    if content is None:
        return {"bytes": None}
    try:
        return {"bytes": bytes(content).decode()}
    except UnicodeDecodeError:
        return {"bytes_base64": b64encode(content).decode()}
