"""`steelyard keys` at the machine: the first key, a person's, the list, the end of one; and `serve` with keys on."""

import http.client
import json
import re
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from api.cli import main
from api.ledger.key_text import PATTERN
from api.settings import Settings
from tests.cli.conftest import Run, process, runner_on
from tests.doors import example_bytes
from tests.filled_record import EXAMPLES

MOST_SECONDS = 30
PASS = EXAMPLES / "calibration-pass.json"


def key_in(said: str) -> str:
    found = re.search(PATTERN, said)
    assert found is not None, said
    return found[0]


def test_a_key_is_made_listed_and_revoked(steelyard: Run) -> None:
    made = steelyard("keys", "make", "APP-07", "--scope", "read", "--scope", "submit", "--site", "QG", "--days", "30")
    key = key_in(made.output)
    name = key.split("_")[2]

    listed = steelyard("keys", "list")
    revoked = steelyard("keys", "revoke", name, "--because", "the tablet was lost")
    again = steelyard("keys", "revoke", name, "--because", "twice")

    assert (made.exit_code, made.output.count(key)) == (0, 1)
    assert "it is shown this once" in made.output
    assert re.search(rf"^{name}  installation  APP-07 +active   until \d{{4}}-\d\d-\d\d  read submit  at QG; used never$",
                     listed.output, re.MULTILINE)  # fmt: skip
    assert key not in listed.output
    assert revoked.output == f"{name} of APP-07 is revoked.\n"
    assert re.fullmatch(rf"{name} of APP-07 was revoked on \d{{4}}-\d\d-\d\d\.\n", again.output)
    assert steelyard("keys", "list").output == "0 keys.\n"
    assert "revoked  until" in steelyard("keys", "list", "--all").output


def test_only_the_key_itself_is_on_the_standard_output(steelyard: Run) -> None:
    made = steelyard("keys", "make", "APP-07", "--scope", "read")

    assert re.fullmatch(PATTERN, made.stdout.strip())


@pytest.mark.parametrize(("arguments", "words"), [
    (("make", "APP 07 ", "--scope", "read"), "#/holder: Found 'APP 07 '"),
    (("make", "APP", "--scope", "read", "--site", ""), "#/sites/0"),
    (("enrol", "T-99", "--scope", "release"), "Technician 'T-99' is not on the register"),
    (("revoke", "nothing0", "--because", "x"), "No key 'nothing0' was made."),
    (("revoke", "nothing0", "--because", ""), "#/because"),
])  # fmt: skip
def test_what_cannot_be_done_is_told_in_a_sentence(steelyard: Run, arguments: tuple[str, ...], words: str) -> None:
    said = steelyard("keys", *arguments)

    assert (said.exit_code, words in said.output) == (1, True), said.output


@pytest.mark.parametrize(
    "wrong", [("--days", "401"), ("--days", "0"), ("--scope", "everything"), ("--scope", "public")]
)
def test_a_key_for_too_long_or_for_what_is_no_scope_is_refused(steelyard: Run, wrong: tuple[str, str]) -> None:
    assert steelyard("keys", "make", "APP", "--scope", "read", *wrong).exit_code == 2


def test_a_third_key_says_which_two_there_are(steelyard: Run) -> None:
    names = [key_in(steelyard("keys", "make", "APP", "--scope", "read").output).split("_")[2] for _ in range(2)]

    said = steelyard("keys", "make", "APP", "--scope", "read")

    assert (said.exit_code, "revoke one of them first" in said.output) == (1, True)
    assert all(name in steelyard("keys", "list").output for name in names)


@contextmanager
def serving(settings: Settings, *options: str) -> Iterator[tuple[str, int, str]]:
    """Give the address, the port and the words of a service on a record."""
    started = process(settings, "serve", "--port", "0", *options)
    assert started.stdout is not None
    try:
        lines = [started.stdout.readline() for _ in range(3)]
        address = lines[0].split()[1].removesuffix("/v1/about")
        yield address, int(address.rpartition(":")[2]), lines[2]
    finally:
        started.send_signal(signal.SIGTERM)
        started.communicate(timeout=MOST_SECONDS)


def status_of(port: int, fields: dict[str, str], path: str = "/v1/about", host: str = "127.0.0.1") -> int:
    connection = http.client.HTTPConnection(host, port, timeout=MOST_SECONDS)
    connection.request("GET", path, headers=fields)
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer.status


