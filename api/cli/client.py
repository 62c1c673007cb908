"""A field app in small: puts JSON to the service over HTTP, on one kept connection, and sends again where it broke."""

import http.client
import json
import uuid
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote, urlsplit

import click

# Ids that follow from content: the same file is the same calibration, however often it is sent.
_NAMESPACE = uuid.UUID("5b3c7c0e-6d0f-5a55-9d5e-6f1f2a7f0a11")
TRIES = 3
KINDS = {"http": http.client.HTTPConnection, "https": http.client.HTTPSConnection}
HERE = ("127.0.0.1", "::1", "localhost")


@dataclass(frozen=True, slots=True)
class Answer:
    """What the service answered: the status and the body."""

    status: int
    body: bytes

    def json(self) -> dict[str, Any]:
        """Return the body as JSON."""
        found: dict[str, Any] = json.loads(self.body)
        return found


def id_of(body: bytes) -> str:
    """Return the id that follows from a submission's content."""
    return str(uuid.uuid5(_NAMESPACE, body.decode("utf-8", "replace")))


def address_here(port: int) -> str:
    """Return the address of the service on this machine."""
    if port == 0:
        raise click.ClickException("STEELYARD_PORT is 0, which is any free port: say with --to which one serve took.")
    return f"http://127.0.0.1:{port}"


class Client:
    """One connection to a service."""

    def __init__(self, address: str, key: str | None = None, person_key: str | None = None) -> None:
        parts = urlsplit(address)
        if parts.scheme not in KINDS or not parts.hostname:
            raise click.ClickException(
                f"{address!r} is not the address of a service; for example http://127.0.0.1:8350"
            )
        if (key or person_key) and parts.scheme == "http" and parts.hostname not in HERE:
            raise click.ClickException(f"A key is not sent in clear to {parts.hostname}: use https://{parts.netloc}")
        self.address = address
        self._keys = {} if key is None else {"Authorization": f"Bearer {key}"}
        self._keys |= {} if person_key is None else {"Steelyard-Person": person_key}
        self._connection = KINDS[parts.scheme](parts.hostname, parts.port, timeout=30)

    def get(self, path: str) -> Answer:
        """Ask for a path."""
        return self._asked("GET", path, None, {})

    def put(self, path: str, body: bytes, *, by: str = "unnamed", change: bool = False) -> Answer:
        """Put a JSON body to a path, telling who acts and the moment of sending; if a change, of whatever is there."""
        return self._asked("PUT", path, body, self._told(by) | ({"If-Match": "*"} if change else {}))

    def post(self, path: str, body: bytes, *, by: str = "unnamed") -> Answer:
        """Post a JSON body to a path, telling who acts and the moment of sending."""
        return self._asked("POST", path, body, self._told(by))

    def close(self) -> None:
        """Close the connection."""
        self._connection.close()

    def _told(self, by: str) -> dict[str, str]:
        sent_at = datetime.now(UTC).isoformat(timespec="seconds")
        return {"Content-Type": "application/json", "Steelyard-By": by, "Steelyard-Sent-At": sent_at}

    def _asked(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> Answer:
        for attempt in range(1, TRIES + 1):
            try:
                self._connection.request(method, quote(path, safe="/?=&:"), body, headers | self._keys)
                answer = self._connection.getresponse()
                return Answer(answer.status, answer.read())
            except (http.client.HTTPException, OSError) as error:
                self._connection.close()
                if attempt == TRIES:
                    raise click.ClickException(
                        f"No answer from {self.address}: {error}. Is steelyard serve running?"
                    ) from None
        raise AssertionError("the last try returns or raises")
