"""Attachments as an app sends them in these tests: the smallest file of each kind, and a visit that names one."""

from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.ledger.digests import digest_of
from tests.doors import example

# The signatures stand in RFC 2083 section 3.1, ISO/IEC 10918-1 annex B.1 and ISO 32000-1 section 7.5.2; the rest is made up.
FILES = {
    "image/png": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01",
    "image/jpeg": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00\x01",
    "application/pdf": b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n",
    "text/plain": "50 kg placed, 50,0 kg shown; die Säuglingswaage steht eben\n".encode(),
    "text/csv": b"load;shown\r\n50 kg;50.0 kg\r\n",
}


def put(
    client: FlaskClient, content: bytes, media_type: str, digest: str | None = None, question: str = "?site=QG"
) -> TestResponse:
    """Send an attachment, under the digest of its bytes where no other is given."""
    address = f"/v1/attachments/{digest or digest_of(content)}{question}"
    return client.put(address, data=content, headers={"Content-Type": media_type} if media_type else {})


def naming(*contents: bytes, what: str = "the label on the column") -> dict[str, Any]:
    """Return a visit that names attachments."""
    return example() | {"attachments": [{"digest": digest_of(content), "what": what} for content in contents]}


def attachments_asked(client: FlaskClient) -> dict[tuple[str, str], list[TestResponse]]:
    """Return what both operations answered, with answers of several statuses."""
    one = "/v1/attachments/{digest}"
    table, digest = FILES["text/csv"], digest_of(FILES["text/csv"])
    return {
        (one, "put"): [
            put(client, table, "text/csv"), put(client, table, "text/csv"), put(client, table, "image/png"),
            put(client, table, "text/html"), put(client, table, "text/csv", f"sha256:{64 * '0'}"),
            put(client, table, "text/csv", question=""),
        ],
        (one, "get"): [
            client.get(f"/v1/attachments/{digest}"), client.get(f"/v1/attachments/{digest}?site=HM"),
            client.get("/v1/attachments/x"),
        ],
    }  # fmt: skip
