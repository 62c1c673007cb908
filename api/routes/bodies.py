"""Request bodies through the strict door, and answers out of records through the one codec."""

from datetime import UTC, datetime
from typing import Any, Final

import orjson
from flask import Response, current_app, g, request
from marshmallow import ValidationError
from sqlalchemy import Engine
from werkzeug.exceptions import RequestEntityTooLarge, UnsupportedMediaType

from api.database import in_sight_of
from api.keeping.unread_fields import CLOCK_NOT_READ, SENDER_NOT_READ
from api.metrology.judgement import Flag
from api.records.caller import UNNAMED
from api.records.documents import document_of
from schemas.quantities import read_moment
from schemas.strict_json import MOST_BYTES, strict_json

JSON: Final = "application/json"
MERGE_PATCH: Final = "application/merge-patch+json"


def engine() -> Engine:
    """Return the application's engine, bound to the sites of whoever asks: to none where that is not known."""
    found: Engine = current_app.extensions["steelyard.engine"]
    return in_sight_of(found, g.caller.sites if "caller" in g else frozenset())


class NotAPatch(UnsupportedMediaType):
    """A change in part of another type than those that are taken: the answer names them (RFC 5789 section 2.2)."""

    def get_headers(self, *_: Any, **__: Any) -> list[tuple[str, str]]:
        """Return the fields of the answer."""
        return [("Accept-Patch", MERGE_PATCH)]


def json_body(media_type: str = JSON) -> Any:
    """Return the parsed body; refuses any type but the one that is taken, and anything that is not strict JSON."""
    if request.mimetype != media_type:
        said = f"Found {request.mimetype or 'no Content-Type'}; accepted: {media_type}."
        raise NotAPatch(said) if media_type == MERGE_PATCH else UnsupportedMediaType(said)
    body = request.get_data()
    if len(body) > MOST_BYTES:
        raise RequestEntityTooLarge
    g.content = strict_json(body)
    return g.content


def by_whom() -> str:
    """Return who acts, by code, as the Steelyard-By field says: noted where no key is asked for, never believed.

    Unnamed where the field is missing or cannot be read; `unread_fields` tells which.
    """
    return _sender() or UNNAMED


def sent_at() -> datetime | None:
    """Return the app's clock at the moment of sending, as the Steelyard-Sent-At field says, where it can be read."""
    try:
        return read_moment(request.headers.get("Steelyard-Sent-At", ""))
    except ValidationError:
        return None


def unread_fields() -> tuple[Flag, ...]:
    """Return a note for each field beside the body that was sent and could not be read."""
    found = (
        ("Steelyard-Sent-At", sent_at(), CLOCK_NOT_READ),
        ("Steelyard-By", _sender(), SENDER_NOT_READ),
    )
    return tuple(note for name, read, note in found if read is None and name in request.headers)


def _sender() -> str | None:
    named = request.headers.get("Steelyard-By", "").strip()
    return named if 1 <= len(named) <= 40 and named.isascii() and named.isprintable() else None


def now() -> datetime:
    """Return the moment, in UTC."""
    return datetime.now(UTC)


def answer(record: Any, status: int = 200, **headers: str) -> Response:
    """Return a record as a JSON answer."""
    return Response(orjson.dumps(document_of(record)), status, headers=headers, content_type="application/json")
