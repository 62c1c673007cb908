"""One submission received, through whichever door: whose it is, how it is kept, what status its receipt has."""

from typing import Any

from flask import Response
from sqlalchemy import Connection

from api.actions.keep_in_quarantine import keep_in_quarantine
from api.actions.record_calibration import record_calibration
from api.keeping.content import Arrived
from api.metrology.submission import Submission
from api.records.calibration import Receipt
from api.records.problems import KeyDiffers
from api.records.quarantine import NewerSubmission, QuarantineReceipt
from api.routes.bodies import answer, now, sent_at, unread_fields
from api.routes.doorkeeper import caller

Sent = Submission | NewerSubmission
Kept = Receipt | QuarantineReceipt
SENT_HEADERS = [
    {"in": "header", "name": "Steelyard-Sent-At", "schema": {"type": "string"}, "required": False,
     "description": "The app's clock at the moment of sending, RFC 3339 with its offset; kept with the arrival, not part of "
     "the content. Where it cannot be read, the calibration is kept all the same and the receipt has a note."},
    {"in": "header", "name": "Steelyard-By", "schema": {"type": "string"}, "required": False,
     "description": "The code of whoever sends, noted and not believed: where it cannot be read, the log has it as unnamed "
     "and the receipt has a note. Where keys are asked for, the key says who it is and this field says nothing."},
]  # fmt: skip


def arrived_now(calibration: str, body: bytes, content: Any, by_whom: str | None = None) -> Arrived:
    """Return the arrival of a submission with this request; refuses an `id` in it that is not its own (`KeyDiffers`).

    `by_whom` is the person who answers for it, where it is not the caller in general.
    """
    said = content.get("id")
    if isinstance(said, str) and said.lower() != calibration:
        raise KeyDiffers(
            f"The address names calibration {calibration}, the body {said}.", address=calibration, body=said
        )
    return Arrived(calibration, body, content, by_whom or caller().code, now(), sent_at(), unread_fields())


def receive(connection: Connection, arrived: Arrived, sent: Sent) -> Kept:
    """Keep a submission and return its receipt; refuses a site that the caller's key is not for (`SiteNotInKey`)."""
    caller().check_own(sent.site)
    if isinstance(sent, NewerSubmission):
        return keep_in_quarantine(connection, arrived, sent)
    return record_calibration(connection, arrived, sent)


def status_of(kept: Kept) -> int:
    """Return 201 kept, 200 kept before, 202 kept in quarantine."""
    if isinstance(kept, QuarantineReceipt):
        return 202
    return 200 if kept.replayed else 201


def address_of(kept: Kept) -> str:
    """Return where what was kept is read."""
    collection = "quarantine" if isinstance(kept, QuarantineReceipt) else "calibrations"
    return f"/v1/{collection}/{kept.calibration}?site={kept.site}"


def receipt_answer(kept: Kept) -> Response:
    """Return a receipt as an answer."""
    return answer(kept, status_of(kept), Location=address_of(kept))
