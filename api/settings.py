"""What an installation decides by environment variables: the database, the folder of files, the site. Read only here."""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


class WrongSetting(ValueError):
    """An environment variable that cannot be used; says what was found and what would be accepted."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Where the record and the published site live, and the address that serves them."""

    database_url: str
    folder: Path
    port: int = 8350

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
        }


def settings_from(environment: Mapping[str, str]) -> Settings:
    """Return the settings that environment variables give, with defaults for one machine.

    `STEELYARD_FOLDER` (default `.steelyard`) holds the SQLite database and the site; `STEELYARD_DATABASE_URL` names
    another database, for example `postgresql+psycopg://user@host/name`; `STEELYARD_PORT` (default 8350) is the port.
    """
    folder = Path(environment.get("STEELYARD_FOLDER", ".steelyard")).absolute()
    url = environment.get("STEELYARD_DATABASE_URL") or f"sqlite:///{folder / 'record.db'}"
    return Settings(url, folder, _port(environment.get("STEELYARD_PORT", "8350")))


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > 65535:
        raise WrongSetting(f"STEELYARD_PORT is {text[:40]!r}; accepted: a number from 0 to 65535.")
    return int(text)


def settings_from_environment() -> Settings:
    """Return the settings of this process."""
    return settings_from(os.environ)
