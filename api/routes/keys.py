"""Keys: made, looked at, revoked. A key's text is in one answer only, the one to the request that made it."""

from datetime import datetime
from typing import Any

from flask import Response
from flask.views import MethodView

from api.actions.make_key import make_key
from api.actions.revoke_key import revoke_key
from api.database import reading, unit_of_work
from api.ledger.key_text import PREFIX_OF, new_key_text
from api.queries.access_keys import access_key, every_key
from api.records.access_key import AccessKey, KeyAsked, RevocationAsked
from api.records.listing import part_of
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, asked_part, list_answer, listing
from api.routes.questions import asked
from schemas.answers import KeyMadeSchema, KeySchema, KeysSchema
from schemas.wire_shape import wire_shape

KEYS = Doors("keys", __name__, url_prefix="/v1/keys", description="Keys of installations and persons")
FILTERS = ("held_by", "holder", "key.state")
EXAMPLE = {"held_by": "installation", "holder": "APP-07", "scopes": ["read", "submit"], "sites": ["QG"], "days": 365}


@KEYS.route("")
class Keys(MethodView):
    """All keys."""

    @needs("administer")
    @KEYS.arguments(wire_shape(KeyAsked), example=EXAMPLE)
    @KEYS.response(201, KeyMadeSchema)
    def post(self, wanted: KeyAsked) -> Response:
        """Make a key for an installation, or enrol a technician with one: its text is in this answer and nowhere else."""
        asked()
        new, who = new_key_text(PREFIX_OF[wanted.held_by]), caller().code
        made = unit_of_work(engine(), lambda connection: make_key(connection, wanted, new, by_whom=who, moment=now()))
        return answer(made, 201, Location=f"/v1/keys/{made.key.name}")

    @needs("administer")
    @listing(*FILTERS)
    @KEYS.response(200, KeysSchema, headers=LINKED)
    def get(self) -> Response:
        """List the keys for the sites of whoever asks: holder, scopes, sites, days, last use. Never a secret."""
        where, part = asked_part(*FILTERS)
        with reading(engine()) as connection:
            found = [key for key in every_key(connection) if _fits(key, where, now())]
        return list_answer(
            part_of(found, lambda key: (key.held_by, key.holder, key.made_at.isoformat(), key.name), part)
        )


def _fits(key: AccessKey, where: dict[str, Any], moment: datetime) -> bool:
    said = {"held_by": key.held_by, "holder": key.holder, "state": key.state(moment)}
    return all(said[name] == value for name, value in where.items())


@KEYS.route("/<name>")
class One(MethodView):
    """One key."""

    @needs("administer")
    @KEYS.response(200, KeySchema)
    def get(self, name: str) -> Response:
        """Read what is kept of a key."""
        asked()
        with reading(engine()) as connection:
            found = access_key(connection, name)
        return answer(found)


@KEYS.route("/<name>/revocation")
class Revocation(MethodView):
    """The end of a key."""

    @needs("administer")
    @KEYS.arguments(wire_shape(RevocationAsked), example={"because": "The tablet was lost."})
    @KEYS.response(200, KeySchema)
    @KEYS.alt_response(201, schema=KeySchema)
    def put(self, wanted: RevocationAsked, name: str) -> Response:
        """Revoke a key: it is refused from the next request on. Again changes nothing: 201 revoked, 200 revoked before."""
        asked()
        who = caller().code
        found, new = unit_of_work(
            engine(), lambda connection: revoke_key(connection, name, wanted.because, by_whom=who, moment=now())
        )
        return answer(found, 201 if new else 200)
