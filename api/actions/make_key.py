"""Make a key for an installation, or enrol a person with one: its text is answered once and kept nowhere."""

import json
from datetime import datetime, timedelta

from sqlalchemy import Connection, insert

from api.database import sites_in_sight
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.ledger.digests import canonical_bytes
from api.ledger.key_text import KeyText, digest_of_key
from api.models.access_key import ACCESS_KEY
from api.queries.access_keys import ALL_KEYS, access_key, keys_of
from api.queries.register import find_in_force
from api.records.access_key import MOST_ACTIVE, KeyAsked, KeyMade
from api.records.caller import check_own_site
from api.records.documents import document_of
from api.records.log import Touched
from api.records.problems import ReferenceMissing, SiteNotInKey, TooManyKeys


def make_key(connection: Connection, asked: KeyAsked, new: KeyText, *, by_whom: str, moment: datetime) -> KeyMade:
    """Return the key made, with its text.

    Refuses a third active key of a holder (`TooManyKeys`), a person who is no active technician on the register
    (`ReferenceMissing`), and sites beyond those in sight (`SiteNotInKey`).
    """
    _check_sites(connection, asked)
    if asked.held_by == "person":
        _check_technician(connection, asked.holder, moment)
    hold_log(connection)
    _check_active(connection, asked, moment)
    connection.execute(insert(ACCESS_KEY), _row(asked, new, by_whom, moment))
    key = access_key(connection, new.name)
    touched = (ALL_KEYS, Touched("access key", new.name), Touched(asked.held_by, asked.holder))
    sealed = seal(connection, canonical_bytes(document_of(key)))
    append_to_log(connection, Draft("key made", by_whom, moment, touched, sealed))
    return KeyMade(new.text, key)


def _check_sites(connection: Connection, asked: KeyAsked) -> None:
    own = sites_in_sight(connection)
    if own is None:
        return
    if asked.sites is None:
        named = ", ".join(sorted(own))
        raise SiteNotInKey(f"Only a key for all sites makes another such key. This one is for: {named}.", sites=named)
    for site in asked.sites:
        check_own_site(site, own)


def _check_technician(connection: Connection, code: str, moment: datetime) -> None:
    found = find_in_force(connection, "technician", code, on=moment.date())
    if found is None or not found.record.active:
        said = "is not on the register" if found is None else "is not active"
        raise ReferenceMissing(
            f"Technician {code!r} {said} on {moment.date().isoformat()}: a person is enrolled under the code of an active "
            "technician.",
            missing=f"technician {code!r}",
        )


def _check_active(connection: Connection, asked: KeyAsked, moment: datetime) -> None:
    active = [k for k in keys_of(connection, asked.held_by, asked.holder) if k.state(moment) == "active"]
    if len(active) >= MOST_ACTIVE:
        own = sites_in_sight(connection)
        raise TooManyKeys(
            f"{asked.holder} has {len(active)} active keys, which is the most; revoke one of them first.",
            holder=asked.holder, active=", ".join(key.name for key in active if key.is_within(own)),
        )  # fmt: skip


def _row(asked: KeyAsked, new: KeyText, by_whom: str, moment: datetime) -> dict[str, str | None]:
    return {
        "name": new.name,
        "held_by": asked.held_by,
        "holder": asked.holder,
        "scopes": json.dumps(sorted(set(asked.scopes))),
        "sites": None if asked.sites is None else json.dumps(sorted(set(asked.sites))),
        "digest": digest_of_key(new.text),
        "made_at": moment.isoformat(),
        "made_by": by_whom,
        "expires_at": (moment + timedelta(days=asked.days)).isoformat(),
    }
