"""Many calibrations in one request: each for itself, or all or none."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from flask import Response, current_app, g, request
from flask.views import MethodView
from marshmallow import ValidationError
from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError, IntegrityError
from werkzeug.exceptions import ClientDisconnected, RequestEntityTooLarge, UnsupportedMediaType

from api.database import two_writers_met, unit_of_work
from api.keeping.certificate import hold_serials
from api.keeping.content import Arrived
from api.metrology.refusals import Refusal
from api.records.calibration import Receipt
from api.records.quarantine import QuarantineReceipt
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, questions_described
from api.routes.doorkeeper import needs
from api.routes.problems import is_busy, problem, problem_object, request_id, told
from api.routes.questions import asked
from api.routes.receiving import SENT_HEADERS, Kept, Sent, arrived_now, receive, status_of
from schemas.answers import BatchSchema
from schemas.batch import MOST_BYTES, BatchCut, Item, items_of_array, items_of_lines
from schemas.faults import MOST_FAULTS
from schemas.strict_json import NotStrictJson, strict_json
from schemas.submission import SubmissionSchema, submission_with_id

BATCH = Doors("batch", __name__, url_prefix="/v1", description="Many calibrations in one request")
LINES = "application/x-ndjson"
ITEMS_A_TRANSACTION = 100
BODY = {
    "required": True,
    "content": {
        "application/json": {"schema": {"type": "array", "maxItems": 500, "items": SubmissionSchema}},
        LINES: {"schema": {"type": "string", "description": "One submission a line."}},
    },
}


@dataclass(frozen=True, slots=True)
class Read:
    """One submission of a batch as it was read: its id, and either its arrival or why it cannot be taken."""

    item: Item
    id: str | None
    arrival: tuple[Arrived, Sent] | None = None
    refused: dict[str, Any] | None = None


Result = dict[str, Any]


class _NoneKept(Exception):
    """Some of a batch cannot be kept, and all or none was asked."""


@BATCH.route("/calibrations:batch")
class Batch(MethodView):
    """Many calibrations."""

    @needs("submit")
    @BATCH.doc(parameters=[*questions_described("mode"), *SENT_HEADERS], requestBody=BODY)
    @BATCH.response(207, BatchSchema)
    @BATCH.alt_response(201, schema=BatchSchema)
    def post(self) -> Response:
        """Send up to 500 calibrations, each with its `id` in its body, as an array or one a line.

        Each for itself: 207, a result for each in the order sent; what was kept before is told so, and what cannot be kept
        stops no other. With `mode=all`: 201, all are kept, or 422, none is.
        """
        mode = asked("mode").get("mode", "each")
        return _all_or_none(_items()) if mode == "all" else _each(_items())


def _items() -> list[Item]:
    request.max_content_length = MOST_BYTES + 1
    if request.mimetype not in ("application/json", LINES):
        found = request.mimetype or "no Content-Type"
        raise UnsupportedMediaType(f"Found {found}; accepted: application/json, {LINES}.")
    try:
        body = request.get_data()
    except ClientDisconnected:
        raise BatchCut("Fewer bytes arrived than Content-Length announced. Send the whole batch again.") from None
    if len(body) > MOST_BYTES:
        raise RequestEntityTooLarge
    if request.mimetype == LINES:
        return items_of_lines(body, request.content_length)
    return items_of_array(body)


def _read(item: Item) -> Read:
    """One submission, read strictly; whatever is wrong with it is its own."""
    content: Any = None
    try:
        content = strict_json(item.body)
        calibration, sent = submission_with_id(content)
        return Read(item, calibration, (arrived_now(calibration, item.body, content), sent))
    except (NotStrictJson, ValidationError, Refusal) as error:
        said = content.get("id") if isinstance(content, dict) else None
        return Read(item, said if isinstance(said, str) else None, refused=_problem_of(error, content))


def _problem_of(error: NotStrictJson | ValidationError | Refusal, content: Any) -> dict[str, Any]:
    code, detail, members = told(error, content)
    return _problem(code, detail, **members)


def _problem(code: str, detail: str, **members: Any) -> dict[str, Any]:
    return problem_object(code, detail, f"/problems/{request_id()}", current_app.config["PROBLEM_PAGES"], **members)


def _each(items: Sequence[Item]) -> Response:
    """Keep each for itself, a transaction for every hundred: whatever breaks off leaves the first of them kept."""
    results: list[Result] = []
    for start in range(0, len(items), ITEMS_A_TRANSACTION):
        chunk = [_read(item) for item in items[start : start + ITEMS_A_TRANSACTION]]
        try:
            results += unit_of_work(engine(), partial(_kept, read=chunk))
        except DBAPIError as error:
            if not is_busy(error):
                raise
            results += [_held_up(_read(item)) for item in items[start:]]
            break
        g.items_kept = len(results)
    return answer({"summary": _summary(results), "results": results}, 207)


def _all_or_none(items: Sequence[Item]) -> Response:
    read, results = [_read(item) for item in items], list[Result]()

    def work(connection: Connection) -> None:
        results[:] = _kept(connection, read)
        if any("problem" in result for result in results):
            raise _NoneKept

    try:
        unit_of_work(engine(), work)
    except _NoneKept:
        return _none_kept(results)
    return answer({"summary": _summary(results), "results": results}, 201)


def _kept(connection: Connection, read: Sequence[Read]) -> list[Result]:
    """Keep what can be kept, each under a savepoint of its own; the sites' certificate numbers are held first."""
    hold_serials(connection, {sent.site for one in read if one.arrival for sent in one.arrival[1:]}, now().year)
    return [_kept_one(connection, one) for one in read]


