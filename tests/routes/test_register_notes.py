"""What the trade's rules have against an entry of the register: kept all the same, and said in the answer."""

from typing import Any

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from tests.doors import change
from tests.filled_record import TODAY, rows

ON = f"?on={TODAY.isoformat()}"
SINCE = "2026-11-20"


def kg(value: str) -> dict[str, str]:
    return {"value": value, "unit": "kg"}


def a_certificate(value: str, expanded: str, k: str = "2") -> dict[str, Any]:
    return {
        "number": "LN-1", "laboratory": "An invented laboratory", "calibrated_on": SINCE, "issued_on": SINCE,
        "valid_from": SINCE, "valid_to": "2027-08-31",
        "pieces": [{"piece": "FS1-20-01", "as_left": kg(value), "expanded_uncertainty": kg(expanded), "k": k}],
    }  # fmt: skip


def a_model(accuracy_class: str, largest: str, e: str, **more: Any) -> dict[str, Any]:
    ranges = [{"max": kg(largest), "d": kg(e), "e": kg(e), **more}]
    return {"code": "M-1", "kind": "stand-on", "description": "A scale", "accuracy_class": accuracy_class,
            "arrangement": "single", "ranges": ranges}  # fmt: skip


def a_device(client: FlaskClient, scheme: str) -> dict[str, Any]:
    taken: dict[str, Any] = client.get(f"/v1/devices/A-04{ON}").json["record"]
    return taken | {"tag": "N-1", "serial": "N1", "model": "M-1", "tolerance": {"scheme": scheme}}


def codes(answer: Any) -> list[str]:
    return [note["code"] for note in answer.json["notes"]]


def test_nothing_on_the_invented_network_has_a_note(client: FlaskClient) -> None:
    noted = set()
    for kind in ("models", "devices", "weights", "weight-certificates", "sites"):
        items = client.get(f"/v1/{kind}{ON}").json["items"]
        assert items
        noted |= {(item["key"], note["code"]) for item in items for note in item["notes"]}

    assert noted == set()


def test_a_value_outside_the_class_is_kept_and_told_with_the_class_it_shows(
    client: FlaskClient, settings: Settings
) -> None:
    """OIML R 111-1:2004 Table 1: 20 kg M1 1 g, M2 3 g. 1.5 g off with U 0.3 g: M1 allows 0.7 g, M2 2.7 g."""
    before = rows(settings)

    answer = change(client, "weight-certificates/LN-1", SINCE, a_certificate("20.0015", "0.0003"))

    (note,) = answer.json["notes"]
    assert (answer.status_code, rows(settings) != before, note["code"]) == (201, True, "value-out-of-class")
    assert note["facts"]["largest_deviation"] == "0.000700 kg"
    assert (note["facts"]["deviation"], note["facts"]["class_shown"]) == ("0.0015 kg", "M2")
    assert "OIML R 111-1:2004 5.2, 5.3" in note["source"]
    assert note["way_out"].startswith("The certificate shows class M2. Register the piece as what it shows")
    assert client.get(f"/v1/weight-certificates/LN-1{ON}").json == answer.json
    assert client.get("/v1/weight-certificates/LN-1/revisions").json["items"] == [answer.json]


@pytest.mark.parametrize(("expanded", "k", "noted"), [
    ("0.000333", "2", []), ("0.000334", "2", ["uncertainty-above-a-third"]),
    ("0.0004999", "3", []), ("0.000501", "3", ["uncertainty-above-a-third"]),
])  # fmt: skip
def test_an_uncertainty_above_a_third_of_the_limit_is_told(
    client: FlaskClient, expanded: str, k: str, noted: list[str]
) -> None:
    """OIML R 111-1:2004 5.2: U at k = 2 is at most a third of 1 g."""
    assert codes(change(client, "weight-certificates/LN-1", SINCE, a_certificate("20", expanded, k))) == noted


