"""Every refusal as application/problem+json (RFC 9457). The only file that knows HTTP status codes of refusals."""

import json
import logging
import uuid
from typing import Any

from flask import Flask, Response, current_app, g, request
from marshmallow import ValidationError
from sqlalchemy.exc import DBAPIError
from werkzeug.exceptions import (
    ClientDisconnected,
    HTTPException,
    MethodNotAllowed,
    RequestEntityTooLarge,
    RequestHeaderFieldsTooLarge,
    RequestURITooLarge,
)

from api.database import two_writers_met
from api.ledger.key_text import without_secrets
from api.metrology.refusals import Refusal
from api.records.every_problem import PROBLEM_CODED
from api.records.problems import ContentDiffers
from api.routes.quotas import QuotaExceeded, limit_field, policy_field
from schemas.faults import faults_from
from schemas.strict_json import MOST_BYTES, NotStrictJson

LOGGER = logging.getLogger("steelyard")
MEDIA_TYPE = "application/problem+json"
PROBLEM_PAGES = "/problems/"

STATUS = {
    "batch-cut": 400, "batch-refused": 422,
    "not-json": 400, "wrong-shape": 422, "content-differs": 409, "not-on-record": 404, "address-taken": 409,
    "revision-differs": 412, "key-differs": 422, "reference-missing": 422, "no-address": 422, "no-plan": 422, "no-round": 422,
    "bad-question": 400, "cursor-not-accepted": 400, "log-behind": 409, "site-not-named": 400, "refused": 422,
    "digest-differs": 422, "not-what-it-says": 422,
    "file-refused": 422, "import-not-ready": 409, "export-not-ready": 409, "tried-otherwise": 412, "too-many-rejected": 409,
    "precondition-required": 428,
    "record-void": 409, "own-work": 403, "flags-open": 422, "cannot-certify": 409, "nothing-amended": 409,
    "no-double": 409, "not-to-link": 409, "names-a-person": 422,
    "nothing-to-compute-from": 422, "geometry-cannot-tell": 422,
    "not-yet": 422, "event-closed": 409, "device-is-retired": 409,
    "hold-stays": 409, "label-not-of-record": 422, "label-not-right": 409,
    "key-missing": 401, "key-not-accepted": 401, "key-in-address": 400, "scope-missing": 403, "person-missing": 403,
    "site-not-in-key": 403, "too-many-keys": 409, "quota-exceeded": 429, "address-too-long": 414, "fields-too-large": 431,
    "not-found": 404, "method-not-allowed": 405,
    "not-acceptable-type": 415, "too-large": 413, "body-not-arrived": 408, "beyond-the-end": 416, "busy": 503, "fault": 500,
}  # fmt: skip
OF_HTTP = {
    404: "not-found", 405: "method-not-allowed", 413: "too-large", 414: "address-too-long", 415: "not-acceptable-type",
    416: "beyond-the-end", 431: "fields-too-large",
}  # fmt: skip
# What an answer says of the key that is asked for (RFC 6750 section 3): nothing of an error where none came.
CHALLENGE = {
    "key-missing": 'Bearer realm="steelyard"',
    "key-not-accepted": 'Bearer realm="steelyard", error="invalid_token"',
    "scope-missing": 'Bearer realm="steelyard", error="insufficient_scope"',
    "person-missing": 'Bearer realm="steelyard", error="insufficient_scope"',
}


class WrongQuestion(Exception):
    """A query parameter that is unknown or unreadable; each fault names the parameter."""

    def __init__(self, faults: list[dict[str, str]]) -> None:
        super().__init__("wrong question")
        self.faults = faults


class AddressTooLong(RequestURITooLarge):
    """An address of more characters than are taken."""

    def __init__(self, found: int, most: int) -> None:
        super().__init__(f"The address has {found} characters with its question; at most {most} are taken.")


class FieldsTooLarge(RequestHeaderFieldsTooLarge):
    """Fields of more characters together than are taken."""

    def __init__(self, found: int, most: int) -> None:
        super().__init__(f"The fields have {found} characters together; at most {most} are taken.")


def problem_object(code: str, detail: str, instance: str, pages: str = PROBLEM_PAGES, **members: Any) -> dict[str, Any]:
    """Return one problem as an object (RFC 9457); its type is the address of the page that says what to do."""
    return {
        "type": f"{pages}{code}/",
        "title": PROBLEM_CODED[code].title,
        "status": STATUS[code],
        "detail": detail,
        "instance": instance,
        "code": code,
        **{name: value for name, value in members.items() if value},
    }


def problem(code: str, detail: str, **members: Any) -> Response:
    """Return one problem as an answer."""
    pages = current_app.config["PROBLEM_PAGES"]
    body = problem_object(code, detail, f"/problems/{request_id()}", pages, **members)
    answer = Response(without_secrets(json.dumps(body)), STATUS[code], content_type=MEDIA_TYPE)
    if code == "busy":
        answer.headers["Retry-After"] = "2"
    if newest := members.get("facts", {}).get("newest"):  # the tag of what is there, for who was refused for want of it
        answer.set_etag(newest)
    if code in CHALLENGE:
        scope = f', scope="{members["facts"]["scope"]}"' if code == "scope-missing" else ""
        answer.headers["WWW-Authenticate"] = CHALLENGE[code] + scope
    return answer