def _kept_one(connection: Connection, one: Read) -> Result:
    if one.arrival is None:
        return _refused(one, one.refused or {})
    arrived, sent = one.arrival
    try:
        with connection.begin_nested():
            kept = receive(connection, arrived, sent)
    except Refusal as refusal:
        return _refused(one, _problem_of(refusal, arrived.content))
    except IntegrityError as error:
        if not two_writers_met(error):
            raise
        with connection.begin_nested():  # another wrote under this id while we did; it is on record by now
            kept = receive(connection, arrived, sent)
    return _result(one, status_of(kept)) | {"receipt" if isinstance(kept, Receipt) else "quarantined": kept}


def _result(one: Read, status: int) -> Result:
    told = {"index": one.item.index, "line": one.item.line, "id": one.id, "status": status}
    return {name: value for name, value in told.items() if value is not None}


def _refused(one: Read, said: dict[str, Any]) -> Result:
    return _result(one, said["status"]) | {"problem": said}


def _held_up(one: Read) -> Result:
    return _refused(one, _problem("busy", "Another write held the record for too long; send this one again."))


def _summary(results: Sequence[Result]) -> dict[str, int]:
    kept: list[Kept] = [r["receipt"] for r in results if "receipt" in r]
    aside: list[QuarantineReceipt] = [r["quarantined"] for r in results if "quarantined" in r]
    created = [r for r in kept if isinstance(r, Receipt) and not r.replayed]
    return {
        "received": len(results),
        "created": len(created),
        "flagged": sum(bool(r.flags) for r in created),
        "replayed": sum(r.replayed for r in (*kept, *aside)),
        "quarantined": sum(not r.replayed for r in aside),
        "refused": sum("problem" in r for r in results),
    }


def _none_kept(results: Sequence[Result]) -> Response:
    faults = [fault for result in results if "problem" in result for fault in _faults(result)]
    refused = sum("problem" in result for result in results)
    said = f"{refused} of {len(results)} cannot be kept, so none was; see errors."
    return problem("batch-refused", said, errors=faults[:MOST_FAULTS], errors_truncated=len(faults) > MOST_FAULTS)


def _faults(result: Result) -> list[dict[str, Any]]:
    """The faults of one submission, pointed at from the batch; a refusal without a place is the submission's own."""
    said, place = result["problem"], f"#/{result['index']}"
    own = [{"pointer": "#", "detail": said["detail"], "code": said["code"]}]
    line = {"line": result["line"]} if "line" in result else {}
    return [fault | {"pointer": place + fault["pointer"][1:]} | line for fault in said.get("errors", own)]
