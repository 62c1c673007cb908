"""The log: one entry a write, numbered without gaps, chained so that a change of any entry shows.

Hashes are worked out here with the standard library alone: SHA-256 (FIPS 180-4) over salt and bytes, and over the
entry's JSON with sorted names and no spaces.
"""

import hashlib
import json
from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Connection, Engine, select, text

from api.database import make_engine, reading
from api.ledger.chain import entry_hash, first_break
from api.models.log import LOG_ENTRY, LOG_HEAD, SEALED
from api.models.record import CERTIFICATE, CONTENT, JUDGEMENT
from api.settings import Settings
from tests.doors import an_id, change, example, example_bytes, send
from tests.filled_record import copy_of, door_to

FIELDS = ("log", "number", "kind", "by_whom", "moment", "digest", "facts", "previous")
A_SITE = {
    "code": "ZZ", "name": "a new site", "latitude_deg": "40.0", "height_m": "10", "time_zone": "UTC",
}  # fmt: skip


def entries(connection: Connection) -> list[tuple[dict[str, Any], str]]:
    rows = connection.execute(select(LOG_ENTRY).order_by(LOG_ENTRY.c.number))
    return [({name: getattr(row, name) for name in FIELDS}, row.hash) for row in rows]


def newest(client: FlaskClient) -> int:
    number: int = client.get("/v1/about").json["log_number"]
    return number


@pytest.fixture(scope="module")
def tampered(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """Give an engine on a record with some calibrations, on which each test changes rows and takes it back."""
    with copy_of(registered, tmp_path_factory.mktemp("tampered")) as settings:
        with door_to(settings) as client:
            for _ in range(3):
                send(client, example())
        engine = make_engine(settings.database_url)
        yield engine
        engine.dispose()


def unguarded(connection: Connection) -> None:
    """Drop the triggers that keep the log, as whoever owns the database could."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("ALTER TABLE log_touch DROP CONSTRAINT fk_log_touch_log"))
        connection.execute(text("DROP TRIGGER log_entry_is_kept ON log_entry"))
        return
    for name in ("log_entry_keeps_update", "log_entry_keeps_delete", "log_touch_keeps_delete"):
        connection.execute(text(f"DROP TRIGGER {name}"))
    connection.execute(text("DELETE FROM log_touch"))


def test_every_write_is_one_entry_and_what_writes_nothing_is_none(client: FlaskClient) -> None:
    calibration, counted = an_id(), [newest(client)]
    asked = [
        lambda: send(client, example(), calibration),
        lambda: send(client, example(), calibration),
        lambda: change(client, "sites/ZZ", "2026-01-01", A_SITE),
        lambda: change(client, "sites/ZZ", "2026-01-01", A_SITE),
        lambda: send(client, example() | {"remarks": "other"}, calibration),
        lambda: send(client, example() | {"colour": "red"}),
        lambda: client.get(f"/v1/calibrations/{calibration}"),
    ]

    statuses = []
    for ask in asked:
        statuses.append(ask().status_code)
        counted.append(newest(client))

    assert statuses == [201, 200, 201, 200, 409, 422, 200]
    assert [after - before for before, after in zip(counted, counted[1:], strict=False)] == [1, 1, 1, 0, 0, 0, 0]


def test_numbers_follow_each_other_from_one_and_the_head_is_the_last(world: Connection) -> None:
    kept = entries(world)

    head = world.execute(select(LOG_HEAD)).one()

    assert [fields["number"] for fields, _ in kept] == list(range(1, len(kept) + 1))
    assert (head.number, head.hash, head.moment) == (len(kept), kept[-1][1], kept[-1][0]["moment"])


def test_the_chain_of_a_whole_history_holds(world: Connection) -> None:
    assert first_break(entries(world)) is None


def test_every_hash_is_what_the_standard_library_works_out(world: Connection) -> None:
    previous = "sha256:" + "0" * 64

    for fields, stored in entries(world):
        spelled = json.dumps(fields, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        assert fields["previous"] == previous
        assert stored == f"sha256:{hashlib.sha256(spelled).hexdigest()}"
        previous = stored


def test_the_sealed_bytes_are_those_that_every_entry_names(world: Connection) -> None:
    sealed = {row.digest: row for row in world.execute(select(SEALED))}

    for fields, _ in entries(world):
        found = sealed.pop(fields["digest"])
        assert fields["digest"] == f"sha256:{hashlib.sha256(found.salt + found.content).hexdigest()}"
        assert len(found.salt) == 16

    assert sealed == {}


def test_salt_makes_the_same_bytes_have_another_digest_each_time(client: FlaskClient, settings: Settings) -> None:
    for _ in range(2):
        send(client, example_bytes())

    with client.application.extensions["steelyard.engine"].connect() as connection:
        same = connection.execute(select(SEALED.c.digest).where(SEALED.c.content == example_bytes())).all()

    assert len(set(same)) == 2


def test_an_entry_names_the_digests_of_the_judgement_and_of_the_certificate(world: Connection) -> None:
    working = {(r.site, r.calibration): r.working_digest for r in world.execute(select(JUDGEMENT))}
    issued = {(r.site, r.calibration): r.digest for r in world.execute(select(CERTIFICATE))}
    named = {fields["digest"]: json.loads(fields["facts"])["digests"] for fields, _ in entries(world)}

    for row in world.execute(select(CONTENT)).all():
        key = (row.site, row.calibration)
        certificate = {"certificate": issued[key]} if key in issued else {}
        assert named[row.sealed] == {"judgement": working[key], **certificate}


@pytest.mark.parametrize(
    "tampering",
    [
        "UPDATE log_entry SET by_whom = 'T-99' WHERE number = 7",
        "UPDATE log_entry SET moment = '2020-01-01T00:00:00+00:00' WHERE number = 7",
        "UPDATE log_entry SET digest = 'sha256:00' WHERE number = 7",
        "UPDATE log_entry SET facts = '{}' WHERE number = 7",
        "UPDATE log_entry SET previous = hash WHERE number = 7",
        "UPDATE log_entry SET hash = previous WHERE number = 7",
        "DELETE FROM log_entry WHERE number = 7",
    ],
)
def test_a_changed_entry_breaks_the_chain_at_its_number(tampered: Engine, tampering: str) -> None:
    with reading(tampered) as connection:
        before = first_break(entries(connection))
        unguarded(connection)
        connection.execute(text(tampering))
        after = first_break(entries(connection))

    assert (before, after) == (None, 7)


def test_a_changed_entry_hashed_anew_breaks_the_chain_at_the_next(tampered: Engine) -> None:
    with reading(tampered) as connection:
        unguarded(connection)
        fields, _ = entries(connection)[6]
        forged = entry_hash(fields | {"by_whom": "T-99"})
        connection.execute(
            text("UPDATE log_entry SET by_whom = 'T-99', hash = :forged WHERE number = 7"), {"forged": forged}
        )

        assert first_break(entries(connection)) == 8


def test_entries_in_another_order_break_the_chain(world: Connection) -> None:
    kept = entries(world)

    assert first_break([kept[1], kept[0], *kept[2:]]) == 1
    assert first_break(kept[1:]) == 1
    assert first_break([*kept[:5], *kept[6:]]) == 6
