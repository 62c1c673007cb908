"""Make a calibration void: it speaks for nothing from now on, and its certificate is withdrawn. Nothing is deleted."""

from sqlalchemy import Connection

from api.keeping.record_in_hand import Act, acted, check_words, in_hand, log_act
from api.keeping.standing import Word, keep_standings, stands_of
from api.records.life import Acted, VoidAsked


def void_calibration(connection: Connection, act: Act, asked: VoidAsked) -> Acted:
    """Make every revision of a record void that stands; a record that is void is answered as it is."""
    check_words(asked.because)
    held = in_hand(connection, act)
    if held.record.standing == "void":
        return acted(connection, act)
    word = Word(act.by_whom, act.moment, asked.because)
    keep_standings(connection, [(at, "void", word) for at in stands_of(connection, act.site, act.calibration)])
    return acted(connection, act, log_act(connection, "calibration void", act, held).number)
