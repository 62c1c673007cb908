"""Keep a chunk of an import: each new visit like one that was sent, beside where it comes from; one log entry each."""

import json
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert

from api.database import Prepared, gathering
from api.keeping.content import Arrived, keep_arrival, keep_content, keep_judgement
from api.keeping.import_progress import keep_progress
from api.keeping.imported_rows import Item, Outcome, outcomes
from api.keeping.imported_standing import Word, stand_imported
from api.keeping.log import Draft, append_to_log, seal
from api.models.file_import import IMPORTED
from api.queries.calibrations import record_key
from api.records.file_import import ImportRun
from api.records.import_visit import VisitRead
from api.records.log import Touched
from api.records.problems import TooManyRejected

_IMPORTED = Prepared(insert(IMPORTED))


def keep_import_chunk(
    connection: Connection, run: ImportRun, items: Sequence[Item], moment: datetime
) -> dict[str, Any]:
    """Keep some items of a file, and with them how far it was read; return the progress.

    Refuses where more rows are refused by now than the import allows (`TooManyRejected`); nothing of the chunk is kept.
    """
    found = outcomes(connection, items, run.told.source, moment, to_keep=True)
    _check_rejected(run, found)
    with gathering(connection) as into:
        drafts = [_kept(into, run, outcome, moment) for outcome in found if outcome.judged is not None]
    progress = keep_progress(connection, run, [outcome.told for outcome in found], run.told.done + len(items))
    if run.told.mode == "each":
        stand_imported(connection, run.told.file_import, Word(run.told.asked_by, moment))
    if drafts:
        append_to_log(connection, *drafts)
    return progress


def _check_rejected(run: ImportRun, found: Sequence[Outcome]) -> None:
    limit = 0 if run.told.mode == "all" else run.told.reject_limit
    rejected = [outcome.told for outcome in found if outcome.told.status == "rejected"]
    if run.counts.visits["rejected"] + len(rejected) > limit:
        first = rejected[0]
        said = first.faults[0].told() if first.faults else f"line {first.line}"
        raise TooManyRejected(f"A visit that was good when it was tried is refused now: {said}", line=str(first.line))


def _kept(into: Connection, run: ImportRun, outcome: Outcome, moment: datetime) -> Draft:
    visit, judged = outcome.item, outcome.judged
    assert isinstance(visit, VisitRead)
    assert visit.sent is not None
    assert visit.calibration is not None
    assert judged is not None
    sent = visit.sent
    arrived = Arrived(visit.calibration, visit.body, visit.content, run.told.asked_by, moment)
    sealed = keep_content(into, arrived, sent, judged)
    working = keep_judgement(into, arrived, sent, judged, "first judgement")
    keep_arrival(into, arrived, sent.site, 1)
    own_text = visit.raw.encode()
    _IMPORTED.run(into, _origin(run, visit, sealed if own_text == visit.body else seal(into, own_text)))
    touched = [Touched("calibration", record_key(sent.site, visit.calibration), 1), Touched("device", sent.device)]
    touched.append(Touched("site", sent.site))
    if judged.held.ward is not None:
        touched.append(Touched("ward", judged.held.ward.key))
    return Draft("calibration imported", run.told.asked_by, moment, tuple(touched), sealed, {"judgement": working})


def _origin(run: ImportRun, visit: VisitRead, raw: str) -> dict[str, Any]:
    told = run.told
    return {
        "site": visit.sent.site if visit.sent else "", "calibration": visit.calibration, "revision": 1,
        "file_import": told.file_import, "file_digest": told.file_digest, "line": visit.line, "profile": told.profile,
        "profile_revision": told.profile_revision, "profile_digest": told.profile_digest, "source_key": visit.key,
        "raw": raw, "lacks": json.dumps(visit.lacks),
    }  # fmt: skip