def test_the_weight_itself_tells_what_its_certificate_in_force_says(client: FlaskClient) -> None:
    change(client, "weight-certificates/LN-1", SINCE, a_certificate("20.0015", "0.0003"))

    now, before = (client.get(f"/v1/weights/FS1-20-01?on={day}") for day in (TODAY.isoformat(), "2026-11-19"))
    taken = now.json["record"]
    mended = change(client, "weights/FS1-20-01", TODAY.isoformat(), taken | {"weight_class": "M2"})

    assert (codes(now), codes(before), codes(mended)) == (["value-out-of-class"], [], [])


@pytest.mark.parametrize(("nominal", "weight_class", "noted"), [
    ("25", "M1", ["no-class-limit"]), ("25", "other", []), ("25", "F", []),
])  # fmt: skip
def test_a_class_without_that_nominal_value_is_told(
    client: FlaskClient, nominal: str, weight_class: str, noted: list[str]
) -> None:
    """OIML R 111-1:2004 Table 1 has no 25 kg; class F has 2.5 g for it. A piece that claims no class is asked nothing."""
    taken = client.get(f"/v1/weights/FS1-20-01{ON}").json["record"]
    change(client, "weights/FS1-20-01", SINCE, taken | {"nominal": kg(nominal), "weight_class": weight_class})

    assert codes(change(client, "weight-certificates/LN-1", SINCE, a_certificate("25", "0.0001"))) == noted


@pytest.mark.parametrize(("scheme", "noted"), [("hb44", []), ("r76", ["too-many-intervals"])])
def test_a_class_iiii_scale_of_1100_intervals_is_told_under_r76_only(
    client: FlaskClient, scheme: str, noted: list[str]
) -> None:
    """NIST HB 44 section 2.20 Table 3: at most 1 200; OIML R 76-1:2006 Table 3: at most 1 000."""
    model = change(client, "models/M-1", SINCE, a_model("IIII", "110", "0.1"))

    device = change(client, "devices/N-1", SINCE, a_device(client, scheme))

    assert (model.status_code, codes(model)) == (201, ["too-many-intervals"])
    assert (device.status_code, codes(device)) == (201, noted)
    for note in device.json["notes"]:
        assert (note["facts"]["n"], note["facts"]["n_max"]) == ("1100", "1000")
        assert note["source"] == "OIML R 76-1:2006 Table 3"
        assert "marking plate" in note["way_out"]


def test_what_both_schemes_say_of_a_model_is_said_once_with_both_sources(client: FlaskClient) -> None:
    """III, 500 kg by 0.02 kg: 25 000 intervals, at most 10 000 in both tables."""
    (note,) = change(client, "models/M-1", SINCE, a_model("III", "500", "0.02")).json["notes"]

    assert note["code"] == "too-many-intervals"
    assert note["source"] == "NIST HB 44 section 2.20 Table 3; OIML R 76-1:2006 Table 3"


def test_a_marked_min_below_that_of_the_class_is_told(client: FlaskClient) -> None:
    """OIML R 76-1:2006 Table 3: class III 20 e."""
    (note,) = change(client, "models/M-1", SINCE, a_model("III", "300", "0.1", min=kg("1.9"))).json["notes"]

    assert (note["code"], note["facts"]["least"]) == ("min-too-small", "2.0 kg")


def test_a_class_that_only_one_scheme_has_is_told_of_the_device_and_not_of_the_model(client: FlaskClient) -> None:
    """III L is a class of NIST HB 44 alone."""
    model = change(client, "models/M-1", SINCE, a_model("IIIL", "5000", "2"))

    devices = [change(client, "devices/N-1", SINCE, a_device(client, scheme)) for scheme in ("hb44", "r76")]

    assert (codes(model), [codes(device) for device in devices]) == ([], [[], ["class-unknown"]])


def test_a_sender_that_cannot_be_read_is_told_in_the_registers_answer(client: FlaskClient) -> None:
    answer = change(client, "models/M-1", SINCE, a_model("III", "300", "0.1"), Steelyard_By="\xff")

    assert (codes(answer), answer.json["recorded_by"]) == (["sent-by-not-read"], "unnamed")
    assert codes(client.get(f"/v1/models/M-1{ON}")) == []
