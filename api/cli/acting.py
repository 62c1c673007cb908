"""What the commands share by which a person acts on a service: which service, which record, who, and how it is answered."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from api.cli.client import Client

Command = TypeVar("Command", bound=Callable[..., Any])
_OF_A_SERVICE = (
    click.option("--to", help="The service. Default: http://127.0.0.1 with the port of STEELYARD_PORT, else 8350."),
    click.option("--by", default="unnamed", show_default=True, help="Who acts, where the service asks for no keys."),
)
_OPTIONS = (
    click.argument("calibration"),
    click.option("--site", metavar="CODE", help="Of which site, where several have a calibration of this id."),
    *_OF_A_SERVICE,
)


def on_a_record(command: Command) -> Command:
    """Give a command the argument and options of an act on a record."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


def on_a_service(command: Command) -> Command:
    """Give a command the options of whatever is told to a service."""
    for option in reversed(_OF_A_SERVICE):
        command = option(command)
    return command


@dataclass(frozen=True)
class Record:
    """A record on a service, as a person acts on it."""

    client: "Client"
    calibration: str
    site: str | None
    by: str

    def read(self, what: str = "") -> dict[str, Any]:
        """Return what the service says of the record; a refusal ends the command."""
        return answered(self.client.get(self._path(what)))

    def act(self, what: str, body: bytes) -> dict[str, Any]:
        """Act on the record and return the answer; a refusal ends the command."""
        return answered(self.client.post(self._path(what), body, by=self.by))

    def _path(self, what: str) -> str:
        at = f"?site={self.site}" if self.site else ""
        return f"/v1/calibrations/{self.calibration}{what}{at}"


def answered(answer: Any) -> dict[str, Any]:
    """Return what a service answered; a refusal ends the command."""
    from api.cli.told import told_faults

    told: dict[str, Any] = answer.json()
    if answer.status >= 400:
        raise click.ClickException(told_faults(told))
    return told


@contextmanager
def record_on(to: str | None, calibration: str, site: str | None, by: str) -> Iterator[Record]:
    """Give a record on a service, with the keys that the environment holds."""
    with service_on(to) as client:
        yield Record(client, calibration, site, by)


@contextmanager
def service_on(to: str | None) -> Iterator["Client"]:
    """Give a service, asked with the keys that the environment holds."""
    from contextlib import closing

    from api.cli.client import Client, address_here
    from api.settings import settings_from_environment

    settings = settings_from_environment()
    address = to or address_here(settings.port)
    with closing(Client(address, settings.key, settings.person_key)) as client:
        yield client
