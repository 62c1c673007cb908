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

MOVE: Final[dict[str, Any]] = {
    "schema": "move/1", "site": "QG", "ward": "QG-ED", "place": "triage, bay 2", "happened_at": _WHEN,
    "reason": "The scale of the triage is at the workshop.", "id": _ID.format(4),
}  # fmt: skip
STATE: Final[dict[str, Any]] = {
    "schema": "state/1", "state": "held back", "happened_at": _WHEN, "reason": "Waits for a new foot.",
    "id": _ID.format(5),
}  # fmt: skip
LIMIT: Final[dict[str, Any]] = {
    "schema": "limit/1", "up_to": {"value": "120", "unit": "kg"}, "until": "2027-02-28", "happened_at": _WHEN,
    "reason": "Reads low above 120 kg; waits for a new cell.", "id": _ID.format(6),
}  # fmt: skip
REPAIR: Final[dict[str, Any]] = {
    "schema": "repair/1", "stage": "sent", "happened_at": _WHEN, "words": "A foot is cracked.", "seal_broken": False,
    "id": _ID.format(7),
}  # fmt: skip

EVENT_EXAMPLES: Final[dict[tuple[str, str], dict[str, Any]]] = {
    ("put", "/v1/reports/{event_id}"): REPORT,
    ("put", "/v1/checks/{event_id}"): CHECK,
    ("post", "/v1/devices/{tag}/reports"): {**REPORT, "id": _ID.format(3)},
}
