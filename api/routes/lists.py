"""Lists in parts, the same way everywhere: `limit` and `cursor` in, `items`, `next` and Link fields (RFC 8288) out.

A cursor holds for the list and the filters it was given for; it is made and read here only.
"""

from collections.abc import Callable
from typing import Any
from urllib.parse import quote, urlencode

import orjson
from flask import Response, current_app, request

from api.ledger.cursor_text import cursor_text, place_of
from api.records.listing import USUAL_ITEMS, Listed, Part, Place
from api.records.problems import CursorNotAccepted
from api.routes.bodies import answer
from api.routes.contract import question
from api.routes.questions import asked

PARTS = ("limit", "cursor")
LINKED = {"Link": {
    "schema": {"type": "string"},
    "description": 'Where the list begins (rel="first"), and where it goes on (rel="next"; left out at its end).',
}}  # fmt: skip


def listing(*filters: str) -> Callable[[Any], Any]:
    """Describe the query parameters of a list: its filters, and what says which part of it."""
    return question(*filters, *PARTS)


def asked_part(*filters: str) -> tuple[dict[str, Any], Part]:
    """Return the filters that were given and the part that is asked for; refuses what is unknown (`WrongQuestion`).

    Refuses a cursor that was not made for this list and these filters (`CursorNotAccepted`).
    """
    where = asked(*filters, *PARTS)
    limit, text = where.pop("limit", USUAL_ITEMS), where.pop("cursor", None)
    return where, Part(limit, None if text is None else _place(text))


def list_answer(found: Listed[Any], **beside: Any) -> Response:
    """Return a part of a list as an answer, with what else it says, and where it goes on."""
    following = None if found.next is None else _cursor(found.next)
    body = {**beside, "items": found.items} | ({} if following is None else {"next": following})
    told = answer(body)
    told.headers["Link"] = links(first={"cursor": None}, next=None if following is None else {"cursor": following})
    return told


def links(**targets: dict[str, Any] | None) -> str:
    """Return a Link field: the address of this request with other questions, under each relation; None leaves one out."""
    return ", ".join(
        f'<{_address(changed)}>; rel="{relation}"' for relation, changed in targets.items() if changed is not None
    )


def _address(changed: dict[str, Any]) -> str:
    """Commas are written as %2C, because a Link field is split at them."""
    kept = [(name, value) for name, value in request.args.items(multi=True) if name not in changed]
    kept += [(name, str(value)) for name, value in changed.items() if value is not None]
    path = quote(request.path, safe="/:")
    return f"{path}?{urlencode(kept, quote_via=quote)}" if kept else path


def _cursor(place: Place) -> str:
    return cursor_text(_secret(), _this_list(), orjson.dumps(place))


def _place(text: str) -> Place:
    found = place_of(_secret(), _this_list(), text)
    if found is None:
        raise CursorNotAccepted(
            "The cursor was not made for this list with these filters. Begin again without it, and follow `next` with the "
            "filters unchanged."
        )
    return tuple(orjson.loads(found))


def _this_list() -> str:
    """Which list it is, with its filters: what a cursor is good for."""
    filters = sorted((name, value) for name, value in request.args.items(multi=True) if name not in PARTS)
    return f"{request.path}?{urlencode(filters)}"


def _secret() -> bytes:
    secret: bytes = current_app.extensions["steelyard.secret"]("cursors")
    return secret
