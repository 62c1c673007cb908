"""Review, release, amend, link, void, life: what a person does to a record from the command line, on a running service."""

from tests.cli.conftest import Desk
from tests.doors import example
from tests.lives import failing, typed_from_paper

WORDS = "not-compared=Compared with the sheet today."


def test_a_flagged_record_is_not_released_without_words_and_the_flags_are_shown(desk: Desk) -> None:
    calibration = desk.sent(typed_from_paper())

    said = desk("release", calibration)

    assert said.exit_code == 1
    assert "Close each flag with --answer CODE=WORDS" in said.output
    assert "flag not-compared at #/taken_down/compared_by" in said.output


def test_a_record_is_released_with_words_and_its_certificate_is_told(desk: Desk) -> None:
    calibration = desk.sent(typed_from_paper())

    said = desk("release", calibration, "--answer", WORDS)

    assert said.exit_code == 0, said.output
    assert f"{calibration}, revision 1: released, log entry" in said.output
    assert ", revision 1" in said.output.partition("certificate QG-")[2]


def test_a_technician_of_the_visit_is_refused_and_told_the_way(desk: Desk) -> None:
    calibration = desk.sent(typed_from_paper())

    said = desk("release", calibration, "--answer", WORDS, by="T-01")

    assert said.exit_code == 1
    assert "refused (403 own-work)" in said.output
    assert "somebody else has to release it" in said.output


def test_a_record_is_held_back_amended_released_and_made_void(desk: Desk) -> None:
    calibration = desk.sent(example())

    said = [
        desk("review", calibration, "--words", "Is the reading at 150 kg right?"),
        desk("amend", calibration, desk.file(failing()), "--because", "The sheet says 150.9 kg."),
        desk("release", calibration),
        desk("void", calibration, "--because", "It was another scale."),
    ]

    assert [one.exit_code for one in said] == [0, 0, 0, 0]
    assert "as found: fail" in said[1].output
    assert "revision 2: released" in said[2].output
    assert "revision 2: void" in said[3].output
    life = desk("life", calibration).output
    for word in ("superseded", "remark by S-01: Is the reading", "void by S-01: It was another scale."):
        assert word in life


def test_an_amendment_of_another_digest_is_refused(desk: Desk) -> None:
    calibration, other = desk.sent(example()), f"sha256:{64 * '0'}"

    said = desk("amend", calibration, desk.file(failing()), "--because", "a slip", "--supersedes", other)

    assert said.exit_code == 1
    assert "refused (412 revision-differs)" in said.output


def test_an_unknown_code_is_linked(desk: Desk) -> None:
    calibration = desk.sent(example() | {"device": "A-4"})

    said = desk(
        "link", calibration, "--kind", "device", "--as-sent", "A-4", "--key", "A-04", "--because", "a slip of the pen"
    )

    assert said.exit_code == 0, said.output
    assert "released" in said.output


def test_an_answer_without_words_is_told(desk: Desk) -> None:
    said = desk("release", desk.sent(typed_from_paper()), "--answer", "not-compared")

    assert said.exit_code == 1
    assert "is not CODE=WORDS" in said.output


def test_nobody_in_particular_does_nothing(desk: Desk) -> None:
    said = desk("void", desk.sent(example()), "--because", "Sent twice.", by="unnamed")

    assert said.exit_code == 1
    assert "person-missing" in said.output
