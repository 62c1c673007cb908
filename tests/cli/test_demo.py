"""The demo: everything through the running service, and each request that writes is one entry of the log."""

import re
from pathlib import Path

import pytest

from tests.cli.conftest import words_of
from tests.conftest import POSTGRESQL


@pytest.mark.skipif(bool(POSTGRESQL), reason="the demo makes a SQLite record of its own, whatever the installation has")
def test_the_demo_serves_as_many_requests_as_it_logs_and_publishes_the_site(tmp_path: Path) -> None:
    said = words_of(["demo", "--once", "--port", "0"], STEELYARD_FOLDER=str(tmp_path))

    assert said.returncode == 0, said.stderr
    counted = re.search(r"(\d+) requests served, (\d+) log entries", said.stdout)
    assert counted is not None, said.stdout
    assert counted[1] == counted[2]
    assert int(counted[1]) > 100
    assert "Published " in said.stdout
    assert "A-04" in (tmp_path / "demo" / "site" / "d" / "a-04" / "index.html").read_text("utf-8")
    assert (tmp_path / "demo" / "record.db").is_file()
