"""What the library leaves out of the contract: a name for every operation, links from an answer to the next question, and
bodies to try."""

import re
from datetime import date
from typing import Any, Final

from api.demo.entry import entry_of
from api.demo.network import register_entries
from api.metrology.policy import STARTING
from api.routes.event_examples import EVENT_EXAMPLES
from api.routes.example_visit import CALIBRATION
from api.routes.life import AMENDMENT
from schemas.wire_shape import TOLD

VERBS: Final = {"get": "read", "put": "put", "post": "post", "patch": "patch", "delete": "delete"}
EXAMPLES_STAND_ON: Final = date(2026, 11, 25)  # the day of the invented network in the examples

# From which answer which question follows: path, method, statuses, the name of the link, its operation, its parameters by
# runtime expressions (OpenAPI 3.1 section 4.8.20.4).
LINKS: Final = (
    ("/v1/calibrations/{calibration_id}", "put", ("200", "201"), "as it is kept", "read_calibrations_by_calibration_id",
     {"calibration_id": "$response.body#/calibration", "site": "$response.body#/site"}),
    ("/v1/calibrations/{calibration_id}", "put", ("200", "201"), "the certificate", "read_certificates_by_certificate_number",
     {"certificate_number": "$response.body#/certificate"}),
    ("/v1/calibrations/{calibration_id}", "get", ("200",), "its life", "read_calibrations_life_by_calibration_id",
     {"calibration_id": "$response.body#/calibration", "site": "$response.body#/site"}),
    ("/v1/calibrations/{calibration_id}", "get", ("200",), "may it be used", "read_devices_use_by_tag",
     {"tag": "$response.body#/device"}),
    ("/v1/reports/{event_id}", "put", ("200", "201"), "the event", "read_events_by_event_id",
     {"event_id": "$response.body#/event", "site": "$response.body#/site"}),
    ("/v1/events/{event_id}", "get", ("200",), "may it be used", "read_devices_use_by_tag",
     {"tag": "$response.body#/device"}),
    ("/v1/devices/{key}", "put", ("200", "201"), "its plan", "read_devices_plan_by_tag", {"tag": "$request.path.key"}),
    ("/v1/exports", "post", ("202",), "how far it is", "read_exports_by_export_id",
     {"export_id": "$response.body#/file_export"}),
    ("/v1/exports/{export_id}", "get", ("200",), "the archive", "read_exports_archive_zip_by_export_id",
     {"export_id": "$response.body#/file_export"}),
    ("/v1/jobs", "post", ("202",), "how far it is", "read_jobs_by_name", {"name": "$response.body#/job"}),
)  # fmt: skip

# Reads that carry an entity tag and answer 304 to who has it (RFC 9110 section 13.1.2).
TAGGED: Final = (
    "/v1/bundle",
    "/v1/changes",
    "/v1/calibrations/{calibration_id}",
    "/v1/certificates/{certificate_number}",
)
KNOWN: Final = {
    "in": "header", "name": "If-None-Match", "schema": {"type": "string"}, "required": False,
    "description": "The ETag of the answer that is held already: 304 without a body while it is still so.",
}  # fmt: skip
TAG: Final = {"description": "Changes when the answer does.", "schema": {"type": "string"}}

AN_ID: Final = "0193f0aa-0000-7000-8000-000000000002"


def complete(document: dict[str, Any]) -> dict[str, Any]:
    """Return the contract with its operations named, linked, and shown by examples; the document itself is changed."""
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            if method in VERBS:
                operation["operationId"] = operation_name(path, method)
    _link(document["paths"])
    _tag(document["paths"])
    for name, shape in document["components"]["schemas"].items():
        if name in TOLD:
            shape.setdefault("description", TOLD[name])
    _show(document["paths"])
    return document


def operation_name(path: str, method: str) -> str:
    """Return the name of an operation: the verb, the words of its path, and what it is asked by."""
    steps = re.findall(r"[^/:]+", path.removeprefix("/v1/"))
    words = [re.sub(r"[^a-z0-9]", "_", step) for step in steps if not step.startswith("{")]
    asked = [step[1:-1] for step in steps if step.startswith("{")]
    named = "_".join([VERBS[method], *words])
    return f"{named}_by_{'_and_'.join(asked)}" if asked else named


def _link(paths: dict[str, Any]) -> None:
    for path, method, statuses, name, to, parameters in LINKS:
        for status in statuses:
            answer = paths[path][method]["responses"][status]
            answer.setdefault("links", {})[name.replace(" ", "-")] = {
                "operationId": to, "parameters": parameters, "description": name,
            }  # fmt: skip


def _tag(paths: dict[str, Any]) -> None:
    """The register's reads are known by what a change of them asks for."""
    for path, methods in paths.items():
        if path in TAGGED or "patch" in methods:
            read = methods["get"]
            read["parameters"] = [*read.get("parameters", []), KNOWN]
            read["responses"]["200"].setdefault("headers", {})["ETag"] = TAG
            read["responses"]["304"] = {"description": "Nothing changed since the ETag named", "headers": {"ETag": TAG}}


def _show(paths: dict[str, Any]) -> None:
    _example(paths["/v1/calibrations/{calibration_id}"]["put"], CALIBRATION)
    _example(paths["/v1/calibrations:check"]["post"], CALIBRATION)
    _example(paths["/v1/calibrations"]["post"], CALIBRATION | {"id": AN_ID})
    _example(paths["/v1/calibrations:batch"]["post"], [CALIBRATION | {"id": AN_ID}])
    _example(paths["/v1/calibrations/{calibration_id}/amendments"]["post"], AMENDMENT)
    _example(paths["/v1/jobs"]["post"], {"kind": "publish"})
    for (method, path), body in EVENT_EXAMPLES.items():
        _example(paths[path][method], body)
    _example(paths["/v1/exports"]["post"], {"since": 0, "sites": ["QG"]})
    for act in ("give-up", "undo"):
        _example(paths[f"/v1/imports/{{import_id}}/{act}"]["post"], {"because": "it was the file of another site"})
    for entry in (*register_entries(EXAMPLES_STAND_ON), entry_of(STARTING, EXAMPLES_STAND_ON)):
        change = {"valid_from": entry.valid_from.isoformat(), "record": entry.record}
        _example(paths[f"/v1/{entry.collection}/{{key}}"]["put"], change)


def _example(operation: dict[str, Any], body: Any) -> None:
    """The first example of an operation stays."""
    operation["requestBody"]["content"]["application/json"].setdefault("example", body)
