"""What a submission would be judged, against the register as it is now. Stores nothing."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from api.keeping.judge_on_file import judge_on_file
from api.keeping.possible_duplicates import NO_ID, possible_duplicates
from api.keeping.release_rule import release_rule, standing_on_receipt
from api.metrology.judgement import Flag
from api.metrology.submission import Submission
from api.queries.attachments import attachments_named
from api.records.calibration import Checked, StoredFlag, notes_of_missing
from api.records.working import read_working


def check(
    connection: Connection,
    sent: Submission,
    content: Any,
    *,
    at: datetime,
    sent_at: datetime | None = None,
    unread: Sequence[Flag] = (),
) -> Checked:
    """Return the judgement that a submission would get if it arrived now."""
    doubles = possible_duplicates(connection, sent, content, (sent.id or NO_ID).lower())
    judged = judge_on_file(connection, sent, content, received_at=at, sent_at=sent_at, unread=unread, doubles=doubles)
    named = attachments_named(connection, [(sent.site, content)])[0]
    return Checked(
        site=sent.site,
        device=sent.device,
        standing=standing_on_receipt(release_rule(connection, at.date()), judged.judgement.flags, sent.technicians)[0],
        as_found=judged.as_found,
        as_left=judged.as_left,
        flags=tuple(_told(flag) for flag in judged.judgement.flags),
        notes=(*(_told(note) for note in judged.judgement.notes), *notes_of_missing(named)),
        working=read_working(judged.working),
    )


def _told(flag: Flag) -> StoredFlag:
    return StoredFlag(flag.code, flag.sentence, flag.facts, flag.pointer)
