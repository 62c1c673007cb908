"""Close a possible duplicate: a person says that it is the same visit, and it is void; or that it is not, in words."""

from sqlalchemy import Connection

from api.keeping.flag_answers import keep_flag_answers
from api.keeping.possible_duplicates import POSSIBLE_DUPLICATE, is_closed
from api.keeping.record_in_hand import Act, InHand, acted, check_words, in_hand, log_act
from api.keeping.standing import Word, keep_standings, stands_of
from api.queries.calibrations import calibration, record_key
from api.records.life import Acted, DuplicateAsked, FlagAnswer
from api.records.log import Touched
from api.records.problems import NoDouble


def close_duplicate(connection: Connection, act: Act, asked: DuplicateAsked) -> Acted:
    """Close whether a record is of the same visit as another, and return where it stands; said again it changes nothing.

    Refuses another that is the record itself, is void or is not the one flagged (`NoDouble`), or not on record.
    """
    check_words(asked.because)
    held = in_hand(connection, act)
    other = asked.of.lower()
    if asked.same_visit:
        return _void(connection, act, held, asked, other)
    held.check_not_void()
    flags = [flag for flag in held.record.flags if flag.code == POSSIBLE_DUPLICATE]
    if is_closed(connection, held.record):
        return acted(connection, act)
    if all(flag.facts["calibration"] != other for flag in flags):
        raise NoDouble(f"It is not flagged as a possible duplicate of {other}.", of=other)
    answer = FlagAnswer(POSSIBLE_DUPLICATE, f"Not the same visit as {other}: {asked.because}")
    keep_flag_answers(connection, act, held.record, [answer])
    return acted(connection, act, log_act(connection, "possible duplicate closed", act, held).number)


def _void(connection: Connection, act: Act, held: InHand, asked: DuplicateAsked, other: str) -> Acted:
    """One of the two has to stay: whoever makes both void means something else."""
    if held.record.standing == "void":
        return acted(connection, act)
    if other == act.calibration:
        raise NoDouble("A record is no double of itself.", of=other)
    stays = calibration(connection, other, act.site)
    if stays.standing == "void":
        raise NoDouble(f"Calibration {other} is void: {stays.stands.because}", of=other, because=stays.stands.because)
    word = Word(act.by_whom, act.moment, f"the same visit as {other}: {asked.because}")
    keep_standings(connection, [(at, "void", word) for at in stands_of(connection, act.site, act.calibration)])
    more = [Touched("calibration", record_key(act.site, other))]
    return acted(connection, act, log_act(connection, "calibration void", act, held, more=more).number)
