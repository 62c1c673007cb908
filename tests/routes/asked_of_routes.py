"""One request for each route of the service: what the authorisation matrix asks, of what is there and of what is not.

A route that is not here fails `test_authorisation.py`: whoever adds one says here how it is asked, with the names of things
that belong to QG, with names that nothing has, and whether another site must not be able to tell the two apart.
"""

from dataclasses import dataclass, field
from typing import Any

from api.ledger.digests import digest_of
from api.metrology.calculations.table import CALCULATIONS
from api.records.register import KINDS
from api.routes.event_examples import CHECK, LIMIT, MOVE, REPAIR, REPORT, STATE
from api.routes.labels import ENDED, STUCK, STUCK_AS
from api.routes.life import AMENDMENT
from api.routes.life import EXAMPLES as ACTS
from api.routes.rounds import EXAMPLE as ROUND
from api.routes.weight_events import CHECKED_OUT, RELEASE
from tests.doors import example, without

SENT = "0193f0aa-0000-7000-8000-0000000000a1"
NEWER = "0193f0aa-0000-7000-8000-0000000000c3"
TOLD = "0193f0aa-0000-7000-8000-0000000000d4"
OTHER = "0193f0aa-0000-7000-8000-0000000000e5"
OF_WEIGHTS = "0193f0aa-0000-7000-8000-0000000000f6"
NOWHERE = "0193f0aa-0000-7000-8000-0000000000b2"
FILE = b"load;shown\n50 kg;50.0 kg\n"
DIGEST = digest_of(FILE)
WHY = {"because": "the wrong file, sent by mistake"}
# A name of each kind that stands on the register of the invented network, at QG where it stands at a site.
ON_REGISTER = {
    "sites": "QG", "wards": "QG-CDU", "models": "COL-200", "devices": "A-04", "weights": "FS1-10", "weight-sets": "FS-1",
    "technicians": "T-01", "policies": "network", "house-rules": "BED-1PCT", "weight-certificates": "LM-FS-1-1",
    "import-profiles": "old-system",
}  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """How a route is asked: the parts of its address that are there and that are not, and a body.

    `apart`: another site gets the same answer for both. What has no site, or travels, is everybody's.
    """

    there: dict[str, str] = field(default_factory=dict)
    nowhere: dict[str, str] = field(default_factory=dict)
    body: Any = None
    apart: bool = True


def _of_tag(name: str) -> Asked:
    return Asked({name: "A-04"}, {name: "Z-99"})


def _of_calibration(body: Any = None) -> Asked:
    return Asked({"calibration_id": SENT}, {"calibration_id": NOWHERE}, body)


