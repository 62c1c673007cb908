"""Rounds over several scales: which weights to take. A question that keeps nothing."""

from typing import Any

from flask import Response
from flask.views import MethodView

from api.answers.weights_to_take import weights_for
from api.database import reading
from api.records.round import RoundAsked
from api.routes.bodies import answer, engine
from api.routes.contract import Doors
from api.routes.doorkeeper import needs
from api.routes.questions import asked
from schemas.answers import RoundSchema
from schemas.rounds import round_shape

ROUNDS = Doors("rounds", __name__, url_prefix="/v1", description="Rounds over several scales; nothing is kept")
EXAMPLE = {
    "on": "2026-11-25", "devices": ["A-01", "A-02", "B-02", "C-02"], "sets": ["FS-1"], "technician": "T-01",
    "largest_piece": {"value": "20", "unit": "kg"},
}  # fmt: skip


@ROUNDS.route("/rounds:weights")
class WeightsOfRound(MethodView):
    """The weights to take."""

    @needs("read")
    @ROUNDS.arguments(round_shape(), example=EXAMPLE)
    @ROUNDS.response(200, RoundSchema)
    def post(self, question: Any) -> Response:
        """List the lightest lot of weights that makes every load of every device, and the pieces for each load."""
        asked()
        assert isinstance(question, RoundAsked)
        with reading(engine()) as connection:
            found = weights_for(connection, question)
        return answer(found)
