"""Records of one scale about one time: where to look for a visit that was sent twice."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, and_, bindparam, exists, or_, select

from api.database import Prepared
from api.models.log import SEALED
from api.models.record import CONTENT, STANDING
from api.records.visit_measured import LONGEST, NEAR

C, S = CONTENT.c, STANDING.c


@dataclass(frozen=True, slots=True)
class OnRecord:
    """A content on record: whose it is, when the visit was, and what was sent."""

    calibration: str
    performed: tuple[datetime, datetime]
    content: Any


_STANDS = exists().where(S.site == C.site, S.calibration == C.calibration)
_IS_VOID = exists().where(S.site == C.site, S.calibration == C.calibration, S.standing == bindparam("void"))
# Twice the same bounds, so that either way of naming the scale is found by the index.
_BEGAN = C.performed_from.between(bindparam("earliest"), bindparam("latest"))
_SAME_SCALE = or_(
    and_(C.device == bindparam("scale"), _BEGAN),
    and_(C.device.is_(None), C.device_as_sent == bindparam("scale"), _BEGAN),
)
_NEAR = Prepared(
    select(C.calibration, C.performed_from, C.performed_to, SEALED.c.content)
    .join(SEALED, SEALED.c.digest == C.sealed)
    .where(_SAME_SCALE, C.site == bindparam("at_site"), C.calibration != bindparam("own_id"), _STANDS, ~_IS_VOID)
    .order_by(C.recorded_at, C.calibration, C.revision)
)


def about_the_time(
    connection: Connection, site: str, device: str, performed: tuple[datetime, datetime], own_id: str
) -> Iterator[OnRecord]:
    """Give what stands on record of a scale at a site about the time of a visit, under other ids, the first first."""
    start, end = performed
    rows = _NEAR.run(
        connection,
        {
            "at_site": site, "scale": device, "own_id": own_id, "void": "void",
            "earliest": (start - LONGEST).astimezone(UTC).isoformat(),
            "latest": (max(start, end) + NEAR).astimezone(UTC).isoformat(),
        },
    )  # fmt: skip
    for row in rows:
        if row.content is not None:
            during = datetime.fromisoformat(row.performed_from), datetime.fromisoformat(row.performed_to)
            yield OnRecord(row.calibration, during, json.loads(row.content))
