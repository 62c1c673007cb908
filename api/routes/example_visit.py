"""One visit as an example of a body: what it leaves out is flagged, so that there is something to answer at its release."""

import json
from typing import Any, Final

from api.ledger.digests import digest_of


def _kg(value: str) -> dict[str, str]:
    return {"value": value, "unit": "kg"}


CALIBRATION: Final[dict[str, Any]] = {
    "schema": "calibration/1", "site": "QG", "device": "A-04", "ward": "QG-CDU",
    "performed": {"start": "2026-11-24T10:09:00-07:00", "end": "2026-11-24T10:31:00-07:00"},
    "technicians": ["T-01"], "purpose": "check", "outcome": "partly completed", "reasons": ["abandoned"],
    "weight_set": "FS-1",
    "as_found": {"readings": [
        {"seq": 1, "test": "zero set", "indication": _kg("0.0"), "stable": True},
        {"seq": 2, "test": "increasing", "indication": _kg("50.0"), "load": _kg("50"), "placed": "spread", "stable": True,
         "pieces": ["FS1-20-01", "FS1-20-02", "FS1-10"]},
    ]},
    "pieces_counted": {"out": 3, "back": 3},
}  # fmt: skip

# As the contract shows it, names in order.
DIGEST: Final = digest_of(json.dumps(CALIBRATION, sort_keys=True).encode())
