"""Moves, states and limits told in any order leave the register as if they had been told in order of time."""

import json
from itertools import permutations
from random import Random
from typing import Any

from sqlalchemy import Connection, Engine

from api.actions.change_state import change_state
from api.actions.limit_device import limit_device
from api.actions.move_device import move_device
from api.keeping.content import Arrived
from api.queries.register import chain_of, standing_on
from api.routes.event_examples import LIMIT, MOVE, STATE
from schemas.events import LimitSchema, MoveSchema, StateSchema
from tests.doors import an_id
from tests.filled_record import NOON, TODAY

DEVICE, SAMPLE = "A-04", 60
Told = tuple[Any, Any, dict[str, Any]]


def what_is_told() -> list[Told]:
    def at(body: dict[str, Any], day: int, hour: int = 8, **told: Any) -> dict[str, Any]:
        return body | told | {"id": an_id(), "happened_at": f"2026-11-{day:02d}T{hour:02d}:00:00-07:00"}

    return [
        (move_device, MoveSchema, at(MOVE, 2, place="first")),
        (change_state, StateSchema, at(STATE, 5)),
        (move_device, MoveSchema, at(MOVE, 9, place="second")),
        (change_state, StateSchema, at(STATE, 12, state="in service")),
        (limit_device, LimitSchema, at(LIMIT, 12, 17)),
        (change_state, StateSchema, at(STATE, 20, state="in service")),
        (move_device, MoveSchema, at(MOVE, 20, 17, place="first")),
    ]


def register_after(engine: Engine, told: list[Told]) -> list[Any]:
    """The device on each day of the month after things were told in an order; nothing of it is kept."""
    with engine.connect().execution_options(writes=True) as connection:
        for act, shape, body in told:
            tell(connection, act, shape, body)
        chain = chain_of(connection, "device", DEVICE)
        stood = [standing_on(chain, TODAY.replace(day=day)) for day in range(1, 26)]
        connection.rollback()
    return [revision.record for revision in stood if revision is not None]


def tell(connection: Connection, act: Any, shape: Any, body: dict[str, Any]) -> None:
    arrived = Arrived(body["id"], json.dumps(body).encode(), body, "S-01", NOON)
    act(connection, arrived, shape().load(body), DEVICE)


def test_the_register_is_the_same_in_any_order(engine: Engine) -> None:
    told = what_is_told()
    expected = register_after(engine, told)

    orders = Random(2026).sample(list(permutations(told)), SAMPLE)

    assert all(register_after(engine, [*order]) == expected for order in orders)
    assert [record.place for record in expected[::4]] == [
        "weighing corner", "first", "second", "second", "second", "first", "first",
    ]  # fmt: skip
    assert [record.state for record in expected[::4]] == [
        "in service", "held back", "held back", "limited", "limited", "in service", "in service",
    ]  # fmt: skip