def test_a_service_asks_for_keys_and_submit_sends_the_one_of_its_environment(filled: Settings, tmp_path: Path) -> None:
    keyed = replace(filled, open_door=False)
    run = runner_on(keyed)
    sender = key_in(run("keys", "make", "APP-07", "--scope", "submit", "--site", "QG").output)
    reader = key_in(run("keys", "make", "APP-08", "--scope", "read").output)

    with serving(keyed) as (address, port, words):
        without = run("submit", str(PASS), "--to", address)
        sent = runner_on(replace(keyed, key=sender))("submit", str(PASS), "--to", address)
        only_read = runner_on(replace(keyed, key=reader))("submit", str(PASS), "--to", address)
        found = [status_of(port, {}), status_of(port, {"Authorization": f"Bearer {reader}"})]
        run("keys", "revoke", reader.split("_")[2], "--because", "test")
        found.append(status_of(port, {"Authorization": f"Bearer {reader}"}))

    assert words == "On this machine only. Every request needs a key: see steelyard keys. Stop with Ctrl-C.\n"
    assert (without.exit_code, "401 key-missing" in without.output) == (1, True), without.output
    assert (sent.exit_code, "kept as" in sent.output) == (0, True), sent.output
    assert (only_read.exit_code, "403 scope-missing" in only_read.output) == (1, True)
    assert found == [401, 200, 401]


def test_a_key_is_not_sent_in_clear_to_another_machine(filled: Settings) -> None:
    said = runner_on(replace(filled, key="sty_i_x"))("submit", str(PASS), "--to", "http://scales.example:8350")

    assert (said.exit_code, "use https://scales.example:8350" in said.output) == (1, True)


def test_an_open_door_is_said_aloud_and_stays_on_loopback(filled: Settings) -> None:
    with serving(filled) as (_, port, words):
        assert words == (
            "On this machine only. The door is open: no key is asked for, whoever reaches it may do everything. Stop with "
            "Ctrl-C.\n"
        )
        assert status_of(port, {}) == 200
        assert status_of(port, {"X-Forwarded-For": "10.0.0.1"}) == 401


@pytest.mark.parametrize("address", ["0.0.0.0", "::", "10.0.0.1"])
def test_an_open_door_to_more_than_this_machine_is_refused(filled: Settings, address: str) -> None:
    run = runner_on(filled)

    said = run("serve", "--bind", address)

    assert said.exit_code == 1
    assert "Ask for keys (STEELYARD_DOOR=keys), or listen on 127.0.0.1." in said.output


def test_with_keys_it_listens_where_it_is_told_and_says_what_has_to_stand_before_it(filled: Settings) -> None:
    """Linux answers for the whole of 127.0.0.0/8."""
    with serving(replace(filled, open_door=False), "--bind", "0.0.0.0") as (address, port, words):
        assert address == f"http://0.0.0.0:{port}"
        assert words.startswith("Put a reverse proxy with TLS before it. Every request needs a key")
        assert status_of(port, {}, host="127.0.0.2") == 401


@pytest.mark.parametrize(("name", "value"), [("STEELYARD_DOOR", "ajar"), ("STEELYARD_BIND", "everywhere"),
                                             ("STEELYARD_BIND", "10.0.0")])  # fmt: skip
def test_a_setting_that_cannot_be_used_is_told(name: str, value: str) -> None:
    said = CliRunner(env={name: value}).invoke(main, ["serve"])

    assert (said.exit_code, f"{name} is '{value}'; accepted: " in said.output) == (1, True)


def test_an_address_or_field_beyond_the_parsers_bound_is_refused(filled: Settings) -> None:
    with serving(filled) as (_, port, _):
        assert status_of(port, {}, "/v1/about?" + "x" * 3000) == 414
        assert status_of(port, {"X-A": "x" * 8000, "X-B": "x" * 8000, "X-C": "x" * 8000}) == 431
        assert status_of(port, {}, "/v1/about?" + "x" * 9000) in (400, 414)
        assert status_of(port, {f"X-{i}": "x" for i in range(70)}) in (400, 431)
        assert status_of(port, {}) == 200


def test_the_example_of_the_readme_is_taken_by_an_open_door_alone(filled: Settings) -> None:
    with serving(filled) as (_, port, _):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=MOST_SECONDS)
        connection.request("PUT", "/v1/calibrations/0193f0aa-0000-7000-8000-000000000001", example_bytes(),
                           {"Content-Type": "application/json"})  # fmt: skip
        answer = connection.getresponse()
        assert (answer.status, json.loads(answer.read())["replayed"]) == (201, False)
        connection.close()
