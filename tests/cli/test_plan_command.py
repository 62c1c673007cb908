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
