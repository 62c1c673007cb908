"""The points of judgements in short: what a scale showed at each load, and how that was judged."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Row, select

from api.models.record import JUDGED_POINT
from api.queries.calibrations import beside
from api.records.bundle import PointInShort
from api.records.calibration import CalibrationListed

Points = dict[tuple[str, str, int, str], tuple[PointInShort, ...]]


def points_of(connection: Connection, visits: Sequence[CalibrationListed]) -> Points:
    """Return the points of visits by site, id, revision and phase, in the order of their readings, as last judged."""
    found: dict[tuple[str, str, int, str], list[Row[Any]]] = defaultdict(list)
    order = (JUDGED_POINT.c[name] for name in ("revision", "number", "phase", "seq"))
    query = select(JUDGED_POINT).where(*beside(JUDGED_POINT, visits)).order_by(*order)
    for row in connection.execute(query) if visits else ():
        points = found[row.site, row.calibration, row.revision, row.phase]
        if points and points[0].number != row.number:
            points.clear()  # of an earlier judgement
        points.append(row)
    return {key: tuple(_point(row) for row in rows) for key, rows in found.items()}


def _point(row: Row[Any]) -> PointInShort:
    return PointInShort(
        row.test, Decimal(row.load_kg), Decimal(row.indication_kg), row.verdict,
        *(None if text is None else Decimal(text) for text in (row.error_kg, row.tolerance_kg, row.expanded_kg)),
    )  # fmt: skip
