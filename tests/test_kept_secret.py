"""The secrets of an installation are made once, whoever comes first, and are read by the service's account alone."""

import stat
import threading
from pathlib import Path

from api.kept_secret import SECRET_BYTES, kept_secret


def test_a_secret_stays_what_it_was(tmp_path: Path) -> None:
    assert kept_secret(tmp_path, "cursors") == kept_secret(tmp_path, "cursors")


def test_each_name_and_each_folder_has_a_secret_of_its_own(tmp_path: Path) -> None:
    found = {kept_secret(tmp_path / folder, name) for folder in ("a", "b") for name in ("one", "two")}

    assert {len(secret) for secret in found} == {SECRET_BYTES}
    assert len(found) == 4


def test_nobody_but_the_account_of_the_service_reads_it(tmp_path: Path) -> None:
    kept_secret(tmp_path, "cursors")

    assert stat.S_IMODE((tmp_path / "secrets").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "secrets" / "cursors").stat().st_mode) == 0o600


def test_of_many_who_come_at_once_all_get_the_same(tmp_path: Path) -> None:
    found: list[bytes] = []
    begin = threading.Barrier(16)

    def ask() -> None:
        begin.wait()
        found.append(kept_secret(tmp_path, "cursors"))

    threads = [threading.Thread(target=ask) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert (len(found), len(set(found))) == (16, 1)
    assert [path.name for path in (tmp_path / "secrets").iterdir()] == ["cursors"]
