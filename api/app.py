"""The application: settings in, a Flask application out."""

import threading
from functools import cache, partial
from typing import Any

from flask import Flask, Response

from api.database import make_engine
from api.kept_secret import kept_secret
from api.routes.admission import keep_the_door
from api.routes.attachments import ATTACHMENTS
from api.routes.batch import BATCH
from api.routes.bundles import BUNDLES
from api.routes.calculations import CALCULATIONS, UNKNOWN
from api.routes.calibrations import CALIBRATIONS
from api.routes.changes import RECORD
from api.routes.contract import FOR_WHO_WRITES_AN_APP, Contract, describe_records, make_contract
from api.routes.device_acts import ACTS
from api.routes.devices import DEVICES
from api.routes.doorkeeper import needs
from api.routes.events import EVENTS
from api.routes.exports import EXPORTS
from api.routes.import_reports import IMPORTS
from api.routes.jobs import JOBS
from api.routes.keys import KEYS
from api.routes.labels import LABELS
from api.routes.life import LIFE
from api.routes.operations import complete
from api.routes.preconditions import answer_conditionally
from api.routes.problems import PROBLEM_PAGES, answer_with_problems
from api.routes.quarantine import QUARANTINE
from api.routes.reference import REFERENCE
from api.routes.register import REGISTER
from api.routes.rounds import ROUNDS
from api.routes.site import serve_site
from api.routes.weight_events import WEIGHT_EVENTS
from api.settings import Settings
from schemas.strict_json import MOST_BYTES

STATEMENT_SECONDS = 20  # a request's statement; a job's has no bound


class Served:
    """How many requests were served since the start."""

    def __init__(self) -> None:
        self.count = 0
        self._lock = threading.Lock()

    def one_more(self) -> None:
        """Count one request."""
        with self._lock:
            self.count += 1


def create_app(settings: Settings) -> Flask:
    """Return the application for an installation; its database must be migrated."""
    app = Flask("steelyard", static_folder=None)
    app.config.update(
        API_TITLE="Steelyard",
        API_VERSION="1.0",
        API_SPEC_OPTIONS={"info": {"description": FOR_WHO_WRITES_AN_APP}},
        OPENAPI_VERSION="3.1.0",
        PAGINATION_HEADER_NAME=None,
        MAX_CONTENT_LENGTH=MOST_BYTES + 1,  # one more: a body in chunks is cut here, and seen to be too large
        PROBLEM_PAGES=PROBLEM_PAGES,
        SITE_FOLDER=str(settings.site_folder),
    )
    app.extensions["steelyard.engine"] = make_engine(settings.database_url, statement_seconds=STATEMENT_SECONDS)
    # Read at first need: a service that only writes its contract makes no secret.
    app.extensions["steelyard.secret"] = cache(partial(kept_secret, settings.folder))
    served = app.extensions["steelyard.served"] = Served()
    contract = app.extensions["steelyard.contract"] = make_contract(app)
    rooms = (
        CALIBRATIONS,
        LIFE,
        BATCH,
        ATTACHMENTS,
        QUARANTINE,
        *REGISTER,
        DEVICES,
        EVENTS,
        ACTS,
        RECORD,
        JOBS,
        IMPORTS,
        EXPORTS,
        CALCULATIONS,
        ROUNDS,
        BUNDLES,
        KEYS,
        WEIGHT_EVENTS,
        LABELS,
    )
    for doors in rooms:
        contract.register_blueprint(doors)
    describe_records(contract)
    app.register_blueprint(UNKNOWN)
    app.register_blueprint(REFERENCE)
    serve_site(app)
    answer_with_problems(app)
    _tell_contract(app, contract)
    keep_the_door(app, open_door=settings.open_door)
    app.after_request(_counted(served))  # after what comes next: the last one set comes first
    answer_conditionally(app)
    return app


def _tell_contract(app: Flask, contract: Contract) -> None:
    @app.get("/v1/openapi.json")
    @needs("public")
    def openapi() -> dict[str, Any]:
        """Read the contract of this service."""
        return contract_of(contract)


def contract_of(contract: Contract) -> dict[str, Any]:
    """Return the contract as OpenAPI 3.1."""
    return complete(contract.spec.to_dict())


def _counted(served: Served) -> Any:
    def count(answer: Response) -> Response:
        served.one_more()
        answer.headers.setdefault("X-Content-Type-Options", "nosniff")
        if (answer.mimetype or "").startswith("application/"):
            answer.headers.setdefault("Cache-Control", "no-store")
        return answer

    return count
