"""Attachments of visits: sent under the digest of their bytes, before the visit that names them or after, and read back."""

from typing import Any

from flask import Response, request
from flask.views import MethodView
from werkzeug.exceptions import RequestEntityTooLarge, UnsupportedMediaType

from api.actions.keep_attachment import ArrivedAttachment, keep_attachment
from api.database import reading, unit_of_work
from api.queries.attachments import attachment
from api.records.media_types import ENDINGS, MEDIA_TYPES
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.problems import WrongQuestion
from api.routes.questions import asked
from schemas.answers import AttachmentReceiptSchema

ATTACHMENTS = Doors("attachments", __name__, url_prefix="/v1/attachments", description="Files that belong to visits")
MOST_BYTES = 10 * 1024 * 1024
_FILES: dict[str, Any] = {media_type: {"schema": {"type": "string", "format": "binary"}} for media_type in MEDIA_TYPES}
_SITE = [
    {"in": "query", "name": "site", "required": True, "schema": {"type": "string", "minLength": 1, "maxLength": 40},
     "description": "The site of the visit that it belongs to."},
]  # fmt: skip
# A browser that is led here shows nothing and runs nothing: whoever sent the bytes may have been anybody.
GUARDS = {
    "X-Content-Type-Options": "nosniff",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


@ATTACHMENTS.route("/<digest>")
class One(MethodView):
    """One attachment under its digest."""

    @needs("submit")
    @ATTACHMENTS.doc(parameters=_SITE, requestBody={"required": True, "content": _FILES})
    @ATTACHMENTS.response(201, AttachmentReceiptSchema)
    @ATTACHMENTS.alt_response(200, schema=AttachmentReceiptSchema)
    def put(self, digest: str) -> Response:
        """Send a file of a visit, at most 10 MiB, under `sha256:` and the SHA-256 of its bytes in hexadecimal.

        201 kept, 200 kept before. It may come before the visit that names it in `attachments`, or after. A PNG or JPEG
        picture, a PDF, plain text or CSV, and nothing else. No picture or sheet that shows or names a patient (C-11).
        """
        where = asked("site")
        if "site" not in where:
            said = "Missing; accepted: the site of the visit that it belongs to."
            raise WrongQuestion([{"parameter": "site", "detail": said, "code": "value-not-accepted"}])
        caller().check_own(where["site"])
        sent = ArrivedAttachment(digest, where["site"], _media_type(), _content(), caller().code, now())
        receipt = unit_of_work(engine(), lambda connection: keep_attachment(connection, sent))
        address = f"/v1/attachments/{receipt.digest}?site={receipt.site}"
        return answer(receipt, 200 if receipt.replayed else 201, Location=address)

    @needs("read")
    @question("site")
    @ATTACHMENTS.doc(responses={"200": {"description": "The bytes as they were sent", "content": _FILES}})
    def get(self, digest: str) -> Response:
        """Read an attachment: exactly the bytes that were sent, to be saved, not shown."""
        where = asked("site")
        with reading(engine()) as connection:
            found = attachment(connection, digest, where.get("site"))
        told = found.told
        name = f"{told.digest.replace(':', '-')}.{ENDINGS[told.media_type]}"
        headers = GUARDS | {"Content-Disposition": f'attachment; filename="{name}"', "ETag": f'"{told.digest}"'}
        return Response(found.content, headers=headers, content_type=told.media_type)


def _media_type() -> str:
    if request.mimetype not in MEDIA_TYPES:
        found = request.mimetype or "no Content-Type"
        raise UnsupportedMediaType(f"Found {found}; accepted: {', '.join(MEDIA_TYPES)}.")
    return request.mimetype


def _content() -> bytes:
    request.max_content_length = MOST_BYTES + 1
    content = request.get_data()
    if len(content) > MOST_BYTES:
        raise RequestEntityTooLarge
    return content
