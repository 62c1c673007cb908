"""Each calibration in one piece as it stood at the end of a stretch of the log: what tables for people are made of."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any, Final

import orjson
from sqlalchemy import Connection, Row, Table, and_, select, tuple_

from api.models.file_import import IMPORTED
from api.models.log import SEALED
from api.models.record import ARRIVAL, CERTIFICATE, CONTENT, FLAG, JUDGED_POINT, JUDGEMENT, STANDING
from api.queries.log_span import LogSpan
from api.queries.register import all_chains, in_sight, standing_on
from api.records.dossier import CertificateIssued, Dossier
from api.records.register import Revision

PAGE: Final = 100
# Columns that no table for people needs.
_LARGE: Final = ("working", "head", "facts")
_READ: Final = (CONTENT, JUDGEMENT, STANDING, CERTIFICATE, ARRIVAL, FLAG, IMPORTED)
Name = tuple[str, str]
Sites = frozenset[str] | None


def dossiers(
    connection: Connection, span: LogSpan, sites: Sites, after: Name | None, *, with_points: bool = False
) -> Iterator[Dossier]:
    """Give the calibrations after a site and id of which something was written in a stretch of the log.

    The judged points come with them only where they are asked for. What has no standing yet belongs to an import that is not
    done, and is no record yet.
    """
    key = (CONTENT.c.site, CONTENT.c.calibration)
    query = select(*key).where(CONTENT.c.revision == 1).order_by(*key).limit(PAGE)
    if sites is not None:
        query = query.where(CONTENT.c.site.in_(sites))
    while True:
        page = connection.execute(query if after is None else query.where(tuple_(*key) > tuple_(*after))).all()
        names: list[Name] = [(row.site, row.calibration) for row in page]
        read = {table: _rows(connection, table, names) for table in _READ}
        read[JUDGED_POINT] = _rows(connection, JUDGED_POINT, names if with_points else ())
        yield from filter(None, (_dossier(name, read, span) for name in names))
        if len(page) < PAGE:
            return
        after = names[-1]


def _dossier(name: Name, read: dict[Table, dict[Name, list[Row[Any]]]], span: LogSpan) -> Dossier | None:
    content = _newest(read[CONTENT][name], "recorded_at", span)
    if content is None or content.content is None:
        return None
    judgement = _newest(_of(read[JUDGEMENT][name], revision=content.revision), "judged_at", span)
    standing = _newest(_of(read[STANDING][name], revision=content.revision), "moment", span)
    if judgement is None or standing is None or not _moved(span, content, judgement, standing):
        return None
    certificate = _newest(_of(read[CERTIFICATE][name], content_revision=content.revision), "issued_at", span)
    told = {"revision": judgement.revision, "number": judgement.number}
    return Dossier(
        content, orjson.loads(content.content), bytes(content.content).decode(), judgement, standing,
        read[ARRIVAL][name][0].received_at,
        None if certificate is None else certificate.number,
        tuple(dict.fromkeys(row.code for row in _of(read[FLAG][name], **told))),
        {(row.phase, row.seq): row for row in _of(read[JUDGED_POINT][name], **told)},
        bool(read[IMPORTED][name]),
    )  # fmt: skip


def _of(rows: Sequence[Row[Any]], **wanted: Any) -> list[Row[Any]]:
    return [row for row in rows if all(getattr(row, name) == value for name, value in wanted.items())]


def _rows(connection: Connection, table: Table, names: Sequence[Name]) -> dict[Name, list[Row[Any]]]:
    """The rows of some calibrations, in the order of their key."""
    found: dict[Name, list[Row[Any]]] = defaultdict(list)
    if not names:
        return found
    query = select(*(column for column in table.columns if column.name not in _LARGE))
    if table is CONTENT:
        query = query.join(SEALED, SEALED.c.digest == table.c.sealed).add_columns(SEALED.c.content)
    query = query.where(
        table.c.site.in_({site for site, _ in names}), table.c.calibration.in_({name for _, name in names})
    )
    for row in connection.execute(query.order_by(*table.primary_key.columns)):
        found[row.site, row.calibration].append(row)
    return found


def _newest(rows: Sequence[Row[Any]], moment: str, span: LogSpan) -> Row[Any] | None:
    return next((row for row in reversed(rows) if span.was_there(row._mapping[moment])), None)


def _moved(span: LogSpan, content: Row[Any], judgement: Row[Any], standing: Row[Any]) -> bool:
    return any(map(span.has, (content.recorded_at, judgement.judged_at, standing.moment)))


def certificates_issued(
    connection: Connection, span: LogSpan, sites: Sites, after: tuple[str, str, int] | None
) -> Iterator[CertificateIssued]:
    """Give every revision of a certificate that was issued in a stretch of the log, after one."""
    key = (CERTIFICATE.c.site, CERTIFICATE.c.number, CERTIFICATE.c.revision)
    of_it = and_(
        CONTENT.c.site == CERTIFICATE.c.site,
        CONTENT.c.calibration == CERTIFICATE.c.calibration,
        CONTENT.c.revision == CERTIFICATE.c.content_revision,
    )
    query = select(CERTIFICATE, CONTENT.c.performed_on).join(CONTENT, of_it).order_by(*key).limit(PAGE)
    if sites is not None:
        query = query.where(CERTIFICATE.c.site.in_(sites))
    while True:
        rows = connection.execute(query if after is None else query.where(tuple_(*key) > tuple_(*after))).all()
        for row in rows:
            after = (row.site, row.number, row.revision)
            if span.has(row.issued_at):
                yield CertificateIssued(row, row.performed_on)
        if len(rows) < PAGE:
            return


def devices_known(
    connection: Connection, span: LogSpan, sites: Sites, after: str | None, on: date
) -> Iterator[tuple[Revision[Any], Revision[Any] | None]]:
    """Give each device as known at the end of a stretch of the log, after a tag, with its model.

    The revision in force on the day of that end; the newest where none is in force yet.
    """
    models = {chain[0].key: chain for chain in all_chains(connection, "model")}
    for chain in sorted(all_chains(connection, "device"), key=lambda chain: chain[0].key):
        known = tuple(revision for revision in chain if revision.log_number <= span.until)
        if not known or (after is not None and known[0].key <= after):
            continue
        if not any(span.has_number(revision.log_number) for revision in known):
            continue
        revision = standing_on(known, on) or known[-1]
        if not in_sight(connection, revision) or (sites is not None and revision.record.site not in sites):
            continue
        yield revision, standing_on(models.get(revision.record.model, ()), on, span.until)
