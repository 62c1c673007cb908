"""Every route of the service declares the scope it needs. Own rule: deny by default."""

import pytest
from flask import Flask

from api.records.caller import SCOPES, Caller
from api.records.problems import NotOnRecord
from api.routes.doorkeeper import ScopeNotDeclared, check_scopes, needs, scopes_of


def test_every_route_of_the_service_declares_its_scope(app: Flask) -> None:
    declared = {(method, rule): scope for method, rule, scope in scopes_of(app)}
    assert declared["PUT", "/v1/calibrations/<uuid:calibration_id>"] == "submit"
    assert declared["PUT", "/v1/devices/<key>"] == "administer"
    assert declared["GET", "/v1/openapi.json"] == "public"
    assert set(declared.values()) <= {"public", *SCOPES}


def test_a_route_without_a_scope_is_named_and_the_application_does_not_start() -> None:
    app = Flask("a service")
    app.add_url_rule("/v1/kept", view_func=needs("read")(lambda: ""), endpoint="kept")
    check_scopes(app)
    app.add_url_rule("/v1/forgotten", view_func=lambda: "", endpoint="forgotten", methods=["POST"])
    with pytest.raises(ScopeNotDeclared, match="POST /v1/forgotten"):
        check_scopes(app)


def test_what_belongs_to_another_site_is_not_on_record() -> None:
    caller = Caller("I-1", frozenset(SCOPES), frozenset({"site-a"}))
    caller.check_site("site-a")
    caller.check_site(None)
    with pytest.raises(NotOnRecord, match=r"^It is not on record\.$"):
        caller.check_site("site-b")
