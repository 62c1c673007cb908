"""Amendments: a whole new content beside the old one, judged anew; what was released stands until a person releases it.

ISO/IEC 17025:2017 7.8.8 asks that a change of an issued report is identified, and that a new report names the one that it
replaces (from memory).
"""

import hashlib
import json
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select

from api.database import reading
from api.models.log import SEALED
from api.settings import Settings
from tests.doors import an_id, example, send, without
from tests.filled_record import NOON, rows
from tests.lives import a_visit, act, amended, amendment, failing, kept, release, typed_from_paper

ON = "?on=2026-11-25"


def corrected() -> dict[str, Any]:
    """The example with what a person would correct: it passes as it did."""
    return example() | {"remarks": "The third reading was taken down from the wrong line."}


def use(client: FlaskClient, tag: str = "A-04") -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/v1/devices/{tag}/use{ON}").json
    return found


def last_good(client: FlaskClient) -> str | None:
    (due,) = [d for d in client.get(f"/v1/due{ON}").json["items"] if d["device"] == "A-04"]
    day: str | None = due.get("last_calibrated")
    return day


def history(client: FlaskClient, tag: str = "A-04") -> list[tuple[int, str]]:
    items = client.get(f"/v1/devices/{tag}/history").json["items"]
    return [(item["revision"], item["standing"]) for item in items]


def test_an_amendment_is_the_next_revision_judged_anew_with_flags_and_standing_of_its_own(door: FlaskClient) -> None:
    calibration = send(door, example()).json["calibration"]

    answer = amended(door, calibration, failing())

    assert answer.status_code == 201
    assert (answer.json["revision"], answer.json["standing"], answer.json["as_found"]) == (2, "provisional", "fail")
    assert (answer.json["replayed"], "certificate" in answer.json) == (False, False)
    first, second = (kept(door, calibration, f"?revision={n}") for n in (1, 2))
    assert (first["standing"], first["as_found"], first["certificate_revision"]) == ("released", "pass", 1)
    assert (second["supersedes"], second["recorded_by"]) == (first["digest"], "S-01")
    assert second["amended_because"] == "A reading was typed wrongly."
    assert kept(door, calibration) == second


def test_an_amendment_is_kept_byte_for_byte(door: FlaskClient) -> None:
    calibration = send(door, example()).json["calibration"]
    content = json.dumps(corrected(), indent=3).encode()
    told = amendment(kept(door, calibration), 0)
    body = json.dumps(told).encode().replace(b'"content": 0', b'"content":\n  ' + content)

    receipt = act(door, calibration, "amendments", body).json

    digest = f"sha256:{hashlib.sha256(content).hexdigest()}"
    assert receipt["digest"] == receipt["arrived_digest"] == digest
    assert door.get(f"/v1/calibrations/{calibration}/content").data == content
    assert json.loads(door.get(f"/v1/calibrations/{calibration}/content?revision=1").data) == example()


def test_the_same_amendment_again_is_answered_as_the_first_time(client: FlaskClient, settings: Settings) -> None:
    calibration = send(client, example()).json["calibration"]
    asked = amendment(kept(client, calibration), corrected())
    first = act(client, calibration, "amendments", asked)
    before = rows(settings)

    again = act(client, calibration, "amendments", asked)

    assert (first.status_code, again.status_code, again.json["replayed"]) == (201, 200, True)
    assert without(again.json, "replayed") == without(first.json, "replayed")
    after = rows(settings)
    assert {name for name in after if after[name] != before[name]} == {"arrival", "log_entry", "log_touch", "sealed"}


def test_the_chain_of_the_log_holds_why_it_was_amended(client: FlaskClient) -> None:
    calibration = a_visit(client)
    first = kept(client, calibration)
    number = act(client, calibration, "amendments", amendment(first, failing())).json["log_number"]

    (entry,) = client.get(f"/v1/changes?after={number - 1}&limit=1").json["items"]
    with reading(client.application.extensions["steelyard.engine"]) as connection:
        named = entry["digests"]["amendment"]
        held = connection.scalar(select(SEALED.c.content).where(SEALED.c.digest == named))

    assert held is not None
    assert json.loads(held) == {"supersedes": first["digest"], "because": "A reading was typed wrongly."}


