"""What happened between calibrations is on the pages: open first, the rest on the line of time, nobody's name anywhere."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from api.database import make_engine, reading
from api.routes.event_examples import CHECK, MOVE, REPAIR, REPORT
from api.settings import Settings
from site_builder.fleet import Fleet, Scale
from site_builder.gather import gather
from site_builder.pages.device import device_page
from site_builder.pages.home import home_page
from site_builder.pages.site import site_page
from site_builder.publish import publish
from site_builder.withheld import NOTICE
from tests.doors import an_id, example_bytes, send
from tests.filled_record import NOON, TODAY, copy_of, door_to
from tests.site_builder.test_pages import words

AFTER, NEXT = "2026-11-24T23:00:00-07:00", "2026-11-25T03:00:00-07:00"
BY = {"Steelyard-By": "S-01"}
NAMED = "Mrs Smith fell on it."


@pytest.fixture(scope="module")
def settings(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Settings]:
    """Give a record with one calibration of A-04 and what happened to it and to others since."""
    with copy_of(registered, tmp_path_factory.mktemp("events")) as settings, pytest.MonkeyPatch.context() as patch:
        for module in ("calibrations", "events", "receiving"):
            patch.setattr(f"api.routes.{module}.now", lambda: NOON)
        with door_to(settings) as client:
            assert send(client, example_bytes()).status_code == 201
            _tell(client)
        yield settings


def _tell(client: FlaskClient) -> None:
    def told(answer: Any) -> str:
        assert answer.status_code == 201, answer.json
        event: str = answer.json["event"]
        return event

    dropped = told(client.put(f"/v1/reports/{an_id()}", json=REPORT | {"happened_at": "2026-11-20T08:00:00-07:00"}))
    damaged = told(client.put(f"/v1/reports/{an_id()}", json=REPORT | {"kind": "damaged", "happened_at": AFTER}))
    assert dropped != damaged
    told(
        client.put(f"/v1/reports/{an_id()}", json=REPORT | {"kind": "reads oddly", "happened_at": NEXT, "words": NAMED})
    )
    closed = told(client.put(f"/v1/reports/{an_id()}", json=REPORT | {"kind": "moved", "happened_at": AFTER}))
    client.post(f"/v1/events/{closed}/close", json={"words": "It never left the room."}, headers=BY)
    shown = {"indication": {"value": "20.3", "unit": "kg"}, "happened_at": NEXT}
    told(client.put(f"/v1/checks/{an_id()}", json=CHECK | shown))
    told(client.put(f"/v1/reports/{an_id()}", json=REPORT | {"device": "Z-77", "kind": "wrong unit"}))
    told(client.post("/v1/devices/A-01/moves", json=MOVE | {"ward": "QG-CDU", "place": "bay 5"}, headers=BY))
    told(client.post("/v1/devices/C-05/repairs", json=REPAIR | {"stage": "returned", "seal_broken": True}, headers=BY))


@pytest.fixture(scope="module")
def fleet(settings: Settings) -> Fleet:
    """Give the fleet as it is gathered from that record."""
    engine = make_engine(settings.database_url)
    with reading(engine) as connection:
        found = gather(connection, TODAY)
    engine.dispose()
    return found


def scale(fleet: Fleet, tag: str = "A-04") -> Scale:
    return fleet.scale_of_tag[tag]


def page(fleet: Fleet, tag: str = "A-04") -> str:
    return words(device_page(fleet, scale(fleet, tag)).body)


def test_the_answer_names_every_open_thing_the_worst_first(fleet: Fleet) -> None:
    said = page(fleet)
    answer = said[: said.index("Measurement")]

    assert "Do not use this scale." in answer
    for sentence in (
        "It was reported as damaged on 24 November 2026: a person has to look at it.",
        "A check in service failed on 25 November 2026: it showed 20.3 kg with 20 kg on it.",
        "It was reported as reading oddly on 25 November 2026 and not calibrated since.",
    ):
        assert sentence in answer
    assert "dropped on 20 November" not in answer


def test_what_is_open_stands_under_the_answer_with_what_closes_it(fleet: Fleet) -> None:
    said = page(fleet)
    open_ = said[said.index("What is open") : said.index("Error against load")]

    assert "Reported: damaged; reported for: nurse in charge." in open_
    assert "Open until a person closes it in words." in open_
    assert "it showed 20.3 kg, fail at this load and place only" in open_
    assert "never left the room" not in open_


def test_the_line_of_time_has_every_event_and_what_closed_it(fleet: Fleet) -> None:
    said = page(fleet)
    line = said[said.rindex("Everything that happened") :]

    assert "closed by the calibration of 24 November 2026" in line
    assert "closed on 25 November 2026 by S-01: “It never left the room.”" in line
    assert line.index("reads oddly") < line.index("damaged") < line.index("dropped")


def test_words_that_look_like_a_persons_are_on_no_page(settings: Settings, fleet: Fleet, tmp_path: Path) -> None:
    publish(fleet, tmp_path / "site")
    pages = [file.read_text("utf-8") for file in (tmp_path / "site").rglob("*.html")]

    assert len(pages) > 40
    assert all("Mrs Smith" not in text for text in pages)
    assert NOTICE in page(fleet)


def test_a_scale_that_was_told_of_says_whom_to_call(fleet: Fleet) -> None:
    assert "C-17" in page(fleet)
    assert "nurse in charge, extension 4 418" in page(fleet)


def test_a_moved_and_a_repaired_scale_say_so(fleet: Fleet) -> None:
    assert "Moved to QG, QG-CDU, bay 5" in page(fleet, "A-01")
    repaired = page(fleet, "C-05")
    assert "Back from repair; a seal was broken." in repaired
    assert "Only licensed or authorised persons may break seals" in repaired


def test_the_site_lists_what_is_open_about_its_scales_and_what_is_not_linked(fleet: Fleet) -> None:
    site = next(site for site in fleet.sites if site["code"] == "QG")

    said = words(site_page(fleet, site).body)

    open_ = said[said.index("What is open about its scales") :]
    assert all(tag in open_ for tag in ("A-01", "A-04", "C-05"))
    assert "Told about scales that are not on the register" in said
    assert "shows another unit" in said[said.index("Told about scales") :]


def test_the_front_page_names_the_scales_with_something_open(fleet: Fleet) -> None:
    said = words(home_page(fleet).body)

    told = said[said.index("Told since they were last calibrated") : said.index("Every site and ward")]
    assert all(tag in told for tag in ("A-01", "A-04", "C-05", "Z-77"))
    assert "G-01" not in told


def test_a_page_is_touched_by_the_newest_thing_told_of_its_scale(fleet: Fleet) -> None:
    newest = max(event["log_number"] for event in scale(fleet).events)

    assert scale(fleet).touch.number >= newest
    assert scale(fleet, "G-01").touch.number < min(event["log_number"] for event in scale(fleet).events)
