"""The life of a record, told in order: what arrived, how it was judged, where it stood, who did what and why."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection

from api.queries.calibrations import calibration
from api.queries.content import RevisionSent, revisions_sent
from api.queries.judgements import answers_of, judgements_of, links_of
from api.queries.life import arrivals, certificates_issued, log_lines, remarks, standing_events
from api.records.calibration import Calibration
from api.records.life import ContentKept, Life, LifeEvent, LifeKind

# Of things at one moment, which is told first: what causes another comes before it.
_FIRST: Final[tuple[LifeKind, ...]] = (
    "arrived", "imported", "recorded", "amended", "linked", "judged", "remark", "flag answered", "stands",
    "certificate issued",
)  # fmt: skip


def life_of(connection: Connection, calibration_id: str, site: str | None = None) -> Life:
    """Return the whole life of a record; refuses one that is not on record (`NotOnRecord`)."""
    record = calibration(connection, calibration_id, site)
    of = (connection, record.site, record.calibration)
    sent = revisions_sent(*of)
    judged, stood = judgements_of(*of), standing_events(*of)
    events = [
        *_of_contents(record, sent), *_of_arrivals(arrivals(*of)), *_of_judgements(judged), *_of_standing(stood),
        *_of_words(connection, record), *_of_certificates(certificates_issued(*of)),
    ]  # fmt: skip
    events.sort(key=lambda event: (event.moment, event.revision, _FIRST.index(event.kind)))
    standing = {event.revision: event.standing for event in stood}
    contents = tuple(_content(record, one, standing.get(one.revision), judged) for one in sent)
    return Life(record.calibration, record.site, contents, tuple(events), log_lines(*of))


def _content(record: Calibration, sent: RevisionSent, standing: Any, judged: Any) -> ContentKept:
    return ContentKept(
        revision=sent.revision,
        digest=sent.digest,
        address=f"/v1/calibrations/{record.calibration}/content?site={record.site}&revision={sent.revision}",
        recorded_at=sent.recorded_at,
        recorded_by=sent.recorded_by,
        technicians=tuple(sent.content["technicians"]),
        standing=standing,
        judgements=tuple(one.number for one in judged if one.revision == sent.revision),
        supersedes=sent.supersedes,
        amended_because=sent.because,
    )


def _of_contents(record: Calibration, sent: tuple[RevisionSent, ...]) -> Iterator[LifeEvent]:
    for one in sent:
        kind: LifeKind = "recorded" if one.supersedes is None else "amended"
        words, facts = one.because or "as it was sent", {"digest": one.digest}
        if one.supersedes is not None:
            facts["supersedes"] = one.supersedes
        elif (origin := record.imported) is not None:
            kind, words = "imported", f"line {origin.line} of a file, read by the profile {origin.profile}"
            facts |= {"import": origin.file_import, "file_digest": origin.file_digest}
        yield LifeEvent(one.recorded_at, kind, words, one.revision, one.recorded_by, None, facts)


def _of_arrivals(rows: Any) -> Iterator[LifeEvent]:
    seen: set[int] = set()
    for row in rows:
        told = {"sent_at": row.sent_at, "offset_seconds": row.offset_seconds}
        facts = {name: value for name, value in told.items() if value is not None}
        words = "arrived again" if row.revision in seen else "arrived"
        seen.add(row.revision)
        yield LifeEvent(_moment(row.received_at), "arrived", words, row.revision, None, None, facts or None)


def _of_judgements(rows: Any) -> Iterator[LifeEvent]:
    for row in rows:
        told = {"as_found": row.as_found, "as_left": row.as_left, "program": row.program, "digest": row.working_digest}
        facts = {name: value for name, value in told.items() if value is not None}
        yield LifeEvent(_moment(row.judged_at), "judged", row.reason, row.revision, None, row.number, facts)


def _of_standing(rows: Any) -> Iterator[LifeEvent]:
    for row in rows:
        facts = {"standing": row.standing}
        yield LifeEvent(_moment(row.moment), "stands", row.because, row.revision, row.by_whom, None, facts)


def _of_words(connection: Connection, record: Calibration) -> Iterator[LifeEvent]:
    """What persons said: remarks, answers to flags, links."""
    of = (connection, record.site, record.calibration)
    for row in remarks(*of):
        yield LifeEvent(_moment(row.moment), "remark", row.words, row.revision, row.by_whom)
    for row in answers_of(*of):
        facts = {"code": row.code}
        yield LifeEvent(_moment(row.moment), "flag answered", row.words, row.revision, row.by_whom, row.number, facts)
    for link in links_of(*of):
        facts = {"kind": link.kind, "as_sent": link.as_sent, "key": link.key}
        yield LifeEvent(link.moment, "linked", link.because, link.revision, link.by_whom, link.number, facts)


def _of_certificates(rows: Any) -> Iterator[LifeEvent]:
    for row in rows:
        facts = {"certificate": row.number, "revision": str(row.revision), "digest": row.digest}
        words = f"certificate {row.number}, revision {row.revision}"
        yield LifeEvent(
            _moment(row.issued_at), "certificate issued", words, row.content_revision, None, row.judgement, facts
        )


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text)
