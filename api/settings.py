"""What an installation decides by environment variables: the database, the folder of files, the site. Read only here."""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import ip_address
from pathlib import Path
from typing import Final

LOOPBACK: Final = "127.0.0.1"


class WrongSetting(ValueError):
    """An environment variable that cannot be used; says what was found and what would be accepted."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Where the record and the published site live, the address that serves them, and who is let in there.

    `bind` is the address that `serve` listens on. An open door asks for no key, on the machine itself only. `key` is the one
    that commands send to a service, `person_key` that of the person who acts.
    """

    database_url: str
    folder: Path
    port: int = 8350
    bind: str = LOOPBACK
    open_door: bool = False
    key: str | None = field(default=None, repr=False)
    person_key: str | None = field(default=None, repr=False)

    @property
    def is_loopback(self) -> bool:
        """Whether only this machine can reach what is served."""
        return ip_address(self.bind).is_loopback

    def checked(self) -> "Settings":
        """Return the same settings; refuses a door that is open to more than this machine (`WrongSetting`)."""
        if self.open_door and not self.is_loopback:
            raise WrongSetting(
                f"The door is open (STEELYARD_DOOR) and {self.bind} is to be listened on: whoever reaches it could do "
                "everything. Ask for keys (STEELYARD_DOOR=keys), or listen on 127.0.0.1."
            )
        return self

    @property
    def site_folder(self) -> Path:
        """The folder from which the published site is served."""
        return self.folder / "site"

    @property
    def shown_database(self) -> str:
        """The database's address without its password, as it may be shown and logged."""
        return re.sub(r"(://[^:/@]+):[^@]*@", r"\1:***@", self.database_url)

    def as_environment(self) -> dict[str, str]:
        """Return the environment of a process that is to have these settings."""
        return {
            **os.environ,
            "STEELYARD_FOLDER": str(self.folder),
            "STEELYARD_DATABASE_URL": self.database_url,
            "STEELYARD_PORT": str(self.port),
            "STEELYARD_BIND": self.bind,
            "STEELYARD_DOOR": "open" if self.open_door else "keys",
        }


def settings_from(environment: Mapping[str, str]) -> Settings:
    """Return the settings that environment variables give, with defaults for one machine.

    `STEELYARD_FOLDER` (default `.steelyard`) holds the SQLite database and the site; `STEELYARD_DATABASE_URL` names
    another database, for example `postgresql+psycopg://user@host/name`; `STEELYARD_PORT` (default 8350) is the port, and
    `STEELYARD_BIND` (default 127.0.0.1) the address that is listened on. `STEELYARD_DOOR` is `keys`, or `open`, which asks
    for none and is for a loopback address alone. `STEELYARD_KEY` is the key that commands send, `STEELYARD_PERSON_KEY` that
    of the person who acts.
    """
    folder = Path(environment.get("STEELYARD_FOLDER", ".steelyard")).absolute()
    url = environment.get("STEELYARD_DATABASE_URL") or f"sqlite:///{folder / 'record.db'}"
    door = environment.get("STEELYARD_DOOR", "keys")
    if door not in ("keys", "open"):
        raise WrongSetting(f"STEELYARD_DOOR is {door[:40]!r}; accepted: keys, open.")
    return Settings(
        url,
        folder,
        _port(environment.get("STEELYARD_PORT", "8350")),
        checked_address("STEELYARD_BIND", environment.get("STEELYARD_BIND", LOOPBACK)),
        door == "open",
        environment.get("STEELYARD_KEY") or None,
        environment.get("STEELYARD_PERSON_KEY") or None,
    ).checked()


def checked_address(name: str, text: str) -> str:
    """Return an IP address to listen on, as a setting or option of a name gives it."""
    try:
        return str(ip_address(text))
    except ValueError:
        raise WrongSetting(f"{name} is {text[:40]!r}; accepted: an IP address, for example 0.0.0.0.") from None


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > 65535:
        raise WrongSetting(f"STEELYARD_PORT is {text[:40]!r}; accepted: a number from 0 to 65535.")
    return int(text)


def settings_from_environment() -> Settings:
    """Return the settings of this process."""
    return settings_from(os.environ)