def test_the_same_amendment_for_another_reason_is_not_taken_for_the_same(client: FlaskClient) -> None:
    calibration = a_visit(client)
    first = kept(client, calibration)
    assert act(client, calibration, "amendments", amendment(first, failing())).status_code == 201

    other = act(client, calibration, "amendments", amendment(first, failing(), "The wrong sheet was typed."))

    assert (other.status_code, other.json["code"], other.json["pointers"]) == (409, "content-differs", ["#/because"])
    assert kept(client, calibration)["amended_because"] == "A reading was typed wrongly."


def test_the_first_content_again_is_still_answered_by_its_own_receipt(door: FlaskClient) -> None:
    calibration = an_id()
    first = send(door, example(), calibration).json
    amended(door, calibration, corrected())
    release(door, calibration)

    again = send(door, example(), calibration)

    assert again.status_code == 200
    assert (again.json["revision"], again.json["standing"]) == (1, "superseded")
    assert [again.json[n] for n in ("digest", "log_number")] == [first[n] for n in ("digest", "log_number")]


def test_an_amendment_of_what_is_not_the_newest_content_is_told_the_right_digest(door: FlaskClient) -> None:
    calibration = send(door, example()).json["calibration"]
    first = kept(door, calibration)
    amended(door, calibration, corrected())

    answer = act(door, calibration, "amendments", amendment(first, failing()))

    assert (answer.status_code, answer.json["code"]) == (412, "revision-differs")
    assert answer.json["facts"]["newest"] == kept(door, calibration)["digest"]
    assert kept(door, calibration)["revision"] == 2


@pytest.mark.parametrize(("change", "code"), [({}, "nothing-amended"), ({"site": "HM"}, "key-differs")])
def test_what_amends_nothing_or_another_sites_visit_is_refused(
    door: FlaskClient, change: dict[str, Any], code: str
) -> None:
    calibration = send(door, example()).json["calibration"]

    assert amended(door, calibration, example() | change).json["code"] == code
    assert kept(door, calibration)["revision"] == 1


def test_a_wrong_shape_is_told_with_pointers_into_the_amendment(door: FlaskClient) -> None:
    calibration = send(door, example()).json["calibration"]

    answer = amended(door, calibration, example() | {"purpose": "fun"})

    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["#/content/purpose"]


def test_a_rule_never_releases_an_amendment(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]

    receipt = amended(client, calibration, corrected()).json

    assert (receipt["flags"], receipt["standing"]) == ([], "provisional")


