"""`steelyard weights` prints the pieces to take, set by set, and how far each scale is proven."""

from api.settings import Settings
from tests.cli.conftest import runner_on
from tests.filled_record import door_to

ON = "2026-11-25"


def test_the_list_is_the_one_the_service_gives(filled: Settings) -> None:
    said = runner_on(filled)("weights", "A-01", "C-02", "--set", "FS-1", "--set", "FS-2", "--on", ON)
    with door_to(filled) as client:
        asked = {"on": ON, "devices": ["A-01", "C-02"], "sets": ["FS-1", "FS-2"]}
        found = client.post("/v1/rounds:weights", json=asked).json

    assert said.exit_code == 0
    assert f"{found['total_kg']} kg in {found['pieces_out']} pieces." in said.output
    assert all(f"[ ] {p['piece']}" in said.output for some in found["sets"] for p in some["pieces"])
    assert said.output.count("[ ]") == found["pieces_out"]
    assert "C-02: Not with these weights: test outside." in said.output
    assert found["devices"][0]["proves"] in said.output


def test_who_is_not_on_the_register_is_said_in_a_sentence(filled: Settings) -> None:
    said = runner_on(filled)("weights", "NONE-1", "--set", "NONE-2", "--on", ON)

    assert said.exit_code == 1
    assert f"Not on the register on {ON}: devices: NONE-1; sets: NONE-2." in said.output
