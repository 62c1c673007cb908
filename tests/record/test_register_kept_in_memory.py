"""What is kept of the register in memory never outlives what was committed."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Connection, Engine

from api.database import reading, unit_of_work
from api.keeping.register_change import RegisterChange
from api.keeping.register_entry import put_on_register
from api.metrology.terms import UseTier
from api.queries.register import find_in_force, in_force
from api.records.place import Ward

DAY = date(2026, 1, 1)


def a_change(name: str, tier: UseTier = "record") -> RegisterChange:
    ward = Ward("W-1", "QG", name, tier, "nurse in charge", "extension 1")
    return RegisterChange("ward", "W-1", DAY, ward, "T-01", datetime(2026, 1, 2, tzinfo=UTC))


def undone(connection: Connection) -> None:
    put_on_register(connection, a_change("never committed"))
    raise RuntimeError("undone")


def test_a_change_that_was_undone_is_not_read_by_the_next_transaction(engine: Engine) -> None:
    with pytest.raises(RuntimeError):
        unit_of_work(engine, undone)

    with reading(engine) as connection:
        assert find_in_force(connection, "ward", "W-1", on=DAY) is None


def test_a_change_after_an_undone_one_is_read_as_it_was_committed(engine: Engine) -> None:
    with pytest.raises(RuntimeError):
        unit_of_work(engine, undone)
    unit_of_work(engine, lambda connection: put_on_register(connection, a_change("committed")))

    with reading(engine) as connection:
        assert in_force(connection, "ward", "W-1", on=DAY).record.name == "committed"


def test_a_second_change_in_one_transaction_builds_on_the_first(engine: Engine) -> None:
    def both(connection: Connection) -> int:
        put_on_register(connection, a_change("first"))
        return put_on_register(connection, a_change("second"))[0].number

    number = unit_of_work(engine, both)

    assert number == 2
