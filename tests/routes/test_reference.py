"""The contract can be browsed from the service's own files: nothing is asked of another address."""

import re

from flask.testing import FlaskClient


def test_the_page_draws_the_contract_of_this_service_with_its_own_files_only(client: FlaskClient) -> None:
    page = client.get("/reference/")

    assert page.status_code == 200
    addresses = re.findall(r'(?:src|href)="([^"]+)"', page.text)
    assert len(addresses) == 4
    for address in addresses:
        assert address.startswith("/")
        with client.get(address) as answer:
            assert answer.status_code == 200, address
    assert 'url: "/v1/openapi.json"' in client.get("/reference/start.js").text
    assert "<script>" not in page.text


def test_its_policy_lets_nothing_in_from_elsewhere(client: FlaskClient) -> None:
    policy = client.get("/reference/").headers["Content-Security-Policy"]

    assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
    assert "http" not in policy
    assert client.get("/reference").headers["Location"] == "/reference/"


def test_only_the_readers_own_files_are_there(client: FlaskClient) -> None:
    for wrong in ("/reference/files/..%2f__init__.py", "/reference/files/none.js", "/reference/files/"):
        assert client.get(wrong).status_code == 404
