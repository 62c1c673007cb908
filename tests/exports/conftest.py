"""Records for tests of exports: one with a row in nearly every table, and the archive of it."""

import itertools
from collections.abc import Iterator
from datetime import timedelta

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Engine

from api.actions.make_key import make_key
from api.actions.revoke_key import revoke_key
from api.database import make_engine, unit_of_work
from api.demo.entry import Entry
from api.demo.history import visits
from api.ledger.key_text import OF_INSTALLATION, new_key_text
from api.ledger.label_ids import label_id
from api.records.access_key import KeyAsked
from api.routes.event_examples import CHECK, REPORT
from api.routes.labels import ENDED, STUCK
from api.settings import Settings
from tests.doors import JSON, an_id, example, send
from tests.exports.exporting import Archive, exported
from tests.filled_record import NOON, TODAY, copy_of, door_to, put_register
from tests.imports.importing import A_PROFILE, imported, profile_from
from tests.lives import a_visit, act, amended, failing, release
from tests.record.visits_kept import keep
from tests.weights_told import mishap, tell

SECRET = new_key_text(OF_INSTALLATION)


@pytest.fixture(scope="session")
def template(registered: str) -> str:
    """Give the address of the record that `settings` copies."""
    return registered


@pytest.fixture(scope="module")
def full(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Settings]:
    """Give the settings of a record of visits, one unknown device, one newer schema, one import, keys."""
    with copy_of(registered, tmp_path_factory.mktemp("full")) as settings:
        engine = make_engine(settings.database_url)
        keep(engine, itertools.islice(visits(TODAY), 12))
        put_register(settings.database_url, [Entry("import-profiles", "old-system", TODAY, A_PROFILE)])
        imported(engine, b"Tag;Day;Found;Left;Note\nA-04;2019-03-14;100.0;;=1+1\n", profile_from(A_PROFILE))
        with door_to(settings) as client:
            send(client, example() | {"device": "Z-99", "remarks": '\'=x, "y"; näher\nzweite Zeile'})
            send(client, example("calibration-dual-unit"))
            send(client, example() | {"schema": "calibration/9"}, an_id())
            client.put("/v1/import-profiles/late", json=_late(), headers=JSON)
            _live(client)
            _labelled(client)
            _happen(client)
        asked = KeyAsked("installation", "APP-1", ("read",))
        key = unit_of_work(engine, lambda c: make_key(c, asked, SECRET, by_whom="S-01", moment=NOON)).key
        later = NOON + timedelta(minutes=1)
        unit_of_work(engine, lambda c: revoke_key(c, key.name, "lost", by_whom="S-01", moment=later))
        engine.dispose()
        yield settings


def _live(client: FlaskClient) -> None:
    """What persons do with records: review, release, amend, link, void."""
    one, other = a_visit(client), a_visit(client)
    unknown = a_visit(client, example() | {"ward": "QG-NEW"})
    link = {"kind": "ward", "as_sent": "QG-NEW", "key": "QG-CDU", "because": "It was named anew."}
    acts = [
        act(client, one, "review", {"words": "Held back."}), release(client, one), amended(client, one, failing()),
        act(client, unknown, "links", link), act(client, other, "void", {"because": "Sent twice."}),
    ]  # fmt: skip
    assert [answer.status_code for answer in acts] == [200, 200, 201, 200, 200]


def _happen(client: FlaskClient) -> None:
    """What happens to a scale: a trouble told twice and closed, a check by the ward; a weight is dropped."""
    event = an_id()
    acts = [
        client.put(f"/v1/reports/{event}", json=REPORT), client.put(f"/v1/reports/{event}", json=REPORT),
        client.post(f"/v1/events/{event}/close", json={"words": "In order."}, headers={"Steelyard-By": "S-01"}),
        client.put(f"/v1/checks/{an_id()}", json=CHECK), tell(client, mishap("24T13:00")),
    ]  # fmt: skip
    assert [answer.status_code for answer in acts] == [201, 200, 200, 201, 201]


def _labelled(client: FlaskClient) -> None:
    """A label is stuck on a scale, and taken off."""
    calibration = a_visit(client, example())
    address = f"/v1/labels/{label_id('QG', calibration)}"
    acts = [
        client.put(address, json=STUCK | {"calibration": calibration}),
        client.put(f"{address}/events/{an_id()}", json=ENDED),
    ]
    assert [answer.status_code for answer in acts] == [201, 201]


def _late() -> dict[str, object]:
    return {"valid_from": TODAY.isoformat(), "record": A_PROFILE | {"code": "late"}}


@pytest.fixture(scope="module")
def full_engine(full: Settings) -> Iterator[Engine]:
    """Give an engine on it."""
    engine = make_engine(full.database_url)
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def archive(full_engine: Engine) -> Archive:
    """Give the archive of all of it."""
    return Archive(exported(full_engine))
