"""Preconditions (RFC 9110 section 13): what a change was made against, and what a reader has already.

An entity tag is the number of a revision and a digest of how it is told: `"3-9f86d081"`. A change is held against the number
alone: what is noted beside an entity, and on which day it was read, is no part of what is changed. A reader is told that
nothing changed only where both are the same.
"""

import hashlib
import re
from typing import Any, Final

from flask import Flask, Response, request

from api.keeping.register_change import ANY_REVISION, NO_REVISION, NOTHING_YET

_TAG: Final = re.compile(r"([1-9][0-9]{0,8})(-[0-9a-f]{8})?")
IF_MATCH: Final[dict[str, Any]] = {
    "in": "header", "name": "If-Match", "schema": {"type": "string"}, "required": False,
    "description": "The ETag of what is to be changed, or * for whatever is there. 428 without it where there is something, "
    "412 where it is of another revision.",
}  # fmt: skip
IF_NONE_MATCH: Final[dict[str, Any]] = {
    "in": "header", "name": "If-None-Match", "schema": {"type": "string"}, "required": False,
    "description": "* asks for something new: 412 where there is one already.",
}  # fmt: skip


def against() -> frozenset[int]:
    """Return the revisions that this change was made against; empty where the request says nothing of it.

    Tags are compared strongly: a weak one is of no revision.
    """
    if request.headers.get("If-None-Match", "").strip() == "*":
        return frozenset([NOTHING_YET]) if "If-Match" not in request.headers else frozenset([NO_REVISION])
    if "If-Match" not in request.headers:
        return frozenset()
    if request.if_match.star_tag:
        return frozenset([ANY_REVISION])
    named = [_TAG.fullmatch(tag) for tag in request.if_match.as_set()]
    return frozenset(int(tag[1]) for tag in named if tag) or frozenset([NO_REVISION])


def tagged(answer: Response, revision: int) -> Response:
    """Return an answer with the entity tag of a revision told in this way."""
    answer.set_etag(f"{revision}-{hashlib.sha256(answer.get_data()).hexdigest()[:8]}")
    return answer


def is_known(tag: str) -> bool:
    """Return whether whoever asks has what a tag stands for."""
    return request.method in ("GET", "HEAD") and request.if_none_match.contains_weak(tag)


def answer_conditionally(app: Flask) -> None:
    """Have the application answer 304, without the body, where a reader has what would be answered."""

    @app.after_request
    def conditional(answer: Response) -> Response:
        """Answer what is not known yet."""
        if answer.status_code == 200 and request.path.startswith("/v1/") and answer.get_etag()[0] is not None:
            answer.headers.setdefault("Cache-Control", "private, no-cache")
            answer.make_conditional(request)
        return answer
