"""Attachments: files of a visit, known by the digest of their bytes, arriving before the visit that names them or after."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

FROM_SHEET = "the sheet that the readings were taken down on"


@dataclass(frozen=True, slots=True)
class Attachment:
    """What is on record of an attachment: its digest and site, what kind of file it is, when it came."""

    digest: str
    site: str
    media_type: str
    size: int
    received_at: datetime


@dataclass(frozen=True, slots=True)
class AttachmentReceipt:
    """What the sender gets: that the bytes are kept, under which log entry, and which calibrations on record name them.

    The app may delete its copy: `digest` is the SHA-256 of the bytes, and was compared with them.
    """

    digest: str
    site: str
    media_type: str
    size: int
    received_at: datetime
    replayed: bool
    named_by: tuple[str, ...]
    log_number: int


@dataclass(frozen=True, slots=True)
class AttachmentOfVisit:
    """An attachment as a visit names it: by digest, with what it shows; once it has arrived, what it is and since when."""

    digest: str
    what: str
    pointer: str
    media_type: str | None = None
    size: int | None = None
    received_at: datetime | None = None


def named_in(content: Any) -> list[AttachmentOfVisit]:
    """Return the attachments that a submission names, in order, the sheet that its readings were typed from among them."""
    named = [
        AttachmentOfVisit(one["digest"], one["what"], f"#/attachments/{place}/digest")
        for place, one in enumerate(content.get("attachments", ()))
    ]
    sheet = (content.get("taken_down") or {}).get("from_sheet")
    if sheet is not None and all(one.digest != sheet for one in named):
        named.append(AttachmentOfVisit(sheet, FROM_SHEET, "#/taken_down/from_sheet"))
    return named
