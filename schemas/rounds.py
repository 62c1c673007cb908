"""The question for the weights of a round on the wire, and what its fields must be."""

from api.records.round import RoundAsked
from schemas.wire_shape import Faults, Shape, checked_by, wire_shape


def _heavier_than_nothing(asked: RoundAsked) -> Faults:
    piece = asked.largest_piece
    if piece is None or piece.kg > 0:
        return {}
    return {"largest_piece": [f"Found {piece.shown}; accepted: above 0."]}


checked_by(RoundAsked, _heavier_than_nothing)


def round_shape() -> type[Shape]:
    """Return the shape of the question."""
    return wire_shape(RoundAsked)
