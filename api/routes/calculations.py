"""Calculations by their kind: a question in, an answer out, nothing kept. The kinds are `metrology/calculations/table`'s."""

from typing import Any

from flask import Blueprint, Response
from flask.views import MethodView

from api.metrology.calculations.table import CALCULATIONS as KINDS
from api.metrology.calculations.table import Calculation, calculation_named
from api.records.documents import document_of
from api.routes.bodies import answer
from api.routes.contract import Doors
from api.routes.doorkeeper import needs
from api.routes.questions import asked
from schemas.calculations import question_of
from schemas.wire_shape import wire_shape

CALCULATIONS = Doors(
    "calculations", __name__, url_prefix="/v1/calculations", description="Calculators: nothing is kept, nothing is read"
)
UNKNOWN = Blueprint("unknown calculation", __name__)


def _open(calculation: Calculation) -> None:
    """Open the door of one kind, its example and the answer to it in the contract."""
    example = dict(calculation.example)
    answered = document_of(calculation.work(question_of(calculation, example)))

    class Calculated(MethodView):
        @needs("read")
        @CALCULATIONS.arguments(wire_shape(calculation.asked), example=example)
        @CALCULATIONS.response(200, wire_shape(calculation.answered), example=answered)
        def post(self, question: Any) -> Response:
            asked()
            return answer(calculation.work(question))

    Calculated.post.__doc__ = calculation.says
    Calculated.__name__ = calculation.name
    CALCULATIONS.route(f"/{calculation.name}")(Calculated)


for _calculation in KINDS:
    _open(_calculation)


@UNKNOWN.post("/v1/calculations/<name>")
@needs("read")
def unknown(name: str) -> Response:
    """Refuse a name that is no kind with the list of all; the kinds themselves have addresses of their own."""
    return answer(calculation_named(name).name)
