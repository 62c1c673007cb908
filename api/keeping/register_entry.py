"""Putting an entity on the register, or changing it: always a new revision, valid from a day, in the log."""

import json
from typing import Any

from sqlalchemy import Connection, insert

from api.keeping.label_addresses import claim_addresses
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.keeping.references import check_references
from api.keeping.register_change import ANY_REVISION, RegisterChange
from api.ledger.digests import canonical_bytes, digest_of
from api.models.register import CERTIFIED_PIECE, REVISIONS
from api.queries.register import chain_of, forget_register
from api.records.documents import document_of
from api.records.log import Touched
from api.records.problems import KeyDiffers, RevisionDiffers
from api.records.register import KIND_NAMED, Entity, EntityKind, Revision
from api.records.weight import WeightCertificate


def put_on_register(connection: Connection, change: RegisterChange) -> tuple[Revision[Any], bool]:
    """Return the new revision and True; or the newest one and False, where it says the same from the same day.

    Refuses a key that is not the record's (`KeyDiffers`), a revision that is not the newest (`RevisionDiffers`), names of
    what is not on the register (`ReferenceMissing`), and a label address that belongs to another key (`AddressTaken`).
    """
    kind = KIND_NAMED[change.kind]
    _check_key(change, kind)
    hold_log(connection)
    chain = chain_of(connection, change.kind, change.key)
    newest = max(chain, key=lambda r: r.number, default=None)
    _check_revision(change, newest)
    if newest is not None and newest.record == change.record and newest.valid_from == change.valid_from:
        return newest, False
    check_references(connection, change)
    if kind.letter is not None:
        claim_addresses(connection, change, kind.letter)
    number = newest.number + 1 if newest else 1
    _keep(connection, change, number)
    forget_register(connection)
    return chain_of(connection, change.kind, change.key)[-1], True


def _check_key(change: RegisterChange, kind: EntityKind) -> None:
    inside = getattr(change.record, kind.key_field)
    if inside != change.key:
        raise KeyDiffers(
            f"The address says {change.key!r}, the record's {kind.key_field} says {inside!r}.", address=change.key
        )


def _check_revision(change: RegisterChange, newest: Revision[Any] | None) -> None:
    if change.against is None or change.against == (newest.number if newest else 0):
        return
    if change.against == ANY_REVISION and newest is not None:
        return
    stands = f"revision {newest.number} is the newest" if newest else "it is not on the register yet"
    asked = "a revision" if change.against == ANY_REVISION else f"revision {change.against}"
    raise RevisionDiffers(f"Asked to change {asked} of {change.key!r}, but {stands}.", key=change.key)


def _keep(connection: Connection, change: RegisterChange, number: int) -> None:
    document = canonical_bytes(document_of(change.record))
    digest = digest_of(document)
    connection.execute(
        insert(REVISIONS[change.kind]),
        {
            "key": change.key, "revision": number, "valid_from": change.valid_from.isoformat(),
            "recorded_at": change.moment.isoformat(), "recorded_by": change.by_whom,
            "site": _site_of(change.record), "document": document.decode(), "digest": digest,
        },
    )  # fmt: skip
    if isinstance(change.record, WeightCertificate):
        _index_pieces(connection, change.record, number)
    content = canonical_bytes(
        {"kind": change.kind, "key": change.key, "revision": number, "valid_from": change.valid_from.isoformat(),
         "record": json.loads(document)}
    )  # fmt: skip
    touched = (Touched(change.kind, change.key, number), *_touched_beside(change.record))
    append_to_log(
        connection,
        Draft(
            f"{change.kind} put on register",
            change.by_whom,
            change.moment,
            touched,
            seal(connection, content),
            {"record": digest},
            True,
        ),
    )


def _site_of(record: Entity) -> str | None:
    return getattr(record, "site", None)


def _touched_beside(record: Entity) -> tuple[Touched, ...]:
    """What else shows this entity: its site and ward have pages of their own."""
    beside = [("site", getattr(record, "site", None)), ("ward", getattr(record, "ward", None))]
    return tuple(Touched(kind, key) for kind, key in beside if key is not None)


def _index_pieces(connection: Connection, certificate: WeightCertificate, number: int) -> None:
    connection.execute(
        insert(CERTIFIED_PIECE),
        [
            {"piece": entry.piece, "number": certificate.number, "revision": number,
             "valid_from": certificate.valid_from.isoformat(), "valid_to": certificate.valid_to.isoformat()}
            for entry in certificate.pieces
        ],
    )  # fmt: skip
