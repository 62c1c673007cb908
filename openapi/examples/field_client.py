"""A reference field client: it keeps what was measured until the service holds it, whatever the network does.

    python field_client.py add visit.json     makes an id, keeps the visit in the outbox
    python field_client.py send               sends what is in the outbox, once each
    python field_client.py keep-sending       goes on until the outbox is empty
    python field_client.py bundle QG qg.json  fetches everything for working at a site without a signal

Environment: STEELYARD_URL (default http://127.0.0.1:8350), STEELYARD_KEY where the service asks for one, STEELYARD_OUTBOX
(a folder, default ./outbox). Standard library only.

The rules it follows, which every field app should:
- The id is made once and saved with the bytes before the first sending; the same bytes go under it every time.
- A copy is deleted only when a receipt names its digest. No answer, an answer that cannot be read, or 429 and 5xx: keep it
  and try again, later and later with chance in it, and never give up. Retry-After is obeyed.
- 409 and other refusals of one visit set that visit aside with what was said; the others go on. A person looks at it: other
  content under an id is an amendment, never a second sending.
- 401 and 403 are about the key: everything stays in the outbox and somebody is told.
"""

import hashlib
import json
import os
import random
import secrets
import sys
import time
import urllib.error
import urllib.request
import uuid
from collections.abc import Callable
from datetime import UTC, datetime
from http.client import HTTPException
from pathlib import Path
from urllib.parse import urlencode

LONGEST_WAIT = 15 * 60.0
TIMEOUT = 30.0
KEPT = ("kept", "kept before")


def new_id(now: float | None = None) -> str:
    """Return a UUID of version 7 (RFC 9562 section 5.7): milliseconds, then chance."""
    milliseconds = int((time.time() if now is None else now) * 1000)
    number = milliseconds << 80 | 0x7 << 76 | secrets.randbits(12) << 64 | 0b10 << 62 | secrets.randbits(62)
    return str(uuid.UUID(int=number))


