"""Putting an entity on the register, or changing it: always a new revision, valid from a day, in the log."""

import json
from typing import Any

from sqlalchemy import Connection, insert

from api.keeping.label_addresses import claim_addresses
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.keeping.references import check_references
from api.keeping.register_change import RegisterChange, check_revision
from api.keeping.site_checks import check_sites
from api.ledger.digests import canonical_bytes, digest_of
from api.models.register import CERTIFIED_PIECE, REVISIONS
from api.queries.register import Chain, chain_of, forget_register, standing_on
from api.records.documents import document_of
from api.records.log import Touched
from api.records.problems import KeyDiffers, RevisionDiffers
from api.records.register import KIND_NAMED, Entity, EntityKind, Revision
from api.records.weight import WeightCertificate


def put_on_register(connection: Connection, change: RegisterChange) -> tuple[Revision[Any], bool]:
    """Return the new revision and True; or the one that says the same from the same day, and False.

    Refuses as `keep_on_register` does.
    """
    kept = keep_on_register(connection, change)
    if isinstance(kept, Revision):
        return kept, False
    append_to_log(connection, kept)
    forget_register(connection)
    return chain_of(connection, change.kind, change.key)[-1], True


def keep_on_register(connection: Connection, change: RegisterChange) -> Revision[Any] | Draft:
    """Keep a new revision and return the log entry that is still to be appended; or the one that says the same already.

    Until the entry is appended nobody reads the revision, and it is the last statement on it. Refuses a key that is not the
    record's (`KeyDiffers`), a change of a revision that is not the newest, or that was taken out before another came to hold
    (`RevisionDiffers`), one made against nothing of what is there (`PreconditionRequired`), names of
    what is not on the register (`ReferenceMissing`), and a label address that belongs to another key (`AddressTaken`); and
    whatever is beyond the sites of who asks (`check_sites`).
    """
    kind = KIND_NAMED[change.kind]
    _check_key(change, kind)
    hold_log(connection)
    chain = chain_of(connection, change.kind, change.key)
    check_sites(connection, change, chain)
    newest = max(chain, key=lambda r: r.number, default=None)
    taken_out = _taken_out(change, chain)
    for known in (newest, taken_out) if not change.is_new_only else ():
        if known is not None and (known.record, known.valid_from) == (change.record, change.valid_from):
            return known
    _check_seen(change, standing_on(chain, change.valid_from), taken_out)
    check_references(connection, change)
    if kind.letter is not None:
        claim_addresses(connection, change, kind.letter)
    check_revision(change, newest)  # last: what would be refused anyhow is refused for that (RFC 9110 section 13.2.1)
    return _keep(connection, change, newest.number + 1 if newest else 1)


def _check_key(change: RegisterChange, kind: EntityKind) -> None:
    inside = getattr(change.record, kind.key_field)
    if inside != change.key:
        raise KeyDiffers(
            f"The address says {change.key!r}, the record's {kind.key_field} says {inside!r}.", address=change.key
        )


def _taken_out(change: RegisterChange, chain: Chain) -> Revision[Any] | None:
    """The revision from which a change was made; None where it was made from nothing that is here."""
    if change.taken_out is None or not chain:
        return None
    found = next((revision for revision in chain if revision.number == change.taken_out), None)
    if found is None:
        said = f"{change.key!r} was taken out as revision {change.taken_out}, which is not on this register."
        raise RevisionDiffers(f"{said} Take it out again, and change that.", key=change.key)
    return found


def _check_seen(change: RegisterChange, holds: Revision[Any] | None, taken_out: Revision[Any] | None) -> None:
    """Refuse to put a change over a revision that whoever made it has not seen."""
    if holds is None or taken_out is None:
        return
    if (holds.valid_from, holds.number) > (taken_out.valid_from, taken_out.number):
        said = (
            f"{change.key!r} was taken out as revision {taken_out.number}; on {change.valid_from.isoformat()} revision"
        )
        way_out = "Take it out as it holds on that day, and change that."
        raise RevisionDiffers(f"{said} {holds.number} holds. {way_out}", key=change.key)


def _keep(connection: Connection, change: RegisterChange, number: int) -> Draft:
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
    return Draft(
        f"{change.kind} put on register",
        change.by_whom,
        change.moment,
        touched,
        seal(connection, content),
        {"record": digest},
        True,
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
