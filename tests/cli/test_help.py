"""Help: every command says in one sentence what it is for, and loads nothing to say it."""

import pytest

from api.cli import HERE
from tests.cli.conftest import Run, words_of

COMMANDS = (*HERE, "import", "publish")
# What a command needs only when it runs: loading any of it would make `steelyard --help` slow.
HEAVY = ("flask", "sqlalchemy", "alembic", "marshmallow", "mkdocs", "gunicorn", "orjson")


def test_help_lists_every_command_with_a_sentence(steelyard: Run) -> None:
    said = steelyard("--help")

    listed = said.output.partition("Commands:")[2].split("\n")
    described = {line.split()[0]: line.split(maxsplit=1)[1] for line in listed if line.strip()}
    assert said.exit_code == 0
    assert tuple(described) == COMMANDS
    assert all(words.endswith(".") and words[0].isupper() for words in described.values())


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_explains_itself_and_its_options(steelyard: Run, command: str) -> None:
    said = steelyard(command, "--help")

    usage, _, below = said.output.partition("\n\n")
    purpose = below.partition("\n\n")[0].strip()
    assert said.exit_code == 0
    assert usage.startswith(f"Usage: main {command}")
    assert purpose
    assert "." in purpose


def test_an_unknown_command_is_told_with_status_2(steelyard: Run) -> None:
    said = steelyard("weigh")

    assert said.exit_code == 2
    assert "No such command 'weigh'" in said.output


def test_the_version_is_that_of_the_package(steelyard: Run) -> None:
    said = steelyard("--version")

    assert said.exit_code == 0
    assert said.output.strip().endswith("0.1.0")


def test_help_loads_nothing_that_only_commands_need() -> None:
    listed = words_of(["--help"], PYTHONPROFILEIMPORTTIME="1")

    loaded = {line.rpartition("|")[2].strip().partition(".")[0] for line in listed.stderr.splitlines()}
    assert listed.returncode == 0
    assert "click" in loaded
    assert loaded.isdisjoint(HEAVY)
