"""The published site as it is served: parts of files, and what a browser sees where there is no page."""

from pathlib import Path

import pytest
from flask.testing import FlaskClient

from api.settings import Settings
from site_builder.publish import publish
from tests.site_builder.samples import a_fleet

# What browsers send for a page, by RFC 9110 12.5.1.
BROWSER = {"Accept": "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8"}
# RFC 9110 14.1.2: these begin at or beyond the end, whatever the file.
BEYOND = ["bytes=99999999-", "bytes=99999999-999999999"]


@pytest.fixture(scope="module", autouse=True)
def site(kept: Settings) -> Path:
    """Publish the invented fleet where the service looks for it."""
    publish(a_fleet(), kept.site_folder)
    return kept.site_folder


@pytest.mark.parametrize("part", BEYOND)
@pytest.mark.parametrize("address", ["/", "/css/steelyard.css", "/build.json"])
def test_a_part_beyond_the_end_is_refused_with_the_length(door: FlaskClient, address: str, part: str) -> None:
    """RFC 9110 15.5.17: 416, with a Content-Range that tells the length."""
    whole = door.get(address, buffered=True)

    answer = door.get(address, headers={"Range": part}, buffered=True)

    assert (answer.status_code, answer.json["code"]) == (416, "beyond-the-end")
    assert answer.headers["Content-Range"] == f"bytes */{len(whole.data)}"


def test_a_part_of_a_file_is_sent(door: FlaskClient) -> None:
    whole = door.get("/css/steelyard.css", buffered=True).data

    answer = door.get("/css/steelyard.css", headers={"Range": "bytes=0-9"}, buffered=True)

    assert (answer.status_code, answer.data) == (206, whole[:10])
    assert answer.headers["Content-Range"] == f"bytes 0-9/{len(whole)}"


@pytest.mark.parametrize("address", ["/d/no-such/", "/nothing", "/a/b/c/d", "/v1"])
def test_a_browser_is_shown_a_page_where_there_is_none(door: FlaskClient, address: str) -> None:
    answer = door.get(address, headers=BROWSER, buffered=True)

    said = answer.get_data(as_text=True)
    assert (answer.status_code, answer.mimetype) == (404, "text/html")
    assert "There is no page at this address" in said
    assert 'href="/find/"' in said
    assert 'href="/css/steelyard.css"' in said
    assert answer.headers["Content-Security-Policy"] == door.get("/", buffered=True).headers["Content-Security-Policy"]


@pytest.mark.parametrize("accepted", [{}, {"Accept": "*/*"}, {"Accept": "application/json"}])
def test_a_program_is_told_a_problem_where_there_is_no_page(door: FlaskClient, accepted: dict[str, str]) -> None:
    answer = door.get("/d/no-such/", headers=accepted, buffered=True)

    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")


def test_a_browser_that_asks_the_service_is_told_a_problem(door: FlaskClient) -> None:
    answer = door.get("/v1/devices/NO-SUCH", headers=BROWSER, buffered=True)

    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
