"""`steelyard pieces`: counted out and in, held, and whether they may be used."""

from api.settings import Settings
from tests.cli.conftest import runner_on

WHO = ("--site", "QG", "--by", "T-01")


def test_a_set_goes_out_comes_back_short_and_the_missing_piece_is_named(filled: Settings) -> None:
    steelyard = runner_on(filled)

    out = steelyard("pieces", "out", "FS-1", "FS1-10", "FS1-5", "--round", "north wing", *WHO)
    where = steelyard("pieces", "life", "FS-1")
    back = steelyard("pieces", "in", "FS-1", "FS1-10", *WHO)

    assert (out.exit_code, back.exit_code) == (0, 0)
    assert "C-21  Count the pieces out and in" in out.output
    assert "all of it may be used" in where.output
    assert "out with T-01, north wing" in where.output
    assert "missing: FS1-5" in back.output
    assert "FS1-5: It was not counted back in" in steelyard("pieces", "life", "FS-1").output


def test_a_dropped_piece_is_held_and_says_why(filled: Settings) -> None:
    steelyard = runner_on(filled)

    held = steelyard("pieces", "hold", "FS1-10", "--because", "dropped", *WHO)
    life = steelyard("pieces", "life", "FS1-10")

    assert "not to be counted on: FS1-10" in held.output
    assert "FS1-10 on" in life.output
    assert "may not be used." in life.output
    assert "It was dropped on" in life.output


def test_a_piece_that_is_not_known_is_told_in_a_sentence(filled: Settings) -> None:
    told = runner_on(filled)("pieces", "life", "NOTHING")

    assert (told.exit_code, "No weight 'NOTHING' is on the register" in told.output) == (1, True)


def test_a_wrong_code_is_told_with_its_place(filled: Settings) -> None:
    told = runner_on(filled)("pieces", "hold", "-", "--because", "dropped", *WHO)

    assert told.exit_code == 1
    assert "#/pieces/0" in told.output
