"""Leave a remark on a calibration: a reviewer holds it back for more, and everybody sees why. It releases nothing."""

from sqlalchemy import Connection, insert

from api.database import Prepared
from api.keeping.record_in_hand import Act, acted, check_words, in_hand, log_act
from api.models.record import REMARK
from api.records.life import Acted, RemarkAsked

_REMARK = Prepared(insert(REMARK))


def remark_on_calibration(connection: Connection, act: Act, asked: RemarkAsked) -> Acted:
    """Keep a remark beside the newest revision of a record; the same words by the same person again are kept once."""
    check_words(asked.words)
    held = in_hand(connection, act)
    record = held.record
    if any((said.words, said.by_whom) == (asked.words, act.by_whom) for said in record.remarks):
        return acted(connection, act)
    _REMARK.run(
        connection,
        {
            "site": act.site, "calibration": act.calibration, "revision": record.revision,
            "place": len(record.remarks) + 1, "words": asked.words, "by_whom": act.by_whom,
            "moment": act.moment.isoformat(),
        },
    )  # fmt: skip
    return acted(connection, act, log_act(connection, "calibration remarked on", act, held).number)
