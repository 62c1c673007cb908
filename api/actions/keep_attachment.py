"""Keep an attachment under the digest of its bytes; the same again is answered as it is on record. Create-only."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, insert

from api.database import Prepared
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.ledger.digests import digest_of
from api.models.attachment import ATTACHMENT
from api.queries.attachments import TOUCHED, KeptAttachment, NamedBy, attachment_key, find_attachment, named_by
from api.queries.calibrations import record_key
from api.queries.judgements import links_of
from api.records.attachment import Attachment, AttachmentReceipt
from api.records.log import Touched
from api.records.media_types import found_in
from api.records.problems import DigestDiffers, NotWhatItSays

_KEEP = Prepared(insert(ATTACHMENT))


@dataclass(frozen=True, slots=True)
class ArrivedAttachment:
    """An attachment as it arrived: the digest and type it was sent under, its bytes, from whom, for which site, when."""

    digest: str
    site: str
    media_type: str
    content: bytes
    by_whom: str
    received_at: datetime


def keep_attachment(connection: Connection, sent: ArrivedAttachment) -> AttachmentReceipt:
    """Keep an attachment and return its receipt; the same bytes again return the first one, marked replayed.

    Refuses bytes of another digest (`DigestDiffers`) or another kind (`NotWhatItSays`) than they were sent as.
    """
    _check(sent)
    known = find_attachment(connection, sent.digest, sent.site)
    if known is not None:
        return _receipt(known, named_by(connection, sent.digest, sent.site), replayed=True)
    sealed = seal(connection, sent.content)
    told = Attachment(sent.digest, sent.site, sent.media_type, len(sent.content), sent.received_at)
    _KEEP.run(
        connection,
        {
            "site": sent.site, "digest": sent.digest, "media_type": sent.media_type, "size": told.size,
            "received_at": sent.received_at.isoformat(), "received_by": sent.by_whom, "sealed": sealed,
        },
    )  # fmt: skip
    hold_log(connection)  # so that no visit that names it is kept between this look and the entry
    named = named_by(connection, sent.digest, sent.site)
    draft = Draft(
        "attachment received", sent.by_whom, sent.received_at, _touched(connection, sent, named), sealed,
        {"attachment": sent.digest},
    )  # fmt: skip
    head = append_to_log(connection, draft)
    return _receipt(KeptAttachment(told, sent.content, head.number), named, replayed=False)


def _check(sent: ArrivedAttachment) -> None:
    found = digest_of(sent.content)
    if found != sent.digest:
        raise DigestDiffers(
            f"The address names {sent.digest}; the bytes that arrived have the digest {found}.",
            address=sent.digest, found=found, bytes=str(len(sent.content)),
        )  # fmt: skip
    kinds = found_in(sent.content)
    if sent.media_type not in kinds:
        listed = " or ".join(kinds) or "nothing that is taken"
        raise NotWhatItSays(
            f"It was sent as {sent.media_type}; by its bytes it is {listed}.", declared=sent.media_type, found=listed
        )


def _touched(connection: Connection, sent: ArrivedAttachment, named: tuple[NamedBy, ...]) -> tuple[Touched, ...]:
    """What shows it: the records that name it, their devices and wards, and the site, by which it is seen."""
    touched = [Touched(TOUCHED, attachment_key(sent.site, sent.digest)), Touched("site", sent.site)]
    for one in named:
        touched += [Touched("calibration", record_key(sent.site, one.calibration)), Touched("device", one.device)]
        if one.ward is not None:
            touched.append(Touched("ward", one.ward))
        linked = links_of(connection, sent.site, one.calibration)
        touched += [Touched(link.kind, link.key) for link in linked if link.kind in ("device", "ward")]
    return tuple(touched)


def _receipt(kept: KeptAttachment, named: tuple[NamedBy, ...], *, replayed: bool) -> AttachmentReceipt:
    told, ids = kept.told, tuple(dict.fromkeys(one.calibration for one in named))
    return AttachmentReceipt(
        told.digest, told.site, told.media_type, told.size, told.received_at, replayed, ids, kept.log_number
    )
