"""Visits put on a record below the web: through the action itself, in one unit of work."""

import json
from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection, Engine

from api.actions.record_calibration import record_calibration
from api.database import unit_of_work
from api.keeping.content import Arrived
from api.records.calibration import Receipt
from schemas.submission import submission_from
from tests.filled_record import NOON

Visit = tuple[str, dict[str, Any]]


def keep(engine: Engine, sent: Iterable[Visit]) -> list[Receipt]:
    """Record visits in the order given, in one unit of work, and return their receipts."""
    visits = list(sent)
    return unit_of_work(engine, lambda connection: [keep_on(connection, visit) for visit in visits])


def keep_on(connection: Connection, visit: Visit) -> Receipt:
    """Record one visit in the transaction that is open."""
    calibration, content = visit
    body = json.dumps(content).encode()
    return record_calibration(connection, Arrived(calibration, body, content, "T-01", NOON), submission_from(body))
