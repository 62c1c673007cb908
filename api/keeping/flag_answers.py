"""Words by which persons close flags, kept beside the judgement that raised them."""

from collections.abc import Iterable

from sqlalchemy import Connection, insert

from api.database import Prepared
from api.keeping.record_in_hand import Act
from api.models.record import FLAG_ANSWER
from api.queries.judgements import answers_of
from api.records.calibration import Calibration
from api.records.life import FlagAnswer

_ANSWER = Prepared(insert(FLAG_ANSWER))


def keep_flag_answers(connection: Connection, act: Act, record: Calibration, answers: Iterable[FlagAnswer]) -> None:
    """Keep the words that close flags of a record as it was judged last."""
    rows = [
        {
            "site": record.site, "calibration": record.calibration, "revision": record.revision,
            "number": record.judgement, "code": answer.code, "words": answer.words, "by_whom": act.by_whom,
            "moment": act.moment.isoformat(),
        }
        for answer in answers
    ]  # fmt: skip
    if rows:
        _ANSWER.run(connection, rows)


def open_codes_of(connection: Connection, record: Calibration) -> list[str]:
    """Return the codes that are flagged in a record as it was judged last and that nobody has closed, each once."""
    at = (record.revision, record.judgement)
    closed = {
        row.code for row in answers_of(connection, record.site, record.calibration) if (row.revision, row.number) == at
    }
    return [code for code in dict.fromkeys(flag.code for flag in record.flags) if code not in closed]
