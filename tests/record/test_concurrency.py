"""Many at once, with real engines and threads: one id is kept once, one number is given once, nothing is half seen."""

import itertools
import threading
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import Connection, Engine, event, func, select

from api.database import make_engine, reading, unit_of_work
from api.ledger.chain import first_break
from api.models.log import LOG_ENTRY
from api.models.record import ARRIVAL, CERTIFICATE, CONTENT
from api.queries.register import chain_of, derived
from api.settings import Settings
from tests.doors import an_id, change, example, example_bytes, later, send
from tests.lives import a_visit, act, amendment, kept, seen, typed_from_paper
from tests.record.visits_kept import keep, keep_on


def broken_at(connection: Connection) -> int | None:
    """Where the chain of the log is broken, if it is."""
    found = connection.execute(select(LOG_ENTRY).order_by(LOG_ENTRY.c.number)).mappings()
    rows = [{str(name): value for name, value in row.items()} for row in found]
    return first_break((row, row.pop("hash")) for row in rows)


def at_once(threads: int, act: Callable[[int], Any]) -> list[Any]:
    """What each of many threads gets, all let go at the same moment."""
    together = threading.Barrier(threads)

    def one(number: int) -> Any:
        together.wait()
        return act(number)

    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(one, range(threads)))


def test_twenty_puts_of_one_id_at_once_make_one_calibration(app: Flask) -> None:
    calibration = an_id()

    answers = at_once(20, lambda _: send(app.test_client(), example_bytes(), calibration))

    assert Counter(answer.status_code for answer in answers) == {201: 1, 200: 19}
    assert len({(answer.json["digest"], answer.json["certificate"]) for answer in answers}) == 1
    with reading(app.extensions["steelyard.engine"]) as connection:
        counted = [connection.scalar(select(func.count()).select_from(t)) for t in (CONTENT, CERTIFICATE, ARRIVAL)]
        assert counted == [1, 1, 20]
        assert broken_at(connection) is None


def test_of_two_contents_under_one_id_at_once_one_is_kept_and_the_other_refused(app: Flask) -> None:
    calibration, bodies = an_id(), [example(), example() | {"purpose": "audit"}]

    answers = at_once(8, lambda n: send(app.test_client(), bodies[n % 2], calibration))

    assert Counter(answer.status_code for answer in answers) == {201: 1, 200: 3, 409: 4}


def test_certificate_numbers_are_each_given_once_without_gaps(settings: Settings) -> None:
    engines = [make_engine(settings.database_url) for _ in range(8)]

    receipts = at_once(8, lambda n: [keep(engines[n], [(an_id(), later(example(), -5 * n - k))])[0] for k in range(5)])

    numbers = [receipt.certificate for mine in receipts for receipt in mine]
    assert sorted(numbers) == [f"QG-2026-{serial:04d}" for serial in range(1, 41)]
    with reading(engines[0]) as connection:
        assert broken_at(connection) is None
    for engine in engines:
        engine.dispose()


def test_a_number_of_a_certificate_that_was_rolled_back_is_given_to_the_next(engine: Engine) -> None:
    """Never used twice: a number that was rolled back was never on a certificate, so that the serials stay without gaps."""

    def breaks(connection: Connection) -> None:
        keep_on(connection, (an_id(), example()))
        raise InterruptedError

    with pytest.raises(InterruptedError):
        unit_of_work(engine, breaks)

    kept = keep(engine, [(an_id(), example())])[0]

    assert kept.certificate == "QG-2026-0001"


def test_changes_of_one_entity_at_once_are_each_a_revision_of_their_own(app: Flask) -> None:
    site = app.test_client().get("/v1/sites/QG").json["record"]

    answers = at_once(
        8, lambda n: change(app.test_client(), "sites/QG", "2026-01-01", site | {"local_code": f"code {n}"})
    )

    assert sorted(answer.json["number"] for answer in answers) == list(range(2, 10))


def test_of_changes_against_one_revision_at_once_one_is_taken(app: Flask) -> None:
    site = app.test_client().get("/v1/sites/QG").json["record"]

    answers = at_once(8, lambda n: change(
        app.test_client(), "sites/QG", "2026-01-01", site | {"local_code": f"code {n}"}, If_Match='"1"'))  # fmt: skip

    assert Counter(answer.status_code for answer in answers) == {200: 1, 412: 7}


