"""What becomes of visits out of a file: refused, on record already, or new and judged. Nothing is written here."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from sqlalchemy import Connection

from api.keeping.judge_on_file import Judged, flagged_judgement, judge_on_file, verdicts_of
from api.ledger.record_ids import calibration_id
from api.metrology.judgement import Flag, Judgement
from api.metrology.verdict import Verdict
from api.queries.imports import Contents, kept_under
from api.records.differences import differing_pointers
from api.records.file_import import RowStatus, RowTold
from api.records.import_faults import CellRefused
from api.records.import_visit import RowSkipped, VisitRead

Item = VisitRead | RowSkipped
MOST_FAULTS_TOLD = 30
Verdicts = tuple[Verdict | None, Verdict | None]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What becomes of one item of a file, and its judgement where it is new and to be kept."""

    item: Item
    told: RowTold
    judged: Judged | None = None


def outcomes(
    connection: Connection, items: Sequence[Item], source: str, moment: datetime, *, to_keep: bool
) -> Iterator[Outcome]:
    """Give what becomes of some items, in their order, with the whole working where they are to be kept.

    One at a time: a judgement is large, and five hundred of them at once cost more to hold than to make.
    """
    visits = [item for item in items if isinstance(item, VisitRead) and not item.is_refused and not item.repeats]
    kept = _named(connection, visits, source)
    for item in items:
        yield _outcome(connection, item, kept, moment, to_keep)


def _named(connection: Connection, visits: Sequence[VisitRead], source: str) -> dict[tuple[str, str], Contents]:
    """Give every visit its id, and return what is on record under it.

    A record that went with its import does not take the place of the row that it was made of: the row's next occurrence
    does. One that a person made void keeps it, so that the file does not bring it in again.
    """
    kept: dict[tuple[str, str], Contents] = {}
    open_ids, void = list(visits), 0
    while open_ids:
        for visit in open_ids:
            if visit.sent is not None and (void or visit.calibration is None):
                site, occurrence = visit.sent.site, visit.occurrence + void
                visit.calibration = calibration_id(source, site, visit.key, visit.text, occurrence)
        found = kept_under(connection, [_key(visit) for visit in open_ids])
        kept |= {name: content for name, (content, gone) in found.items() if not gone}
        void += 1
        open_ids = [visit for visit in open_ids if found.get(_key(visit), ((), False))[1]]
    return kept


def _key(visit: VisitRead) -> tuple[str, str]:
    return visit.sent.site if visit.sent else "", visit.calibration or ""


def _outcome(
    connection: Connection, item: Item, kept: dict[tuple[str, str], Contents], moment: datetime, to_keep: bool
) -> Outcome:
    if isinstance(item, RowSkipped):
        return Outcome(item, RowTold(item.line, item.line, 1, "skipped", item.kind))
    if item.is_refused or item.sent is None:
        return Outcome(item, told_of(item, "rejected"))
    if item.repeats or _key(item) in kept:
        return Outcome(item, _on_record(item, kept.get(_key(item), ())))
    work = partial(
        judge_on_file if to_keep else flagged_judgement,
        connection,
        item.sent,
        item.content,
        received_at=moment,
        sent_at=None,
    )
    found = work()
    if isinstance(found, Judged):
        return Outcome(item, _new(item, found.judgement, (found.as_found, found.as_left)), found)
    return Outcome(item, _new(item, found[1], verdicts_of(item.sent, found[1])))


def _on_record(visit: VisitRead, contents: Contents) -> RowTold:
    """The same content is on record already, as one of its revisions; other content is refused, as it is for an app."""
    if visit.repeats or None in contents or visit.body in contents:
        return told_of(visit, "replayed")
    differing = [differing_pointers(visit.content, json.loads(content)) for content in contents if content is not None]
    if not all(differing):
        return told_of(visit, "replayed")
    pointers = differing[-1]
    refused = CellRefused(
        "content-differs", f"This record is kept with other content; it differs at {', '.join(pointers[:5])}.",
        "Nothing of it is changed by an import. If the record is wrong, amend it.",
    )  # fmt: skip
    visit.faults.append(refused.at(visit.place_of(pointers[0]), ""))
    return told_of(visit, "rejected")


def _new(visit: VisitRead, judgement: Judgement, verdicts: Verdicts) -> RowTold:
    for flag in (*judgement.flags, *judgement.notes):
        visit.faults.append(_note(flag).at(visit.place_of(flag.pointer or ""), "", "note"))
    if visit.claimed is not None and visit.claimed != verdicts:
        (found, left), (found_now, left_now) = visit.claimed, verdicts
        said = f"It was judged {found} as found and {left} as left; judged anew: {found_now} and {left_now}."
        refused = CellRefused("verdict-differs", said, "Both are kept; `judged` in its line is the older.")
        visit.faults.append(refused.at(visit.place_of(""), "", "note"))
    return told_of(visit, "noted" if visit.faults else "created", verdicts)


def _note(flag: Flag) -> CellRefused:
    return CellRefused(flag.code, flag.sentence)


def told_of(visit: VisitRead, status: RowStatus, verdicts: Verdicts = (None, None)) -> RowTold:
    """Return what is told of a visit's rows; errors first, and no more than can be read."""
    faults = sorted(visit.faults, key=lambda fault: (fault.severity != "error", fault.line))[:MOST_FAULTS_TOLD]
    return RowTold(
        visit.line, visit.last_line or visit.line, visit.rows, status, None, visit.calibration,
        visit.sent.site if visit.sent else None, *verdicts, tuple(faults),
    )  # fmt: skip
