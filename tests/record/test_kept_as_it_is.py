"""What is recorded is kept as it is: both databases refuse to change or delete it; the only exception is a redaction."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, func, insert, select, text
from sqlalchemy.exc import DBAPIError

from api.actions.close_event import close_event
from api.actions.make_key import make_key
from api.actions.record_label_event import record_label_event
from api.actions.record_weight_event import record_weight_event
from api.actions.report_trouble import report_trouble
from api.actions.revoke_key import revoke_key
from api.actions.stick_label import stick_label
from api.database import make_engine, reading, transaction, unit_of_work
from api.demo.entry import Entry
from api.demo.history import visits
from api.keeping.content import Arrived
from api.ledger.key_text import OF_INSTALLATION, new_key_text
from api.models.everything import TABLES
from api.queries.labels import label
from api.records.access_key import KeyAsked
from api.records.documents import record_from
from api.records.event_sent import ClosingAsked, TroubleReport
from api.records.label import LabelEventSent, LabelSent
from api.routes.event_examples import REPORT
from api.routes.labels import ENDED, STUCK, STUCK_AS
from schemas.events import report_with_device
from schemas.weight_events import weight_event_of
from tests.doors import an_id, example
from tests.filled_record import NOON, TODAY, copy_of, kept_tables, put_register
from tests.imports.importing import A_PROFILE, imported, profile_from
from tests.record.visits_kept import keep
from tests.weights_told import mishap

KEPT = kept_tables()
# State, not record: it moves.
LIVING = {
    "log_head", "certificate_serial", "job", "person_name", "key_used", "file_import", "import_piece", "import_row",
    "file_export", "export_piece",
}  # fmt: skip


@pytest.fixture(scope="module")
def full(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    """Give an engine on a record with a row in every table that is kept."""
    with copy_of(registered, tmp_path_factory.mktemp("full")) as settings:
        engine = make_engine(settings.database_url)
        keep(engine, visits(TODAY))
        with transaction(engine) as connection:
            arrived, report = a_report()
            report_trouble(connection, arrived, report, "A-04")
            closing = ClosingAsked("It was looked at.")
            close_event(connection, arrived.calibration, "QG", closing, by_whom="S-01", moment=NOON)
            asked = KeyAsked("installation", "APP-1", ("read",))
            made = make_key(connection, asked, new_key_text(OF_INSTALLATION), by_whom="S-01", moment=NOON)
            revoke_key(connection, made.key.name, "lost", by_whom="S-01", moment=NOON)
            sealed = connection.scalars(select(TABLES["sealed"].c.digest).limit(1)).one()
            connection.execute(insert(TABLES["quarantine"]), [a_newer_submission(sealed)])
            connection.execute(insert(TABLES["attachment"]), [an_attachment(sealed)])
            for table, row in said_of(connection.execute(select(TABLES["judgement"]).limit(1)).one()).items():
                connection.execute(insert(TABLES[table]), [row])
        put_weight_event(engine)
        put_label(engine)
        keep(engine, [(an_id(), example() | {"attachments": [{"digest": f"sha256:{64 * '0'}", "what": "the label"}]})])
        put_register(settings.database_url, [Entry("import-profiles", "old-system", TODAY, A_PROFILE)])
        imported(engine, b"Tag;Day;Found;Left;Note\nA-04;2019-03-14;100.0;;\n", profile_from(A_PROFILE))
        yield engine
        engine.dispose()


def a_report() -> tuple[Arrived, TroubleReport]:
    body = json.dumps(REPORT).encode()
    return Arrived("0193f0aa-0000-7000-8000-0000000000d4", body, REPORT, "W-01", NOON), report_with_device(REPORT)


def put_weight_event(engine: Engine) -> None:
    body = mishap()
    arrived = Arrived("0193f0aa-0000-7000-8000-0000000000d9", json.dumps(body).encode(), body, "T-01", NOON)
    unit_of_work(engine, lambda connection: record_weight_event(connection, arrived, weight_event_of(body)))


def put_label(engine: Engine) -> None:
    def kept(connection: Connection) -> None:
        arrived = Arrived(STUCK_AS, json.dumps(STUCK).encode(), STUCK, "T-01", NOON)
        stick_label(connection, arrived, record_from(LabelSent, STUCK))
        event = Arrived("0193f0aa-0000-7000-8000-0000000000e5", json.dumps(ENDED).encode(), ENDED, "T-01", NOON)
        record_label_event(connection, event, label(connection, STUCK_AS), record_from(LabelEventSent, ENDED))

    unit_of_work(engine, kept)


def a_newer_submission(sealed: str) -> dict[str, Any]:
    return {"site": "QG", "calibration": "c-1", "schema": "calibration/2", "received_at": NOON.isoformat(),
            "received_by": "T-01", "unread": "", "sealed": sealed}  # fmt: skip


def an_attachment(sealed: str) -> dict[str, Any]:
    return {"site": "QG", "digest": "sha256:0", "media_type": "image/png", "size": 1, "received_at": NOON.isoformat(),
            "received_by": "T-01", "sealed": sealed}  # fmt: skip


def said_of(judged: Any) -> dict[str, dict[str, Any]]:
    """What persons say of a record: a remark, words for a flag, a link."""
    of = {"site": judged.site, "calibration": judged.calibration, "revision": judged.revision, "by_whom": "S-01",
          "moment": NOON.isoformat()}  # fmt: skip
    linked = {"kind": "ward", "as_sent": "W", "key": "W-1", "because": "a slip", "number": judged.number}
    return {
        "remark": {**of, "place": 1, "words": "held back"},
        "flag_answer": {**of, "number": judged.number, "code": "off-grid", "words": "looked at"},
        "link": {**of, "place": 1, **linked},
    }


def test_every_table_is_kept_or_known_to_live() -> None:
    assert set(TABLES) == {*KEPT, "sealed", *LIVING}


@pytest.mark.parametrize("table", KEPT)
def test_a_row_cannot_be_changed_in_any_column(full: Engine, table: str) -> None:
    for column in TABLES[table].columns:
        with pytest.raises(DBAPIError, match=f"rows of {table} are kept"), transaction(full) as connection:
            connection.execute(TABLES[table].update().values({column.name: column}))


@pytest.mark.parametrize("table", [*KEPT, "sealed"])
def test_a_row_cannot_be_deleted(full: Engine, table: str) -> None:
    counted = select(func.count()).select_from(TABLES[table])
    with reading(full) as connection:
        before = connection.scalar(counted)
    assert before

    with pytest.raises(DBAPIError, match=f"rows of {table} are kept"), transaction(full) as connection:
        connection.execute(TABLES[table].delete())

    with reading(full) as connection:
        assert connection.scalar(counted) == before


def test_a_row_cannot_be_put_in_again_under_its_key(full: Engine) -> None:
    for table in KEPT:
        with reading(full) as connection:
            row = dict(connection.execute(select(TABLES[table]).limit(1)).mappings().one())
        with pytest.raises(DBAPIError), transaction(full) as connection:
            connection.execute(insert(TABLES[table]), [row])


@pytest.mark.parametrize("table", [*KEPT, "sealed"])
def test_rows_cannot_be_pushed_out_whole(full: Engine, table: str) -> None:
    """By REPLACE on SQLite, which deletes what is in its way; by TRUNCATE on PostgreSQL, which passes row triggers by."""
    act = f"TRUNCATE {table} CASCADE"
    if full.dialect.name == "sqlite":
        act = f"INSERT OR REPLACE INTO {table} SELECT * FROM {table} LIMIT 1"

    with pytest.raises(DBAPIError, match="are kept"), transaction(full) as connection:
        connection.execute(text(act))


@pytest.mark.parametrize("changed", [
    {"content": b"other"}, {"salt": b"other"}, {"digest": "sha256:other"}, {"content": None}, {"salt": None},
    {"content": None, "salt": None, "digest": "sha256:other"}, {"content": b"", "salt": None},
])  # fmt: skip
def test_sealed_bytes_cannot_be_changed_or_half_removed(full: Engine, changed: dict[str, Any]) -> None:
    sealed = TABLES["sealed"]
    one = select(func.min(sealed.c.digest)).scalar_subquery()

    with pytest.raises(DBAPIError, match="rows of sealed are kept"), transaction(full) as connection:
        connection.execute(sealed.update().where(sealed.c.digest == one).values(changed))


def test_sealed_bytes_can_be_removed_by_a_redaction_and_never_put_back(engine: Engine) -> None:
    sealed = TABLES["sealed"]
    with transaction(engine) as connection:
        connection.execute(sealed.update().values(content=None, salt=None))

    with pytest.raises(DBAPIError, match="rows of sealed are kept"), transaction(engine) as connection:
        connection.execute(sealed.update().values(content=b"invented later", salt=b"0" * 16))
