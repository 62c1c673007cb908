"""Events of weights as an app sends them, on the invented network's set FS-1 of class M1 and its certificates."""

import json
from typing import Any

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.doors import JSON, an_id

SET = "FS-1"
TAKEN = ["FS1-20-01", "FS1-20-02", "FS1-10", "FS1-5"]


def _told(kind: str, at: str, **more: Any) -> dict[str, Any]:
    told = {
        "schema": "weight-event/1",
        "kind": kind,
        "site": "QG",
        "happened_at": f"2026-11-{at}:00-07:00",
        "by": "T-01",
    }
    return told | more


def out(at: str = "24T07:40", *pieces: str) -> dict[str, Any]:
    """Return a check-out of the set."""
    return _told("checked out", at, weight_set=SET, pieces=list(pieces) or TAKEN, round="north wing")


def back(at: str = "24T16:00", *pieces: str) -> dict[str, Any]:
    """Return a count of the set."""
    return _told("counted in", at, weight_set=SET, pieces=list(pieces))


def mishap(at: str = "24T13:00", *pieces: str, what: str = "dropped") -> dict[str, Any]:
    """Return a mishap of pieces."""
    return _told(what, at, pieces=list(pieces) or ["FS1-10"])


def laboratory(way: str, at: str, *pieces: str) -> dict[str, Any]:
    """Return pieces on their way to the laboratory, or back."""
    return _told(way, at, pieces=list(pieces) or ["FS1-10"], laboratory="Larkfield Mass Laboratory (invented)")


def compared(at: str = "24T14:00", *, off: str = "0", piece: str = "FS1-10", division: str = "0.01") -> dict[str, Any]:
    """Return a comparison of the 10 kg piece with that of the set of class F2, on a balance of known repeatability: it reads
    `off` grams more than the standard."""
    kg = {"unit": "kg"}
    standard = "10.0000"
    pairs = [
        {"standard": kg | {"value": standard}, "piece": kg | {"value": f"{10 + float(off) / 1000:.4f}"}}
        for _ in range(3)
    ]
    return _told(
        "compared", at, piece=piece, against=["IN1-10"], balance="workshop balance 32 kg",
        division={"value": division, "unit": "g"}, pairs=pairs,
        repeatability={"standard_deviation": {"value": "0.02", "unit": "g"}, "degrees_of_freedom": 19,
                       "source": "20 weighings of 10 kg in the workshop"},
    )  # fmt: skip


COMPARED = compared()


def release(at: str = "24T15:00", *, piece: str = "FS1-10", **basis: str) -> dict[str, Any]:
    """Return the release of a piece."""
    return {"schema": "weight-release/1", "site": "QG", "happened_at": f"2026-11-{at}:00-07:00", "piece": piece,
            "reason": "it agrees"} | basis  # fmt: skip


def tell(client: FlaskClient, body: dict[str, Any], event: str | None = None, **headers: str) -> TestResponse:
    """Send an event of weights, or a release, under an id of its own where none is given."""
    where = "weight-releases" if body["schema"] == "weight-release/1" else "weight-events"
    told = {name.replace("_", "-"): value for name, value in headers.items()}
    return client.put(f"/v1/{where}/{event or an_id()}", data=json.dumps(body), headers=JSON | told)
