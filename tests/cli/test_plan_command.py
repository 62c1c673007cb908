"""`steelyard plan` prints every step of a calibration with the digest that the record names it by."""

from api.settings import Settings
from tests.cli.conftest import runner_on
from tests.filled_record import door_to

ASKED = ("plan", "A-01", "--set", "FS-1", "--on", "2026-11-25")


def test_the_plan_is_printed_with_the_digest_the_service_gives(filled: Settings) -> None:
    said = runner_on(filled)(*ASKED)
    with door_to(filled) as client:
        read = client.get("/v1/devices/A-01/plan?on=2026-11-25&set=FS-1").json

    assert said.exit_code == 0
    assert read["digest"] in said.output
    assert all(f"{step['number']:>3}. {step['name']}" in said.output for step in read["plan"]["steps"])
    assert "put on: FS1-20-" in said.output


def test_what_cannot_be_planned_is_said_in_a_sentence(filled: Settings) -> None:
    said = runner_on(filled)("plan", "A-01", "--set", "NONE", "--on", "2026-11-25")

    assert said.exit_code == 1
    assert "No weight set 'NONE'" in said.output


def test_a_lifting_limit_is_kept_on_the_command_line_too(filled: Settings) -> None:
    said = runner_on(filled)(*ASKED, "--largest-piece", "10 kg")

    assert said.exit_code == 0
    assert "left out: FS1-20-01, over the lifting limit" in said.output
    assert not any("FS1-20" in line for line in said.output.splitlines() if "put on:" in line)


def test_a_mass_that_cannot_be_read_is_said_in_a_sentence(filled: Settings) -> None:
    said = runner_on(filled)(*ASKED, "--largest-piece", "10 lbs")

    assert said.exit_code == 1
    assert "[lb_av]" in said.output


def test_a_scale_of_a_magnet_zone_gets_its_one_step_and_the_way_out(filled: Settings) -> None:
    stopped, outside = (
        runner_on(filled)("plan", "C-02", "--set", "FS-1", "--on", "2026-11-25", *more)
        for more in ((), ("--ward", "QG-ED"))
    )

    assert "put on:" not in stopped.output
    assert "ask for the plan of the ward where it will be tested" in stopped.output
    assert "put on:" in outside.output
