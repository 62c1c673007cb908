"""Secrets of an installation: files in its folder, made at first need, readable by the account of the service alone.

The processes of a service share them through the folder; a service on several hosts is given the same files.
"""

import os
import secrets
from pathlib import Path
from typing import Final

SECRETS: Final = "secrets"
SECRET_BYTES: Final = 32


def kept_secret(folder: Path, name: str) -> bytes:
    """Return the secret of a name, made where there is none: whoever comes first makes it, and all others read it."""
    file = folder / SECRETS / name
    if not file.exists():
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        _make(file)
    return file.read_bytes()


def _make(file: Path) -> None:
    """Written whole beside its place, then linked there: nobody reads half of it, and only one of two takes the place."""
    beside = file.with_name(f"{file.name}-{os.getpid()}-{secrets.token_hex(4)}")
    with open(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as opened:
        opened.write(secrets.token_bytes(SECRET_BYTES))
        opened.flush()
        os.fsync(opened.fileno())
    try:
        os.link(beside, file)
    except FileExistsError:
        pass
    finally:
        beside.unlink()
