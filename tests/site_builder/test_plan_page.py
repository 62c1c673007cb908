"""The plan sheet: every step of the plan stands on it, with an empty box for everything that has to be written down."""

import re
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

# The boxes around the steps: pieces counted out and back, and who read, typed and compared.
ROUND_THE_STEPS = ("counted out", "counted back", "read by", "typed by", "compared by", "sheet number", "day")


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

    asked = sum(len(step["fill"]) * max(1, step["readings"]) for step in read["plan"]["steps"]) + len(ROUND_THE_STEPS)
    assert page.address == "d/a-04/plan/"
    assert len(re.findall('class="box[" ]', page.body)) == asked
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


def test_every_part_stands_under_its_heading_with_the_scales_tag_over_its_table(fleet: Fleet) -> None:
    scale = fleet.scale_of_tag["A-04"]
    page = plan_page(scale, scale.plan or {})

    parts = list(dict.fromkeys(step["part"] for step in (scale.plan or {})["plan"]["steps"]))
    assert len(parts) >= 6
    assert page.body.count("A-04: step") >= len(parts)
    assert all(f"<h2>{part[0].upper()}{part[1:]}</h2>" in page.body for part in parts)


def test_the_pieces_to_bring_are_counted_by_their_nominal_mass(fleet: Fleet) -> None:
    scale = fleet.scale_of_tag["A-04"]
    read = scale.plan or {}
    page = plan_page(scale, read)

    placed = {code for step in read["plan"]["steps"] for code in step["pieces"]}
    assert {piece["piece"] for piece in read["plan"]["pieces"]} == placed
    twenties = sum(code.startswith("FS1-20") for code in placed)
    assert f"{twenties} × 20" in page.body
    assert f"{len(placed)} pieces" in page.body


def test_the_sheet_of_a_scale_in_a_magnet_zone_has_one_step_and_no_load(held: Connection, fleet: Fleet) -> None:
    page = plan_page(fleet.scale_of_tag["C-02"], document_of(plan_for(held, "C-02", PlanAsked(TODAY, "FS-1"))))

    assert page.body.count('class="no"') == 1
    assert "Pieces to bring" not in page.body
    assert "FS1-" not in page.body
    assert "ask for the plan of the ward where it will be tested" in page.body
