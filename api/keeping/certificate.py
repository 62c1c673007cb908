"""Issuing a certificate: its number from a locked row, its document as stored bytes. Drawn from nowhere else later."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from api.database import Prepared
from api.keeping.case_on_file import OnFile
from api.keeping.content import Arrived
from api.keeping.judge_on_file import Judged
from api.ledger.digests import digest_of, spliced, stored_bytes
from api.metrology.submission import Submission
from api.models.record import CERTIFICATE, CERTIFICATE_SERIAL
from api.queries.register import derived, find_in_force
from api.records.cautions import CAUTIONS, ON_CERTIFICATES
from api.records.documents import document_of
from api.records.register import Revision

VERSION = "certificate/1"
_ROW = (CERTIFICATE_SERIAL.c.site == bindparam("at_site")) & (CERTIFICATE_SERIAL.c.year == bindparam("in_year"))
_LAST_SERIAL = Prepared(select(CERTIFICATE_SERIAL.c.serial).where(_ROW).with_for_update())
_FIRST_SERIAL = Prepared(insert(CERTIFICATE_SERIAL))
_NEXT_SERIAL = Prepared(update(CERTIFICATE_SERIAL).where(_ROW).values(serial=bindparam("new_serial")))
_CERTIFICATE = Prepared(insert(CERTIFICATE))


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate just issued: its number and the digest of its bytes."""

    number: str
    digest: str


def issue_certificate(connection: Connection, arrived: Arrived, sent: Submission, judged: Judged) -> Issued:
    """Issue the first revision of a certificate for a released calibration, and keep its bytes.

    They are a head of their own, then the content as sent and the judgement's working, each of which is kept once.
    """
    number = _next_number(connection, sent.site, arrived.recorded_at.year)
    head = stored_bytes(_head(connection, number, arrived, sent, judged))
    digest = digest_of(spliced(head, content=arrived.body, judgement=judged.working_bytes))
    _CERTIFICATE.run(
        connection,
        {
            "site": sent.site, "number": number, "revision": 1, "calibration": arrived.calibration,
            "content_revision": 1, "judgement": 1, "device": sent.device, "issued_at": arrived.recorded_at.isoformat(),
            "head": head, "digest": digest,
        },
    )  # fmt: skip
    return Issued(number, digest)


def hold_serials(connection: Connection, sites: Iterable[str], year: int) -> None:
    """Hold the numbers of several sites to the commit, in one order for all: for a transaction that may issue for each.

    Else two that wait for each other's numbers and for the log would never end.
    """
    for site in sorted(set(sites)):
        _LAST_SERIAL.run(connection, {"at_site": site, "in_year": year})


def _next_number(connection: Connection, site: str, year: int) -> str:
    """The next number of a site and year; the row stays locked to the commit, so that none is used twice or skipped."""
    row = {"at_site": site, "in_year": year}
    last = _LAST_SERIAL.run(connection, row).scalar()
    serial = (last or 0) + 1
    if last is None:
        _FIRST_SERIAL.run(connection, {"site": site, "year": year, "serial": serial})
    else:
        _NEXT_SERIAL.run(connection, {**row, "new_serial": serial})
    return f"{site}-{year}-{serial:04d}"


def _head(connection: Connection, number: str, arrived: Arrived, sent: Submission, judged: Judged) -> dict[str, Any]:
    held = judged.held
    document = {
        "version": VERSION,
        "number": number,
        "revision": 1,
        "issued_at": arrived.recorded_at.isoformat(),
        **_register_part(connection, held),
        "calibration": arrived.calibration,
        "performed_from": sent.performed.start.isoformat(),
        "performed_to": sent.performed.end.isoformat(),
        "received_at": arrived.received_at.isoformat(),
        "technicians": list(sent.technicians),
        "procedure": document_of(sent.procedure),
        "purpose": sent.purpose,
        "weight_certificates": _weight_certificates(connection, sent, judged),
        "rule": _rule(judged),
        "statements": _statements(judged),
        "cautions": [{"id": caution, "text": CAUTIONS[caution]} for caution in ON_CERTIFICATES],
        "content_digest": digest_of(arrived.body),
    }
    return {name: value for name, value in document.items() if value is not None}


def _register_part(connection: Connection, held: OnFile) -> dict[str, Any]:
    named = {"site": held.site, "ward": held.ward, "device": held.device, "model": held.model, "policy": held.policy}
    return {name: _document(connection, revision) for name, revision in named.items() if revision is not None}


def _document(connection: Connection, revision: Revision[Any]) -> dict[str, Any]:
    asked = ("document", revision.kind, revision.key, revision.number)
    return derived(connection, asked, lambda: document_of(revision.record))


def _weight_certificates(connection: Connection, sent: Submission, judged: Judged) -> list[dict[str, Any]]:
    numbers = {piece.certificate.number for piece in judged.judgement.pieces if piece.certificate is not None}
    found = (
        find_in_force(connection, "weight certificate", number, on=sent.performed_on) for number in sorted(numbers)
    )
    return [_certificate_named(connection, revision) for revision in found if revision is not None]


def _certificate_named(connection: Connection, revision: Revision[Any]) -> dict[str, Any]:
    record = _document(connection, revision)
    kept = ("number", "laboratory", "accreditation", "calibrated_on", "valid_from", "valid_to")
    return {name: record[name] for name in kept if name in record} | {"revision": revision.number}


def _rule(judged: Judged) -> str:
    phase = judged.judgement.as_left or judged.judgement.as_found
    return f"{phase.rule.name} ({phase.rule.source})" if phase else "no verdict"


def _statements(judged: Judged) -> list[str]:
    """What the statement of conformity covers, in sentences (ISO/IEC 17025:2017 7.8.6.2)."""
    judgement = judged.judgement
    said = []
    if judgement.as_found is not None:
        said.append(f"As found: {judged.as_found}. {judgement.as_found.proven_words}")
    if judgement.as_left is None:
        said.append("As left: not measured.")
    elif judgement.as_left_rests_on == "own readings":
        said.append(f"As left: {judged.as_left}. {judgement.as_left.proven_words}")
    else:
        said.append(f"As left: {judged.as_left}, {judgement.as_left_rests_on}.")
    return [
        *said,
        "The statements hold for the tests and loads listed, by the scheme, edition, stage and rule printed beside.",
    ]
