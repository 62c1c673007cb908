"""The plan sheet: every step of the plan stands on it, with an empty box for everything that has to be written down."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Connection

from api.answers.plan import plan_for
from api.database import make_engine, reading
from api.records.documents import document_of
from api.records.plan import PlanAsked
from site_builder.fleet import Fleet
from site_builder.gather import gather
from site_builder.pages.device import device_page
from site_builder.pages.plan import plan_page
from tests.doors import example_bytes, send
from tests.filled_record import TODAY, copy_of, door_to


@pytest.fixture
def held(registered: str, tmp_path: Path) -> Iterator[Connection]:
    """The network's register with one calibration of A-04, made with set FS-1."""
    with copy_of(registered, tmp_path) as settings:
        with door_to(settings) as client:
            assert send(client, example_bytes()).status_code == 201
        engine = make_engine(settings.database_url)
        with reading(engine) as connection:
            yield connection
        engine.dispose()


@pytest.fixture
def fleet(held: Connection) -> Fleet:
    return gather(held, TODAY)


def test_the_sheet_has_a_box_for_every_reading_of_the_services_own_plan(held: Connection, fleet: Fleet) -> None:
    read = document_of(plan_for(held, "A-04", PlanAsked(TODAY, "FS-1")))
    page = plan_page(fleet.scale_of_tag["A-04"], fleet.scale_of_tag["A-04"].plan or {})

    asked = sum(len(step["fill"]) * max(1, step["readings"]) for step in read["plan"]["steps"])
    assert page.address == "d/a-04/plan/"
    assert page.body.count('class="box"') == asked
    assert read["digest"] in page.body
    assert all(word in page.body for word in ("read by", "typed by", "compared by"))


def test_a_scale_without_a_visit_gets_a_sheet_without_pieces(fleet: Fleet) -> None:
    page = plan_page(fleet.scale_of_tag["A-01"], fleet.scale_of_tag["A-01"].plan or {})

    assert "not named" in page.body
    assert "FS1-" not in page.body


def test_the_scales_page_leads_to_its_sheet_and_a_retired_one_has_none(fleet: Fleet) -> None:
    retired = fleet.scale_of_tag["A-13"]

    assert 'href="../../d/a-04/plan/"' in device_page(fleet, fleet.scale_of_tag["A-04"]).body
    assert retired.plan is None
    assert "plan/" not in device_page(fleet, retired).body
