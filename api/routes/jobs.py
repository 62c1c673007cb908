"""Long jobs: asked for, and looked at while they are done."""

from dataclasses import dataclass
from typing import Literal

from flask import Response
from flask.views import MethodView

from api.actions.ask_for_job import ask_for_job
from api.actions.cancel_job import cancel_job
from api.database import reading, unit_of_work
from api.queries.jobs import job
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors
from api.routes.doorkeeper import caller, needs
from api.routes.questions import asked
from schemas.answers import JobSchema
from schemas.wire_shape import wire_shape

JOBS = Doors("jobs", __name__, url_prefix="/v1/jobs", description="Long jobs")


@dataclass(frozen=True, slots=True)
class JobAsked:
    """A job asked for: which kind."""

    kind: Literal["publish"]


@JOBS.route("")
class Jobs(MethodView):
    """All jobs."""

    @needs("administer")
    @JOBS.arguments(wire_shape(JobAsked))
    @JOBS.response(202, JobSchema)
    def post(self, wanted: JobAsked) -> Response:
        """Ask for a job, such as publishing the site; look at it at the address in Location."""
        asked()
        found = unit_of_work(
            engine(), lambda connection: ask_for_job(connection, wanted.kind, {}, by_whom=caller().code, moment=now())
        )
        return answer(found, 202, Location=f"/v1/jobs/{found.job}")


@JOBS.route("/<name>")
class One(MethodView):
    """One job."""

    @needs("read")
    @JOBS.response(200, JobSchema)
    def get(self, name: str) -> Response:
        """Read how far a job is."""
        asked()
        with reading(engine()) as connection:
            found = job(connection, name)
        told = answer(found)
        if found.unfinished:
            told.headers["Retry-After"] = "2"
        return told


@JOBS.route("/<name>/cancel")
class Cancel(MethodView):
    """The end of one job."""

    @needs("administer")
    @JOBS.response(200, JobSchema)
    def post(self, name: str) -> Response:
        """Cancel a job: it takes no further chunk; what it has kept stays. One that has ended stays as it is."""
        asked()
        return answer(unit_of_work(engine(), lambda connection: cancel_job(connection, name, moment=now())))
