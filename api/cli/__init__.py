"""The `steelyard` command. Each command is a file that imports what it needs only when it runs, so that help is quick."""

from importlib import import_module
from importlib.metadata import entry_points

import click

from api.settings import WrongSetting

HERE = (
    "demo", "serve", "work", "migrate", "submit", "check", "review", "release", "amend", "link", "void", "life",
    "compute", "plan", "weights", "pieces", "due", "bundle", "report", "events", "close", "limit",
    "register", "show", "keys", "quarantine",
    "export",
)  # fmt: skip
COMMANDS = "steelyard.commands"


class Commands(click.Group):
    """The commands of this folder, and those that other packages add through the entry-point group."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name every command, in the order of a working day."""
        return [*HERE, *sorted(point.name for point in entry_points(group=COMMANDS))]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command by its name."""
        if cmd_name in HERE:
            found: click.Command = getattr(import_module(f"api.cli.{cmd_name}"), cmd_name)
            return found
        for point in entry_points(group=COMMANDS):
            if point.name == cmd_name:
                added: click.Command = point.load()
                return added
        return None

    def invoke(self, ctx: click.Context) -> object:
        """Run a command; a setting that cannot be used is told in a sentence."""
        try:
            return super().invoke(ctx)
        except WrongSetting as wrong:
            raise click.ClickException(str(wrong)) from None


@click.command(cls=Commands)
@click.version_option(package_name="steelyard")
def main() -> None:
    """Keep a hospital network's scales honest: take calibration results, judge them, keep them, publish them.

    Where things are kept: STEELYARD_FOLDER (default .steelyard) holds the record and the published site;
    STEELYARD_DATABASE_URL names a PostgreSQL database instead; STEELYARD_PORT (default 8350) is the port of serve,
    and the one that submit sends to. STEELYARD_DOOR (keys, or open) says who is let in, STEELYARD_BIND where serve listens;
    STEELYARD_KEY is the key that submit sends, STEELYARD_PERSON_KEY that of whoever releases, amends or voids.
    """
