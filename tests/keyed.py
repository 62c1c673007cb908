"""Keys for tests: made on a record as `steelyard keys` makes them, and clients that send them."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime

from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Engine

from api.actions.make_key import make_key
from api.app import create_app
from api.database import unit_of_work
from api.ledger.key_text import PREFIX_OF, new_key_text
from api.records.access_key import HeldBy, KeyAsked
from api.records.caller import SCOPES, GrantedScope
from api.settings import Settings

ALL: tuple[GrantedScope, ...] = SCOPES


def a_key(
    engine: Engine,
    *scopes: GrantedScope,
    sites: tuple[str, ...] | None = None,
    holder: str = "APP-1",
    held_by: HeldBy = "installation",
    made_at: datetime | None = None,
    days: int = 365,
) -> str:
    """Make a key on a record and return its text."""
    asked = KeyAsked(held_by, holder, scopes, sites, days)
    new, moment = new_key_text(PREFIX_OF[held_by]), made_at or datetime.now(UTC)
    return unit_of_work(engine, lambda connection: make_key(connection, asked, new, by_whom="S-01", moment=moment)).text


def bearing(key: str, person: str | None = None) -> dict[str, str]:
    """Return the fields in which keys travel."""
    return {"Authorization": f"Bearer {key}"} | ({} if person is None else {"Steelyard-Person": person})


@contextmanager
def keyed_app(settings: Settings) -> Iterator[Flask]:
    """Give the application on a record as a service runs it that asks for keys."""
    app = create_app(replace(settings, open_door=False))
    yield app
    app.extensions["steelyard.engine"].dispose()


def client_with(app: Flask, key: str, person: str | None = None) -> FlaskClient:
    """Return a client that sends a key with every request."""
    client = app.test_client()
    for field, value in bearing(key, person).items():
        client.environ_base[f"HTTP_{field.upper().replace('-', '_')}"] = value
    return client
