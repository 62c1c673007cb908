"""Before a route is reached: keys are asked for, held against what the route needs, counted; and the request is bounded.

The challenges are those of RFC 6750 section 3 and 3.1 (401 and 403, `invalid_token`, `insufficient_scope`), from memory; the
RateLimit fields those of the IETF draft of September 2025, whose examples stand in `api/routes/quotas.py`'s tests.
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import Engine
from werkzeug.test import TestResponse

from api.actions.revoke_key import revoke_key
from api.database import make_engine, reading, unit_of_work
from api.ledger.key_text import OF_INSTALLATION, check_sum, key_text, new_key_text
from api.queries.access_keys import access_key
from api.routes.admission import keep_the_door
from api.routes.doorkeeper import caller, needs
from api.routes.problems import PROBLEM_PAGES, answer_with_problems
from api.settings import Settings
from tests.keyed import a_key, bearing, keyed_app

ASKED = "/v1/about"


@pytest.fixture
def keyed(settings: Settings) -> Iterator[Flask]:
    """Give the application as a service runs it that asks for keys."""
    with keyed_app(settings) as app:
        yield app


@pytest.fixture
def bare(engine: Engine) -> FlaskClient:
    """Give a client of two routes of our own: who asks, and what needs a person."""
    app = Flask("a service")
    app.config["PROBLEM_PAGES"] = PROBLEM_PAGES
    app.extensions["steelyard.engine"] = engine

    def told() -> dict[str, object]:
        who = caller()
        return {"code": who.code, "sites": sorted(who.sites) if who.sites is not None else None}

    app.add_url_rule("/v1/who", view_func=needs("read")(told), endpoint="who")
    app.add_url_rule("/v1/released", view_func=needs("release")(lambda: told()), endpoint="released", methods=["POST"])
    answer_with_problems(app)
    keep_the_door(app, open_door=False)
    return app.test_client()


def ask(app: Flask, key: str | None = None, address: str = ASKED, **fields: str) -> TestResponse:
    told = bearing(key) if key is not None else {}
    return app.test_client().get(address, headers=told | fields)


def refusal(answer: TestResponse) -> tuple[int, str]:
    return answer.status_code, answer.json["code"]


def test_without_a_key_it_is_said_which_kind_is_asked_for(keyed: Flask) -> None:
    answer = ask(keyed)

    assert refusal(answer) == (401, "key-missing")
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="steelyard"'
    assert "RateLimit" not in answer.headers


def test_the_contract_needs_no_key(keyed: Flask) -> None:
    assert ask(keyed, address="/v1/openapi.json").status_code == 200


def test_a_key_with_the_scope_is_let_in_and_one_without_is_told_which_is_needed(keyed: Flask, engine: Engine) -> None:
    reader, sender = a_key(engine, "read"), a_key(engine, "submit", "report", holder="APP-2")

    assert ask(keyed, reader).status_code == 200
    refused = ask(keyed, sender)
    assert refusal(refused) == (403, "scope-missing")
    assert refused.json["facts"]["scope"] == "read"
    assert refused.json["facts"]["scopes"] == "report, submit"
    assert refused.headers["WWW-Authenticate"] == 'Bearer realm="steelyard", error="insufficient_scope", scope="read"'


@pytest.mark.parametrize("sent", ["", "Bearer", "Bearer ", "Basic dXNlcjpwYXNz", "Bearer x y", "bearer\tx", "Token sty_i_x",
                                  "Bearer é", "Bearer " + "x" * 4000])  # fmt: skip
def test_what_is_no_key_is_not_accepted(keyed: Flask, sent: str) -> None:
    answer = ask(keyed, Authorization=sent)

    assert refusal(answer) == (401, "key-not-accepted")
    assert answer.headers["WWW-Authenticate"] == 'Bearer realm="steelyard", error="invalid_token"'


def test_a_typing_slip_is_told_without_asking_the_record(
    keyed: Flask, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = a_key(engine, "read")
    monkeypatch.setattr("api.routes.who_asks.key_on_record", None)

    answer = ask(keyed, key[:-1] + ("x" if key[-1] != "x" else "y"))

    assert refusal(answer) == (401, "key-not-accepted")
    assert "typing slip" in answer.json["detail"]


def test_a_key_of_a_known_name_with_another_secret_is_refused_as_one_that_is_unknown(
    keyed: Flask, engine: Engine
) -> None:
    known, unknown = key_text(a_key(engine, "read")), new_key_text(OF_INSTALLATION)
    assert known is not None
    forged = new_key_text(OF_INSTALLATION).text.replace("sty_i_", f"sty_i_{known.name}_", 1)
    body = "_".join([*forged.split("_")[:3], forged.split("_")[4]])
    answers = [ask(keyed, f"{body}_{check_sum(body)}"), ask(keyed, unknown.text)]

    assert key_text(f"{body}_{check_sum(body)}") is not None
    assert [refusal(a) for a in answers] == [(401, "key-not-accepted")] * 2
    assert len({a.json["detail"] for a in answers}) == 1


def test_a_key_is_refused_from_the_request_after_its_revocation_by_whichever_process(
    keyed: Flask, settings: Settings, engine: Engine
) -> None:
    key = a_key(engine, "read")
    before = ask(keyed, key)
    name = key.split("_")[2]
    elsewhere = make_engine(settings.database_url)

    unit_of_work(
        elsewhere, lambda c: revoke_key(c, name, "the tablet was lost", by_whom="S-01", moment=datetime.now(UTC))
    )
    elsewhere.dispose()

    after = ask(keyed, key)
    assert (before.status_code, refusal(after)) == (200, (401, "key-not-accepted"))
    assert after.json["facts"] == {"key": name, "state": "revoked"}


def test_a_key_that_has_expired_says_so_to_who_holds_it(keyed: Flask, engine: Engine) -> None:
    key = a_key(engine, "read", made_at=datetime.now(UTC) - timedelta(days=31), days=30)

    answer = ask(keyed, key)

    assert refusal(answer) == (401, "key-not-accepted")
    assert re.search(r"expired on \d{4}-\d\d-\d\d\.$", answer.json["detail"])


@pytest.mark.parametrize(
    "where", ["/v1/about?key={}", "/v1/about?access_token={}", "/v1/devices/{}", "/d/{}/", "/?q={}"]
)
def test_a_key_in_an_address_is_refused_whatever_stands_there(keyed: Flask, engine: Engine, where: str) -> None:
    key = a_key(engine, "read")

    answer = ask(keyed, key, where.format(key))

    assert refusal(answer) == (400, "key-in-address")
    assert key not in answer.get_data(as_text=True)


def test_a_person_is_needed_for_a_release_and_has_to_hold_its_scope(bare: FlaskClient, engine: Engine) -> None:
    unit = a_key(engine, "read", "release")
    other = a_key(engine, "read", holder="APP-2")
    person = a_key(engine, "release", holder="T-01", held_by="person")
    learner = a_key(engine, "read", holder="T-02", held_by="person")

    alone = bare.post("/v1/released", headers=bearing(unit))
    with_learner = bare.post("/v1/released", headers=bearing(unit, learner))
    on_other = bare.post("/v1/released", headers=bearing(other, person))
    with_person = bare.post("/v1/released", headers=bearing(unit, person))

    assert refusal(alone) == (403, "person-missing")
    assert refusal(with_learner) == refusal(on_other) == (403, "scope-missing")
    assert (with_person.status_code, with_person.json) == (200, {"code": "T-01", "sites": None})


def test_a_person_acts_only_where_both_keys_are_for(bare: FlaskClient, engine: Engine) -> None:
    unit = a_key(engine, "read", sites=("QG", "HM"))
    at_qg = a_key(engine, "read", holder="T-01", held_by="person", sites=("QG", "LK"))
    everywhere = a_key(engine, "read", holder="T-02", held_by="person")

    answers = [bare.get("/v1/who", headers=bearing(unit, person)).json for person in (None, at_qg, everywhere)]

    assert answers == [
        {"code": "APP-1", "sites": ["HM", "QG"]}, {"code": "T-01", "sites": ["QG"]},
        {"code": "T-02", "sites": ["HM", "QG"]},
    ]  # fmt: skip


def test_a_key_in_the_other_ones_field_is_told_where_it_belongs(bare: FlaskClient, engine: Engine) -> None:
    unit, person = a_key(engine, "read"), a_key(engine, "read", holder="T-01", held_by="person")

    swapped = bare.get("/v1/who", headers=bearing(person))
    twice = bare.get("/v1/who", headers=bearing(unit, unit))

    assert refusal(swapped) == refusal(twice) == (401, "key-not-accepted")
    assert "belongs into Steelyard-Person" in swapped.json["detail"]
    assert "belongs into Authorization" in twice.json["detail"]


def test_where_keys_are_asked_for_nobody_names_themselves(bare: FlaskClient, engine: Engine) -> None:
    answer = bare.get("/v1/who", headers=bearing(a_key(engine, "read")) | {"Steelyard-By": "T-09"})

    assert answer.json["code"] == "APP-1"


def test_a_thousand_wrong_keys_are_slowed_down_and_a_right_one_from_there_is_not(keyed: Flask, engine: Engine) -> None:
    right = a_key(engine, "read")

    answers = [ask(keyed, new_key_text(OF_INSTALLATION).text) for _ in range(1000)]

    codes = [answer.status_code for answer in answers]
    assert codes == [401] * 20 + [429] * 980
    assert answers[-1].json["code"] == "quota-exceeded"
    assert 1 <= int(answers[-1].headers["Retry-After"]) <= 60
    assert ask(keyed, right).status_code == 200
    assert keyed.test_client().get(ASKED, environ_base={"REMOTE_ADDR": "10.0.0.9"}).status_code == 401


def test_wrong_keys_through_the_proxy_of_this_machine_count_for_who_sent_them(keyed: Flask) -> None:
    for _ in range(21):
        ask(keyed, **{"X-Forwarded-For": "10.0.0.9, 10.0.0.7"})

    assert ask(keyed, **{"X-Forwarded-For": "10.0.0.1, 10.0.0.7"}).status_code == 429
    assert ask(keyed, **{"X-Forwarded-For": "10.0.0.7, 10.0.0.9"}).status_code == 401


def test_the_last_use_of_a_key_is_noted_once_a_minute(keyed: Flask, engine: Engine) -> None:
    key = a_key(engine, "read")
    noted = []

    def used() -> datetime | None:
        with reading(engine) as connection:
            return access_key(connection, key.split("_")[2]).used_at

    for _ in range(3):
        with ask(keyed, key):
            noted.append(used())
        noted.append(used())

    assert noted[0] is None
    assert noted[1] is not None
    assert noted[1].second == 0
    assert set(noted[1:]) == {noted[1]}


def test_an_open_door_lets_in_its_own_machine_and_nobody_through_a_proxy(app: Flask) -> None:
    client = app.test_client()

    assert client.get(ASKED).status_code == 200
    assert client.get(ASKED, environ_base={"REMOTE_ADDR": "::1"}).status_code == 200
    for address in ("10.0.0.9", "192.168.1.2", "::ffff:10.0.0.9", ""):
        assert refusal(client.get(ASKED, environ_base={"REMOTE_ADDR": address})) == (401, "key-missing")
    for field in ("X-Forwarded-For", "Forwarded", "Via"):
        assert refusal(client.get(ASKED, headers={field: "127.0.0.1"})) == (401, "key-missing")


@pytest.mark.parametrize(("length", "status"), [(2048, 400), (2049, 414), (6000, 414)])
def test_an_address_is_taken_up_to_its_bound(app: Flask, length: int, status: int) -> None:
    address = f"{ASKED}?colour="

    answer = app.test_client().get(address + "x" * (length - len(address)))

    assert answer.status_code == status
    assert answer.json["status"] == status


def test_fields_are_taken_up_to_their_bound_together(app: Flask) -> None:
    client = app.test_client()
    few, many = ({f"X-{i}": "x" * 1000 for i in range(count)} for count in (15, 17))

    assert client.get(ASKED, headers=few).status_code == 200
    assert refusal(client.get(ASKED, headers=many)) == (431, "fields-too-large")