# `{certificate}`, `{job}`, `{import}`, `{export}`, `{key}` and `{label}` are put in by the test, which makes them.
REQUESTS: dict[tuple[str, str], Asked] = {
    ("PUT", "/v1/calibrations/<uuid:calibration_id>"):
        Asked({"calibration_id": SENT}, {"calibration_id": NOWHERE}, example()),
    ("GET", "/v1/calibrations/<uuid:calibration_id>"): Asked({"calibration_id": SENT}, {"calibration_id": NOWHERE}),
    ("GET", "/v1/calibrations/<uuid:calibration_id>/content"):
        Asked({"calibration_id": SENT}, {"calibration_id": NOWHERE}),
    ("GET", "/v1/calibrations/<uuid:calibration_id>/life"): _of_calibration(),
    **{("POST", f"/v1/calibrations/<uuid:calibration_id>/{act}"): _of_calibration(body) for act, body in ACTS.items()},
    ("POST", "/v1/calibrations/<uuid:calibration_id>/amendments"): _of_calibration(AMENDMENT),
    ("GET", "/v1/calibrations"): Asked(),
    ("POST", "/v1/calibrations"): Asked(body=example() | {"id": NOWHERE}),
    ("POST", "/v1/calibrations:check"): Asked(body=example()),
    ("POST", "/v1/calibrations:batch"): Asked(body=[example() | {"id": NOWHERE}]),
    **{(method, "/v1/attachments/<digest>"): Asked({"digest": DIGEST}, {"digest": f"sha256:{64 * '0'}"}, body)
       for method, body in (("PUT", {}), ("GET", None))},
    ("GET", "/v1/quarantine"): Asked(),
    ("GET", "/v1/quarantine/<uuid:calibration_id>"): Asked({"calibration_id": NEWER}, {"calibration_id": NOWHERE}),
    ("GET", "/v1/certificates/<certificate_number>"):
        Asked({"certificate_number": "{certificate}"}, {"certificate_number": "QG-2020-0001"}),
    ("GET", "/v1/certificates/<certificate_number>/revisions"):
        Asked({"certificate_number": "{certificate}"}, {"certificate_number": "QG-2020-0001"}),
    **{("GET", f"/v1/devices/<tag>/{what}"): _of_tag("tag")
       for what in ("history", "use", "instead", "weighing", "corners", "plan", "events")},
    ("PUT", "/v1/reports/<uuid:event_id>"): Asked({"event_id": TOLD}, {"event_id": NOWHERE}, REPORT),
    ("POST", "/v1/devices/<tag>/reports"): Asked({"tag": "A-04"}, {"tag": "Z-99"}, without(REPORT, "device") | {"id": OTHER}),
    ("PUT", "/v1/checks/<uuid:event_id>"): Asked({"event_id": TOLD}, {"event_id": NOWHERE}, CHECK),
    **{("POST", f"/v1/devices/<tag>/{what}"): Asked({"tag": "A-04"}, {"tag": "Z-99"}, body)
       for what, body in (("moves", MOVE), ("states", STATE), ("limits", LIMIT), ("repairs", REPAIR))},
    ("GET", "/v1/events"): Asked(),
    ("GET", "/v1/events/<uuid:event_id>"): Asked({"event_id": TOLD}, {"event_id": NOWHERE}),
    ("POST", "/v1/events/<uuid:event_id>/close"):
        Asked({"event_id": TOLD}, {"event_id": NOWHERE}, {"words": "It was looked at."}),
    ("GET", "/v1/due"): Asked(),
    ("GET", "/v1/changes"): Asked(),
    ("GET", "/v1/bundle"): Asked(),
    ("GET", "/v1/about"): Asked(),
    ("GET", "/v1/openapi.json"): Asked(),
    ("POST", "/v1/rounds:weights"): Asked(body=ROUND),
    ("GET", "/v1/imports"): Asked(),
    ("POST", "/v1/imports"): Asked(),
    ("GET", "/v1/imports/<import_id>"): Asked({"import_id": "{import}"}, {"import_id": NOWHERE}),
    **{("POST", f"/v1/imports/<import_id>/{act}"): Asked({"import_id": "{import}"}, {"import_id": NOWHERE}, WHY)
       for act in ("try", "commit", "give-up", "undo")},
    **{("GET", f"/v1/imports/<import_id>/report.{form}"):
           Asked({"import_id": "{import}"}, {"import_id": NOWHERE}) for form in ("csv", "ndjson", "html")},
    **{("GET", f"/v1/imports/{what}"): Asked() for what in ("template.csv", "schema.json", "profile.json")},
    ("GET", "/v1/exports"): Asked(),
    ("POST", "/v1/exports"): Asked(body={"since": 0}),
    ("GET", "/v1/exports/<export_id>"): Asked({"export_id": "{export}"}, {"export_id": NOWHERE}),
    ("GET", "/v1/exports/<export_id>/archive.zip"): Asked({"export_id": "{export}"}, {"export_id": NOWHERE}),
    ("GET", "/v1/exports/<export_id>/files/<path:path>"):
        Asked({"export_id": "{export}", "path": "manifest.json"}, {"export_id": NOWHERE, "path": "manifest.json"}),
    ("POST", "/v1/jobs"): Asked(body={"kind": "publish"}),
    ("GET", "/v1/jobs/<name>"): Asked({"name": "{job}"}, {"name": "x"}, apart=False),
    ("POST", "/v1/jobs/<name>/cancel"): Asked({"name": "{job}"}, {"name": "x"}, apart=False),
    ("POST", "/v1/keys"): Asked(body={"held_by": "installation", "holder": "APP-77", "scopes": ["read"], "sites": ["QG"]}),
    ("GET", "/v1/keys"): Asked(),
    ("GET", "/v1/keys/<name>"): Asked({"name": "{key}"}, {"name": "nothing0"}),
    ("PUT", "/v1/keys/<name>/revocation"): Asked({"name": "{key}"}, {"name": "nothing0"}, {"because": "lost"}),
    **{("POST", f"/v1/calculations/{c.name}"): Asked(body=dict(c.example)) for c in CALCULATIONS},
    ("PUT", "/v1/weight-events/<uuid:event_id>"): Asked({"event_id": OF_WEIGHTS}, {"event_id": NOWHERE}, CHECKED_OUT),
    ("GET", "/v1/weight-events/<uuid:event_id>"): Asked({"event_id": OF_WEIGHTS}, {"event_id": NOWHERE}, apart=False),
    ("PUT", "/v1/weight-releases/<uuid:event_id>"): Asked({"event_id": OF_WEIGHTS}, {"event_id": NOWHERE}, RELEASE),
    ("GET", "/v1/weights/<code>/life"): Asked({"code": "FS1-10"}, {"code": "NOTHING"}, apart=False),
    ("GET", "/v1/weight-sets/<code>/life"): Asked({"code": "FS-1"}, {"code": "NOTHING"}, apart=False),
    ("GET", "/v1/devices/<tag>/labels"): _of_tag("tag"),
    ("PUT", "/v1/labels/<label_id>"): Asked({"label_id": STUCK_AS}, {"label_id": "X"}, STUCK),
    ("GET", "/v1/labels/<label_id>"): Asked({"label_id": "{label}"}, {"label_id": STUCK_AS}),
    ("GET", "/v1/labels/<label_id>/drawing.svg"): Asked({"label_id": "{label}"}, {"label_id": STUCK_AS}),
    ("PUT", "/v1/labels/<label_id>/events/<uuid:event_id>"):
        Asked({"label_id": "{label}", "event_id": NOWHERE}, {"label_id": STUCK_AS, "event_id": NOWHERE}, ENDED),
    ("POST", "/v1/calculations/<name>"): Asked({"name": "x"}, {"name": "y"}, {}, apart=False),
}  # fmt: skip
for _kind in KINDS:
    _there, _nowhere = {"key": ON_REGISTER[_kind.collection]}, {"key": "NOTHING"}
    _apart = _kind.site_field is not None and not _kind.travels
    REQUESTS |= {
        ("GET", f"/v1/{_kind.collection}"): Asked(),
        ("GET", f"/v1/{_kind.collection}/<key>"): Asked(_there, _nowhere, apart=_apart),
        ("GET", f"/v1/{_kind.collection}/<key>/revisions"): Asked(_there, _nowhere, apart=_apart),
        ("PUT", f"/v1/{_kind.collection}/<key>"): Asked(_there, _nowhere, {}, apart=_apart),
        ("PATCH", f"/v1/{_kind.collection}/<key>"): Asked(_there, _nowhere, {}, apart=_apart),
    }
