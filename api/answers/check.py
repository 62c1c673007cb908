"""What a submission would be judged, against the register as it is now. Stores nothing."""

from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from api.keeping.judge_on_file import Judged, judge_on_file
from api.metrology.submission import Submission


def check(connection: Connection, sent: Submission, content: Any, *, at: datetime) -> Judged:
    """Return the judgement that a submission would get if it arrived now."""
    return judge_on_file(connection, sent, content, received_at=at, sent_at=None)
