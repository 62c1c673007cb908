"""Issuing a certificate: its number from a locked row, its document as stored bytes. Drawn from nowhere else later.

It says what the judgement that is released rests on, as its working names it, whether that was made just now or long ago.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from api.database import Prepared
from api.ledger.digests import digest_of, spliced, stored_bytes
from api.metrology.submission import Submission
from api.models.record import CERTIFICATE, CERTIFICATE_SERIAL
from api.queries.judgements import CodeLinked
from api.queries.register import chain_of, derived
from api.records.cautions import CAUTIONS, ON_CERTIFICATES
from api.records.documents import document_of
from api.records.register import Revision

VERSION = "certificate/1"
_ROW = (CERTIFICATE_SERIAL.c.site == bindparam("at_site")) & (CERTIFICATE_SERIAL.c.year == bindparam("in_year"))
_LAST_SERIAL = Prepared(select(CERTIFICATE_SERIAL.c.serial).where(_ROW).with_for_update())
_FIRST_SERIAL = Prepared(insert(CERTIFICATE_SERIAL))
_NEXT_SERIAL = Prepared(update(CERTIFICATE_SERIAL).where(_ROW).values(serial=bindparam("new_serial")))
_CERTIFICATE = Prepared(insert(CERTIFICATE))

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Certified:
    """What a certificate is made of: content and judgement of one revision of a record, their bytes, how it was released.

    `replaces` is the revision of the certificate before it, its number among the rest, where there is one.
    """

    calibration: str
    revision: int
    judgement: int
    sent: Submission
    body: bytes
    working: Document
    working_bytes: bytes
    received_at: datetime
    issued_at: datetime
    released: Document
    replaces: Document | None = None
    links: tuple[Document, ...] = ()


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate just issued: its number, its revision and the digest of its bytes."""

    number: str
    revision: int
    digest: str


def was_measured(working: Document) -> bool:
    """Return whether a judgement has results that a certificate could state."""
    return "as_found" in working or "as_left" in working


def lacks_of_certificate(working: Document) -> list[str]:
    """Return what a certificate has to name and the register did not hold when readings were judged.

    A scale that is known is judged by anything but a house rule that is not.
    """
    held = {"site": _revision_named(working, "site"), "device": working.get("device")}
    lacks = [kind for kind, found in held.items() if found is None]
    return lacks if "device" in lacks or was_measured(working) else [*lacks, "house rule"]


def links_told(links: Iterable[CodeLinked]) -> tuple[Document, ...]:
    """Return links of codes as a certificate tells them."""
    return tuple({"kind": link.kind, "as_sent": link.as_sent, "key": link.key} for link in links)


def issue_certificate(connection: Connection, of: Certified) -> Issued:
    """Issue a certificate for a released calibration and keep its bytes: under a new number, or the next revision of one.

    They are a head of their own, then the content as sent and the judgement's working, each of which is kept once.
    """
    site = of.sent.site
    number = of.replaces["number"] if of.replaces else _next_number(connection, site, of.issued_at.year)
    revision = of.replaces["revision"] + 1 if of.replaces else 1
    head = stored_bytes(_head(connection, number, revision, of))
    digest = digest_of(spliced(head, content=of.body, judgement=of.working_bytes))
    _CERTIFICATE.run(
        connection,
        {
            "site": site, "number": number, "revision": revision, "calibration": of.calibration,
            "content_revision": of.revision, "judgement": of.judgement, "device": of.working["device"]["tag"],
            "issued_at": of.issued_at.isoformat(), "head": head, "digest": digest,
        },
    )  # fmt: skip
    return Issued(number, revision, digest)


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


def _head(connection: Connection, number: str, revision: int, of: Certified) -> Document:
    sent, working = of.sent, of.working
    document = {
        "version": VERSION,
        "number": number,
        "revision": revision,
        "issued_at": of.issued_at.isoformat(),
        **_register_part(connection, working),
        "calibration": of.calibration,
        "record_revision": of.revision,
        "judgement_number": of.judgement,
        "performed_from": sent.performed.start.isoformat(),
        "performed_to": sent.performed.end.isoformat(),
        "received_at": of.received_at.isoformat(),
        "technicians": list(sent.technicians),
        "procedure": document_of(sent.procedure),
        "purpose": sent.purpose,
        "weight_certificates": _weight_certificates(connection, working),
        "rule": _rule(working),
        "statements": _statements(working),
        "released": of.released,
        "replaces": of.replaces,
        "links": list(of.links) or None,
        "cautions": [{"id": caution, "text": CAUTIONS[caution]} for caution in ON_CERTIFICATES],
        "content_digest": digest_of(of.body),
    }
    return {name: value for name, value in document.items() if value is not None}


def _register_part(connection: Connection, working: Document) -> Document:
    """What the judgement rested on, in the revisions that it rested on."""
    device, policy = working["device"], working.get("policy")
    named = {
        "site": _revision_named(working, "site"),
        "ward": _revision_named(working, "ward"),
        "device": (device["tag"], device["revision"]),
        "model": (device["model"], device["model_revision"]),
        "policy": (policy["code"], policy["revision"]) if policy else None,
    }
    return {kind: _document(connection, kind, *found) for kind, found in named.items() if found is not None}


def _revision_named(working: Document, kind: str) -> tuple[str, int] | None:
    return next(((r["key"], r["revision"]) for r in working["register"] if r["kind"] == kind), None)


def _document(connection: Connection, kind: str, key: str, number: int) -> Document:
    asked = ("document", kind, key, number)
    return derived(connection, asked, lambda: document_of(_revision(connection, kind, key, number).record))


def _revision(connection: Connection, kind: str, key: str, number: int) -> Revision[Any]:
    return next(revision for revision in chain_of(connection, kind, key) if revision.number == number)


def _weight_certificates(connection: Connection, working: Document) -> list[Document]:
    rests_on = sorted((r["key"], r["revision"]) for r in working["register"] if r["kind"] == "weight certificate")
    return [_certificate_named(connection, key, number) for key, number in rests_on]


def _certificate_named(connection: Connection, key: str, number: int) -> Document:
    record = _document(connection, "weight certificate", key, number)
    kept = ("number", "laboratory", "accreditation", "calibrated_on", "valid_from", "valid_to")
    return {name: record[name] for name in kept if name in record} | {"revision": number}


def _rule(working: Document) -> str:
    phase = working.get("as_left") or working.get("as_found")
    return f"{phase['rule']['name']} ({phase['rule']['source']})" if phase else "no verdict"


def _statements(working: Document) -> list[str]:
    """What the statement of conformity covers, in sentences (ISO/IEC 17025:2017 7.8.6.2)."""
    found, left, rests_on = working.get("as_found"), working.get("as_left"), working["as_left_rests_on"]
    said = [f"As found: {found['verdict']}. {found['proven_words']}"] if found else []
    if left is not None:
        said.append(f"As left: {left['verdict']}. {left['proven_words']}")
    elif found is not None and rests_on.startswith("as found"):
        said.append(f"As left: {found['verdict']}, {rests_on}.")
    else:
        said.append("As left: not measured.")
    return [
        *said,
        "The statements hold for the tests and loads listed, by the scheme, edition, stage and rule printed beside.",
    ]
