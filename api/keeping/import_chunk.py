"""A chunk of an import made ready: what becomes of each of its rows, and every insert that keeps the new ones.

Made ready beside the write: others may write meanwhile, and another process may do it. It holds for the state of the
register that it was made in.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert

from api.database import Inserts, Prepared, gathering
from api.keeping.content import Arrived, JudgedAs, keep_arrival, keep_content, keep_judgement
from api.keeping.imported_rows import Item, Outcome, outcomes
from api.keeping.log import Draft, seal
from api.metrology.submission import AppVerdict, Submission
from api.models.file_import import IMPORTED
from api.queries.calibrations import record_key
from api.queries.register import register_number
from api.records.file_import import ImportRun, RowTold
from api.records.import_visit import VisitRead
from api.records.log import Touched

_IMPORTED = Prepared(insert(IMPORTED))


@dataclass(frozen=True, slots=True)
class ReadyChunk:
    """What came of some items of a file, the inserts and log entries that keep what is new, and at which register."""

    items: int
    told: list[RowTold]
    inserts: Inserts
    drafts: list[Draft]
    register: int


def made_ready(
    connection: Connection, run: ImportRun, batches: Iterable[Sequence[Item]], moment: datetime, *, to_keep: bool
) -> ReadyChunk:
    """Return a chunk made ready: judged with the whole working where it is to be kept. Writes nothing.

    Batch after batch, so that no more parsed visits than a batch are held at once.
    """
    told, drafts = [], []
    into, inserts = gathering(connection)
    for batch in batches:
        for outcome in outcomes(connection, batch, run.told.source, moment, to_keep=to_keep):
            told.append(outcome.told)
            if outcome.judged is not None:
                drafts.append(_kept(into, run, outcome, moment))
    return ReadyChunk(len(told), told, inserts, drafts, register_number(connection))


def _kept(into: Connection, run: ImportRun, outcome: Outcome, moment: datetime) -> Draft:
    """Keep a new visit like one that was sent, and where it comes from; return its own entry of the log."""
    visit, judged = outcome.item, outcome.judged
    assert isinstance(visit, VisitRead)
    assert visit.sent is not None
    assert visit.calibration is not None
    assert judged is not None
    sent = visit.sent
    arrived = Arrived(visit.calibration, visit.body, visit.content, run.told.asked_by, moment)
    sealed = keep_content(into, arrived, sent, judged)
    working = keep_judgement(into, JudgedAs(visit.calibration, moment), _claiming(visit, sent), judged)
    keep_arrival(into, arrived, sent.site, 1)
    own_text = visit.raw.encode()
    _IMPORTED.run(into, _origin(run, visit, sealed if own_text == visit.body else seal(into, own_text)))
    touched = [Touched("calibration", record_key(sent.site, visit.calibration), 1), Touched("device", sent.device)]
    touched.append(Touched("site", sent.site))
    if judged.held.ward is not None:
        touched.append(Touched("ward", judged.held.ward.key))
    return Draft("calibration imported", run.told.asked_by, moment, tuple(touched), sealed, {"judgement": working})


def _claiming(visit: VisitRead, sent: Submission) -> Submission:
    """The submission with the verdicts that are kept beside ours: the app's own, else those a line of an export claims."""
    if sent.app_verdict is not None or visit.claimed is None:
        return sent
    return replace(sent, app_verdict=AppVerdict(*visit.claimed))


def _origin(run: ImportRun, visit: VisitRead, raw: str) -> dict[str, Any]:
    told = run.told
    return {
        "site": visit.sent.site if visit.sent else "", "calibration": visit.calibration, "revision": 1,
        "file_import": told.file_import, "file_digest": told.file_digest, "line": visit.line, "profile": told.profile,
        "profile_revision": told.profile_revision, "profile_digest": told.profile_digest, "source_key": visit.key,
        "raw": raw, "lacks": json.dumps(visit.lacks),
    }  # fmt: skip