def test_until_its_release_what_was_released_stands_and_its_good_news_with_it(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    before = use(client)["may"]

    amended(client, calibration, corrected())

    assert (use(client)["may"], last_good(client)) == (before, "2026-11-24")
    assert history(client) == [(2, "provisional"), (1, "released")]


def test_bad_news_in_an_amendment_counts_on_receipt(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]

    amended(client, calibration, failing())

    answer = use(client)
    assert (answer["may"], answer["why"][0]["code"]) == ("do not use", "failed-not-reviewed")


def test_bad_news_counts_even_where_the_amendment_gives_the_visit_an_earlier_day(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    earlier = {"start": "2026-11-23T10:09:00-07:00", "end": "2026-11-23T10:31:00-07:00"}

    amended(client, calibration, failing() | {"performed": earlier})

    assert use(client)["may"] == "do not use"


def test_a_good_amendment_of_a_failure_lifts_nothing_before_its_release(client: FlaskClient) -> None:
    calibration = a_visit(client, failing() | {"device_revision": 7})
    amended(client, calibration, example())
    assert use(client)["may"] == "do not use"

    release(client, calibration)

    assert use(client)["may"] != "do not use"
    assert history(client) == [(2, "released"), (1, "superseded")]


def test_the_release_of_an_amendment_supersedes_what_it_amends_and_carries_the_certificate_on(
    client: FlaskClient,
) -> None:
    calibration = send(client, example()).json["calibration"]
    old = kept(client, calibration)
    amended(client, calibration, corrected())

    answer = release(client, calibration).json

    assert (answer["certificate"], answer["certificate_revision"]) == (old["certificate"], 2)
    number = answer["certificate"]
    newest, first = (client.get(f"/v1/certificates/{number}{question}") for question in ("", "?revision=1"))
    assert newest.json["replaces"] == {
        "number": number, "revision": 1, "digest": first.headers["Steelyard-Digest"],
        "because": ["A reading was typed wrongly."], "amended_by": ["S-01"],
    }  # fmt: skip
    assert (newest.json["number"], newest.json["revision"], newest.json["content"]) == (number, 2, corrected())
    assert (first.json["revision"], first.json["content"]) == (1, example())
    assert [a.headers["Steelyard-State"] for a in (newest, first)] == ["in force", "superseded"]
    assert kept(client, calibration, "?revision=1")["stands"] == {
        "because": "superseded by revision 2: A reading was typed wrongly.", "by_whom": "S-01",
        "moment": NOON.isoformat(),
    }  # fmt: skip


def test_every_revision_of_a_certificate_is_listed_with_what_became_of_it(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    amended(client, calibration, corrected())
    number = release(client, calibration).json["certificate"]

    items = client.get(f"/v1/certificates/{number}/revisions").json["items"]

    assert [(item["revision"], item["state"]) for item in items] == [(1, "superseded"), (2, "in force")]
    assert client.get(f"/v1/certificates/{number}?revision=3").status_code == 404


def test_a_record_amended_before_any_release_begins_its_certificate_at_one(client: FlaskClient) -> None:
    calibration = a_visit(client)
    amended(client, calibration, corrected())

    answer = release(client, calibration).json

    stored = client.get(f"/v1/certificates/{answer['certificate']}").json
    assert (stored["revision"], stored["record_revision"], "replaces" in stored) == (1, 2, False)


def test_amended_twice_before_a_release_the_certificate_says_both_reasons(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    amended(client, calibration, typed_from_paper())
    act(client, calibration, "amendments", amendment(kept(client, calibration), corrected(), "It was compared since."))

    release(client, calibration)

    number = kept(client, calibration)["certificate"]
    because = client.get(f"/v1/certificates/{number}").json["replaces"]["because"]
    assert because == ["A reading was typed wrongly.", "It was compared since."]
    assert history(client) == [(3, "released"), (2, "superseded"), (1, "superseded")]


def test_an_amendment_may_say_that_it_was_another_scale(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    tags = [r["key"] for r in client.get(f"/v1/devices{ON}").json["items"] if r["key"] != "A-04"]

    amended(client, calibration, example() | {"device": tags[0]})
    assert history(client) == [(1, "released")]
    release(client, calibration)

    assert (history(client), history(client, tags[0])) == ([(1, "superseded")], [(2, "released")])
    assert last_good(client) is None


def test_who_was_a_technician_before_the_amendment_still_does_not_release_it(client: FlaskClient) -> None:
    calibration = send(client, example()).json["calibration"]
    amended(client, calibration, example() | {"technicians": ["T-02"]})

    assert release(client, calibration, by="T-01").json["code"] == "own-work"


def test_an_amendment_of_other_content_under_the_first_address_is_a_conflict_that_shows_the_way(
    door: FlaskClient,
) -> None:
    calibration = send(door, example()).json["calibration"]

    assert send(door, corrected(), calibration).json["code"] == "content-differs"
    assert "amendments" in door.get("/v1/openapi.json").get_data(as_text=True)