def test_of_two_keys_for_one_address_at_once_one_gets_it(app: Flask) -> None:
    ward = app.test_client().get("/v1/wards/QG-CDU").json["record"]
    codes = ("QG-TWIN", "qg-twin", "QG TWIN", "QG.TWIN")

    answers = at_once(
        4, lambda n: change(app.test_client(), f"wards/{codes[n]}", "2026-01-01", ward | {"code": codes[n]})
    )

    assert Counter(answer.status_code for answer in answers) == {201: 1, 409: 3}


class LookedUp:
    """A key that lets another answer be worked out at every look for it, as another thread may do."""

    def __init__(self, meanwhile: Callable[[], Any]) -> None:
        self.meanwhile = meanwhile

    def __hash__(self) -> int:
        self.meanwhile()
        return 1


def test_what_was_worked_out_is_answered_though_another_answer_clears_what_is_kept(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.queries.register.MOST_DERIVED", 1)
    others = itertools.count()

    with reading(engine) as connection:
        key = LookedUp(lambda: derived(connection, next(others), lambda: "another"))
        found = [derived(connection, key, lambda: "mine") for _ in range(3)]

    assert found == ["mine"] * 3
    assert next(others) > 3


def test_what_one_thread_is_still_reading_is_not_missing_for_another(engine: Engine) -> None:
    reading_now, go_on, slow = threading.Event(), threading.Event(), threading.current_thread()

    def hold(_: Any, __: Any, statement: str, *___: Any) -> None:
        if threading.current_thread() is not slow and "FROM device_revision" in statement:
            reading_now.set()
            go_on.wait(5)

    event.listen(engine, "before_cursor_execute", hold)

    def first() -> int:
        with reading(engine) as connection:
            return len(chain_of(connection, "device", "A-04"))

    with ThreadPoolExecutor(1) as pool:
        other = pool.submit(first)
        assert reading_now.wait(5)
        with reading(engine) as connection:
            mine = len(chain_of(connection, "device", "A-04"))
        go_on.set()

        assert mine == other.result() > 0


def test_a_record_released_by_eight_at_once_has_one_certificate(app: Flask) -> None:
    calibration = a_visit(app.test_client())
    now = kept(app.test_client(), calibration)
    asked = {**seen(now), "answers": [{"code": "not-compared", "words": "Compared with the sheet."}]}

    answers = at_once(8, lambda _: act(app.test_client(), calibration, "release", asked))

    assert {answer.status_code for answer in answers} == {200}
    assert Counter(answer.json["replayed"] for answer in answers) == {False: 1, True: 7}
    assert len({answer.json["certificate"] for answer in answers}) == 1
    with reading(app.extensions["steelyard.engine"]) as connection:
        assert connection.scalar(select(func.count()).select_from(CERTIFICATE)) == 1
        assert broken_at(connection) is None


def test_of_two_amendments_at_once_one_is_kept_and_the_other_told_the_new_digest(app: Flask) -> None:
    calibration = a_visit(app.test_client(), example())
    now = kept(app.test_client(), calibration)
    asked = [amendment(now, example() | {"remarks": f"Corrected by number {n}."}) for n in range(2)]

    answers = at_once(2, lambda n: act(app.test_client(), calibration, "amendments", asked[n]))

    assert Counter(answer.status_code for answer in answers) == {201: 1, 412: 1}
    refused = next(answer.json for answer in answers if answer.status_code == 412)
    assert refused["facts"]["newest"] == kept(app.test_client(), calibration)["digest"]


def test_a_visit_sent_while_another_is_released_waits_for_no_lock_forever(app: Flask) -> None:
    """A release holds the certificate numbers before the log, as a new record does."""
    client = app.test_client()
    waiting = [a_visit(client, later(typed_from_paper(), 24 * day)) for day in range(-4, 0)]
    asked = [
        {**seen(kept(client, one)), "answers": [{"code": "not-compared", "words": "Compared."}]} for one in waiting
    ]

    def one(number: int) -> Any:
        if number % 2:
            return send(app.test_client(), later(example(), -number))
        return act(app.test_client(), waiting[number // 2], "release", asked[number // 2])

    answers = at_once(8, one)

    assert {answer.status_code for answer in answers} <= {200, 201}
    assert len({answer.json["certificate"] for answer in answers}) == 8
