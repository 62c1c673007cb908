"""Every refusal as application/problem+json (RFC 9457). The only file that knows HTTP status codes of refusals."""

import json
import logging
import uuid
from typing import Any

from flask import Flask, Response, current_app, g, request
from marshmallow import ValidationError
from sqlalchemy.exc import DBAPIError
from werkzeug.exceptions import HTTPException

from api.database import two_writers_met
from api.metrology.refusals import Refusal
from api.records.problems import PROBLEM_CODED, ContentDiffers
from schemas.faults import faults_from
from schemas.strict_json import NotStrictJson

LOGGER = logging.getLogger("steelyard")
MEDIA_TYPE = "application/problem+json"

STATUS = {
    "not-json": 400, "wrong-shape": 422, "content-differs": 409, "not-on-record": 404, "address-taken": 409,
    "revision-differs": 412, "key-differs": 422, "reference-missing": 422, "no-address": 422, "bad-question": 422,
    "not-found": 404, "method-not-allowed": 405,
    "not-acceptable-type": 415, "too-large": 413, "busy": 503, "fault": 500,
}  # fmt: skip
OF_HTTP = {404: "not-found", 405: "method-not-allowed", 413: "too-large", 415: "not-acceptable-type"}


class WrongQuestion(Exception):
    """A query parameter that is unknown or unreadable; each fault names the parameter."""

    def __init__(self, faults: list[dict[str, str]]) -> None:
        super().__init__("wrong question")
        self.faults = faults


def problem(code: str, detail: str, **members: Any) -> Response:
    """Return one problem as an answer; its type is the address of the page that says what to do."""
    known = PROBLEM_CODED[code]
    body = {
        "type": f"{current_app.config['PROBLEM_PAGES']}{code}/",
        "title": known.title,
        "status": STATUS[code],
        "detail": detail,
        "instance": f"/problems/{request_id()}",
        "code": code,
        **{name: value for name, value in members.items() if value},
    }
    answer = Response(json.dumps(body), STATUS[code], content_type=MEDIA_TYPE)
    if code == "busy":
        answer.headers["Retry-After"] = "2"
    return answer


def request_id() -> str:
    """Return the name of this request, by which whoever runs the service finds it in the log file."""
    if "request_id" not in g:
        g.request_id = str(uuid.uuid4())
    return str(g.request_id)


def answer_with_problems(app: Flask) -> None:
    """Have every exception of the application answered as a problem."""
    app.register_error_handler(Refusal, _refused)
    app.register_error_handler(NotStrictJson, _not_json)
    app.register_error_handler(ValidationError, _wrong_shape)
    app.register_error_handler(WrongQuestion, _wrong_question)
    app.register_error_handler(DBAPIError, _database)
    app.register_error_handler(HTTPException, _http)
    app.register_error_handler(Exception, _fault)


def _refused(refusal: Refusal) -> Response:
    code = refusal.code if refusal.code in STATUS else "wrong-shape"
    pointers = list(refusal.pointers) if isinstance(refusal, ContentDiffers) else []
    return problem(code, refusal.sentence, facts=refusal.facts, pointers=pointers)


def _not_json(error: NotStrictJson) -> Response:
    fault = {"pointer": error.pointer, "detail": error.sentence, "code": "not-json"}
    return problem("not-json", error.sentence, errors=[fault])


def _wrong_shape(error: ValidationError) -> Response:
    messages: Any = error.messages
    if isinstance(messages, dict) and set(messages) == {"json"}:  # the parser names the place it read from
        messages = messages["json"]
    faults, more = faults_from(messages, g.get("content"))
    said = f"{len(faults)}{' or more' if more else ''} fault{'s' if len(faults) != 1 else ''}; see errors."
    return problem("wrong-shape", said, errors=faults, errors_truncated=more)


def _wrong_question(error: WrongQuestion) -> Response:
    return problem("bad-question", "The question cannot be answered as asked; see errors.", errors=error.faults)


def _database(error: DBAPIError) -> Response:
    if two_writers_met(error) or "locked" in str(error.orig) or "timeout" in str(error.orig):
        return problem("busy", "Another write held the record for too long.")
    return _fault(error)


def _http(error: HTTPException) -> Response:
    code = OF_HTTP.get(error.code or 500)
    if code is None:
        code = "not-json" if error.code == 400 else "fault"
    answer = problem(code, error.description or PROBLEM_CODED[code].what)
    for name, value in error.get_headers():
        if name in ("Allow", "Retry-After"):
            answer.headers[name] = value
    return answer


def _fault(error: Exception) -> Response:
    LOGGER.error("%s %s failed as %s", request.method, request.url_rule, request_id(), exc_info=error)
    return problem("fault", "The service met a fault of its own; nothing was kept of this request.")