class Outbox:
    """Visits in a folder: `<id>.json` waits, `<id>.refused` says why one was set aside, `<id>.receipt` that it is kept."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)

    def add(self, content: bytes) -> str:
        """Keep a visit under an id of its own; it is on the disk when this returns."""
        visit = new_id()
        self._write(visit, "json", content)
        return visit

    def waiting(self) -> list[str]:
        """Return the visits that are still to be sent, oldest first."""
        return [path.stem for path in sorted(self.folder.glob("*.json")) if not self._at(path.stem, "refused").exists()]

    def content(self, visit: str) -> bytes:
        """Return the bytes of a visit."""
        return self._at(visit, "json").read_bytes()

    def set_aside(self, visit: str, said: bytes) -> None:
        """Keep what the service said against a visit; it waits for a person."""
        self._write(visit, "refused", said)

    def done(self, visit: str, receipt: bytes) -> None:
        """Keep the receipt, then delete the copy."""
        self._write(visit, "receipt", receipt)
        self._at(visit, "json").unlink()

    def _at(self, visit: str, kind: str) -> Path:
        return self.folder / f"{visit}.{kind}"

    def _write(self, visit: str, kind: str, content: bytes) -> None:
        beside = self._at(visit, f"{kind}-part")
        with beside.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(self._at(visit, kind))


class Service:
    """The service at an address: one visit is sent to it, and its answer sorted."""

    def __init__(self, address: str, key: str | None = None) -> None:
        self.address, self.key = address.rstrip("/"), key

    def send(self, visit: str, content: bytes) -> tuple[str, bytes, float]:
        """Return what became of a sending, what was said, and how many seconds the service asks to wait.

        `kept`, `kept before`, `refused` (set it aside), `no key` (stop, ask for one), or `later`.
        """
        headers = {"Content-Type": "application/json", "Steelyard-Sent-At": datetime.now(UTC).isoformat()}
        if self.key:
            headers["Authorization"] = f"Bearer {self.key}"
        request = urllib.request.Request(
            f"{self.address}/v1/calibrations/{visit}", data=content, headers=headers, method="PUT"
        )
        try:
            with urllib.request.urlopen(request, timeout=TIMEOUT) as answer:
                said: bytes = answer.read()
                return self._kept(answer.status, said, content), said, 0.0
        except urllib.error.HTTPError as error:
            return self._not_kept(error)
        except (OSError, HTTPException) as error:  # no connection, cut off, or not HTTP at all
            return "later", repr(error).encode(), 0.0

    def fetch_bundle(self, site: str, file: Path) -> bool:
        """Write the bundle of a site into a file and return True; False where the file holds the newest one already."""
        headers = {"Authorization": f"Bearer {self.key}"} if self.key else {}
        beside = file.with_name(f"{file.name}.etag")
        if file.exists() and beside.exists():
            headers["If-None-Match"] = beside.read_text()
        request = urllib.request.Request(f"{self.address}/v1/bundle?{urlencode({'site': site})}", headers=headers)
        try:
            with urllib.request.urlopen(request, timeout=TIMEOUT) as answer:
                beside.unlink(missing_ok=True)  # a file that is cut off now has no tag
                file.write_bytes(answer.read())
                beside.write_text(answer.headers["ETag"])
                return True
        except urllib.error.HTTPError as error:
            if error.code != 304:
                raise
            return False

    @staticmethod
    def _kept(status: int, said: bytes, content: bytes) -> str:
        """A receipt counts only with the digest of exactly these bytes; anything else is asked again."""
        try:
            digest = json.loads(said)["digest"]
        except (ValueError, KeyError, TypeError):
            return "later"
        if digest != f"sha256:{hashlib.sha256(content).hexdigest()}":
            return "later"
        return "kept" if status == 201 else "kept before"

    @staticmethod
    def _not_kept(error: urllib.error.HTTPError) -> tuple[str, bytes, float]:
        try:
            said = error.read()
        except (OSError, HTTPException):
            return "later", b"", 0.0
        wait = error.headers.get("Retry-After", "0")
        seconds = float(wait) if wait.isdigit() else 0.0
        if error.code in (401, 403):
            return "no key", said, seconds
        if error.code in (408, 425, 429) or error.code >= 500 or b'"code"' not in said:
            return "later", said, seconds
        return "refused", said, seconds


def send_once(outbox: Outbox, service: Service) -> tuple[dict[str, int], float]:
    """Send every visit that waits, once; return how many became what, and how long the service asks to wait."""
    became: dict[str, int] = {}
    asked = 0.0
    for visit in outbox.waiting():
        what, said, wait = service.send(visit, outbox.content(visit))
        became[what] = became.get(what, 0) + 1
        asked = max(asked, wait)
        if what in KEPT:
            outbox.done(visit, said)
        elif what == "refused":
            outbox.set_aside(visit, said)
        elif what == "no key":
            break
    return became, asked


def keep_sending(
    outbox: Outbox, service: Service, sleep: Callable[[float], None] = time.sleep, first: float = 1.0
) -> bool:
    """Send until nothing waits, with pauses that double up to a quarter of an hour; False where a key is missing."""
    pause = first
    while outbox.waiting():
        became, asked = send_once(outbox, service)
        if "no key" in became:
            return False
        pause = first if any(what in became for what in KEPT) else min(pause * 2, LONGEST_WAIT)
        if outbox.waiting():
            sleep(max(asked, random.uniform(0, pause)))
    return True


def main(arguments: list[str]) -> int:
    """Do what the first argument says."""
    outbox = Outbox(Path(os.environ.get("STEELYARD_OUTBOX", "outbox")))
    service = Service(os.environ.get("STEELYARD_URL", "http://127.0.0.1:8350"), os.environ.get("STEELYARD_KEY"))
    match arguments:
        case ["add", file]:
            sys.stdout.write(f"{outbox.add(Path(file).read_bytes())}\n")
            return 0
        case ["send"]:
            became, _ = send_once(outbox, service)
            sys.stdout.write(f"{json.dumps(became)}\n")
            return 1 if "no key" in became else 0
        case ["bundle", site, file]:
            sys.stdout.write("new\n" if service.fetch_bundle(site, Path(file)) else "unchanged\n")
            return 0
        case ["keep-sending"]:
            return 0 if keep_sending(outbox, service) else 1
    sys.stderr.write(__doc__ or "")
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
