"""Keys on the record: two a holder, made and revoked in the log, and their secrets nowhere. Own rules."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, select

from api.actions.make_key import make_key
from api.actions.note_keys_used import note_keys_used
from api.actions.revoke_key import revoke_key
from api.database import in_sight_of, reading, unit_of_work
from api.ledger.key_text import PREFIX_OF, KeyText, new_key_text
from api.models.everything import TABLES
from api.queries.access_keys import access_key, every_key, key_on_record
from api.queries.log import entries_after
from api.records.access_key import HeldBy, KeyAsked, KeyMade
from api.records.problems import NotOnRecord, ReferenceMissing, SiteNotInKey, TooManyKeys

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


def asked(
    holder: str = "APP-1", held_by: HeldBy = "installation", sites: tuple[str, ...] | None = None, days: int = 365
) -> KeyAsked:
    return KeyAsked(held_by, holder, ("read",), sites, days)


def made(engine: Engine, wanted: KeyAsked, moment: datetime = NOW, new: KeyText | None = None) -> KeyMade:
    text = new or new_key_text(PREFIX_OF[wanted.held_by])
    return unit_of_work(engine, lambda connection: make_key(connection, wanted, text, by_whom="S-01", moment=moment))


def revoked(engine: Engine, name: str, moment: datetime = NOW) -> bool:
    return unit_of_work(engine, lambda c: revoke_key(c, name, "lost", by_whom="S-01", moment=moment))[1]


def test_a_third_active_key_of_a_holder_is_refused_with_the_names_of_the_two(engine: Engine) -> None:
    first, second = made(engine, asked()), made(engine, asked())

    with pytest.raises(TooManyKeys) as refused:
        made(engine, asked())

    assert set(refused.value.facts["active"].split(", ")) == {first.key.name, second.key.name}
    assert made(engine, asked("APP-2")).key.holder == "APP-2"


def test_a_key_that_was_revoked_or_has_expired_makes_room_for_another(engine: Engine) -> None:
    first = made(engine, asked())
    made(engine, asked(days=10))
    revoked(engine, first.key.name)

    third = made(engine, asked())
    after_ten_days = made(engine, asked(), NOW + timedelta(days=10))

    assert {third.key.state(NOW), after_ten_days.key.state(NOW + timedelta(days=10))} == {"active"}


def test_a_key_is_active_until_its_last_moment_and_not_in_it(engine: Engine) -> None:
    key = made(engine, asked(days=400)).key

    assert key.expires_at == NOW + timedelta(days=400)
    assert key.state(key.expires_at - timedelta(microseconds=1)) == "active"
    assert key.state(key.expires_at) == "expired"


def test_a_revocation_is_kept_as_the_first_one_said(engine: Engine) -> None:
    name = made(engine, asked()).key.name

    assert revoked(engine, name) is True
    assert revoked(engine, name, NOW + timedelta(days=1)) is False
    with reading(engine) as connection:
        key = access_key(connection, name)
    assert (key.revoked_at, key.revoked_by, key.revoked_because) == (NOW, "S-01", "lost")


def test_making_and_revoking_are_entries_of_the_log_that_name_the_key_and_its_holder(engine: Engine) -> None:
    with reading(engine) as connection:
        before = len(list(entries_after(connection, 0, 1000)))
    name = made(engine, asked()).key.name
    revoked(engine, name)

    with reading(engine) as connection:
        entries = list(entries_after(connection, 0, 1000))[before:]

    assert [(e.kind, e.by_whom) for e in entries] == [("key made", "S-01"), ("key revoked", "S-01")]
    for entry in entries:
        assert {("access key", name), ("installation", "APP-1")} <= {(t.kind, t.key) for t in entry.touched}


def test_neither_secret_nor_text_of_a_key_is_in_any_row(engine: Engine) -> None:
    new = new_key_text(PREFIX_OF["installation"])
    made(engine, asked(), new=new)
    revoked(engine, new.name)

    with reading(engine) as connection:
        rows = [str(row) for table in TABLES.values() for row in connection.execute(select(table))]

    assert [row for row in rows if new.text.split("_")[3] in row] == []
    assert [row for row in rows if new.name in row]


def test_what_another_engine_revoked_is_not_remembered_as_active(engine: Engine) -> None:
    name = made(engine, asked()).key.name
    remembered = key_on_record(engine, name)
    again = key_on_record(engine, name)

    revoked(engine.execution_options(), name)

    assert again is remembered is not None
    found = key_on_record(engine, name)
    assert found is not None
    assert (remembered.key.state(NOW), found.key.state(NOW)) == ("active", "revoked")


def test_a_name_that_is_no_key_is_remembered_until_one_is_made(engine: Engine) -> None:
    new = new_key_text(PREFIX_OF["installation"])

    assert key_on_record(engine, new.name) is None
    made(engine, asked(), new=new)
    assert key_on_record(engine, new.name) is not None


def test_a_person_is_enrolled_only_as_an_active_technician_of_the_register(engine: Engine) -> None:
    with pytest.raises(ReferenceMissing, match="Technician 'T-99' is not on the register on 2026-11-25"):
        made(engine, asked("T-99", "person"))

    assert made(engine, asked("T-01", "person")).key.held_by == "person"


def test_who_sees_some_sites_makes_and_sees_and_revokes_keys_for_those_only(engine: Engine) -> None:
    at_qg = in_sight_of(engine, frozenset({"QG"}))
    everywhere, elsewhere = made(engine, asked("APP-1")), made(engine, asked("APP-2", sites=("HM",)))
    own = made(at_qg, asked("APP-3", sites=("QG",)))

    with pytest.raises(SiteNotInKey):
        made(at_qg, asked("APP-4"))
    with pytest.raises(SiteNotInKey):
        made(at_qg, asked("APP-4", sites=("HM", "QG")))
    for other in (everywhere, elsewhere):
        with pytest.raises(NotOnRecord, match=f"No key '{other.key.name}' was made"):
            revoked(at_qg, other.key.name)
    with reading(at_qg) as connection:
        assert every_key(connection) == (own.key,)


def test_the_last_use_is_noted_to_the_minute_and_written_over(engine: Engine) -> None:
    name = made(engine, asked()).key.name
    moments = [NOW + timedelta(minutes=7, seconds=48), NOW + timedelta(hours=2, seconds=1)]

    noted = []
    for moment in moments:
        unit_of_work(engine, lambda connection, moment=moment: note_keys_used(connection, [name], moment=moment))
        with reading(engine) as connection:
            noted.append(access_key(connection, name).used_at)

    assert noted == [NOW + timedelta(minutes=7), NOW + timedelta(hours=2)]