def request_id() -> str:
    """Return the name of this request, by which whoever runs the service finds it in the log file."""
    if "request_id" not in g:
        g.request_id = str(uuid.uuid4())
    return str(g.request_id)


def answer_with_problems(app: Flask) -> None:
    """Have every exception of the application answered as a problem."""
    for known in (Refusal, NotStrictJson, ValidationError):
        app.register_error_handler(known, _told)
    app.register_error_handler(WrongQuestion, _wrong_question)
    app.register_error_handler(QuotaExceeded, _too_many)
    app.register_error_handler(DBAPIError, _database)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _fault)


def told(error: Refusal | NotStrictJson | ValidationError, content: Any) -> tuple[str, str, dict[str, Any]]:
    """Return what a problem says of a refusal, of JSON that is not strict, or of a wrong shape: code, detail, members."""
    if isinstance(error, Refusal):
        return _refusal_told(error)
    if isinstance(error, NotStrictJson):
        fault = {"pointer": error.pointer, "detail": error.sentence, "code": "not-json"}
        return "not-json", error.sentence, {"errors": [fault]}
    messages: Any = error.messages
    if isinstance(messages, dict) and set(messages) == {"json"}:  # the parser names the place it read from
        messages = messages["json"]
    faults, more = faults_from(messages, content)
    said = f"{len(faults)}{' or more' if more else ''} fault{'s' if len(faults) != 1 else ''}; see errors."
    return "wrong-shape", said, {"errors": faults, "errors_truncated": more}


def _refusal_told(refusal: Refusal) -> tuple[str, str, dict[str, Any]]:
    """A refusal of the record has a problem of its own; one of the trade is a fault with its own code under `refused`."""
    pointers = list(refusal.pointers) if isinstance(refusal, ContentDiffers) else []
    members = {"facts": refusal.facts, "pointers": pointers}
    if refusal.code in STATUS:
        return refusal.code, refusal.sentence, members
    fault = {"pointer": "#", "detail": refusal.sentence, "code": refusal.code}
    return "refused", refusal.sentence, members | {"errors": [fault]}


def _told(error: Refusal | NotStrictJson | ValidationError) -> Response:
    code, detail, members = told(error, g.get("content"))
    return problem(code, detail, **members)


def _wrong_question(error: WrongQuestion) -> Response:
    return problem("bad-question", "The question cannot be answered as asked; see errors.", errors=error.faults)


def _too_many(error: QuotaExceeded) -> Response:
    policy, seconds = error.left.policy, error.left.seconds
    said = f"At most {policy.quota} requests ({policy.name}) are taken in {policy.window_s} s; the next in {seconds} s."
    answer = problem("quota-exceeded", said, **{"violated-policies": [policy.name]})
    answer.headers["Retry-After"] = str(seconds)
    answer.headers["RateLimit-Policy"] = policy_field((policy,))
    answer.headers["RateLimit"] = limit_field((error.left,))
    return answer


def _database(error: DBAPIError) -> Response:
    if is_busy(error):
        return problem("busy", "Another write held the record for too long.")
    return _fault(error)


def is_busy(error: DBAPIError) -> bool:
    """Return whether another write held the record for too long."""
    return two_writers_met(error) or "locked" in str(error.orig) or "timeout" in str(error.orig)


def _http(error: HTTPException) -> Response:
    code = OF_HTTP.get(error.code or 500)
    if isinstance(error, ClientDisconnected):
        code = "body-not-arrived"
    if code is None:
        code = "not-json" if error.code == 400 else "fault"
    sentence, facts = _said_of(error, code)
    answer = problem(code, sentence, facts=facts)
    for name, value in error.get_headers():
        if name in ("Accept-Patch", "Allow", "Retry-After", "Content-Range"):
            answer.headers[name] = value
    return answer


def _said_of(error: HTTPException, code: str) -> tuple[str, dict[str, str]]:
    """Our sentence and its facts; the framework's own words are never passed on."""
    if isinstance(error, MethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        sentence = f"{request.method} is not taken at this address; allowed: {allowed}."
        return sentence, {"method": request.method, "allowed": allowed}
    if isinstance(error, RequestEntityTooLarge):
        return _too_large()
    ours = error.description != type(error).description
    return (error.description if ours and error.description else PROBLEM_CODED[code].what), {}


def _too_large() -> tuple[str, dict[str, str]]:
    limit, sent = str((request.max_content_length or MOST_BYTES + 1) - 1), request.content_length
    if sent is None:
        return f"The body has more than {limit} bytes, which is the most that is taken.", {"limit_bytes": limit}
    said = f"The body has {sent} bytes; at most {limit} are taken."
    return said, {"limit_bytes": limit, "sent_bytes": str(sent)}


def _fault(error: Exception) -> Response:
    LOGGER.error("%s %s failed as %s", request.method, request.url_rule, request_id(), exc_info=error)
    kept = g.get("items_kept", 0)
    what = f"the first {kept} of the batch were kept, the others not" if kept else "nothing was kept of this request"
    return problem("fault", f"The service met a fault of its own; {what}.")
