"""Bodies to try for events of a device, by method and path: in the contract, and what the tests send."""

from typing import Any, Final

_WHEN: Final = "2026-11-24T07:20:00-07:00"
_ID: Final = "0193f0aa-0000-7000-8000-00000000000{}"

REPORT: Final[dict[str, Any]] = {
    "schema": "report/1", "site": "QG", "device": "A-04", "kind": "dropped", "happened_at": _WHEN,
    "reported_for": "nurse in charge", "words": "It fell off the trolley at the lift.",
}  # fmt: skip

CHECK: Final[dict[str, Any]] = {
    "schema": "check/1", "site": "QG", "device": "A-04", "happened_at": _WHEN, "checked_for": "nurse in charge",
    "indication": {"value": "20.0", "unit": "kg"}, "placed": "one body centred", "position": "centre", "stable": True,
    "known": {"mass": {"value": "20", "unit": "kg"}, "off_by_at_most": {"value": "0.01", "unit": "kg"},
              "described": "The ward's check weight, compared in the workshop in March 2026."},
}  # fmt: skip

EVENT_EXAMPLES: Final[dict[tuple[str, str], dict[str, Any]]] = {
    ("put", "/v1/reports/{event_id}"): REPORT,
    ("put", "/v1/checks/{event_id}"): CHECK,
    ("post", "/v1/devices/{tag}/reports"): {**REPORT, "id": _ID.format(3)},
}
