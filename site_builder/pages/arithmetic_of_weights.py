"""What each weight and each number of the policy brought into the arithmetic of every point, with its source."""

from typing import Any

from site_builder.markup import Child, Html
from site_builder.pages.tables import Column, Line, lines, table, unfold
from site_builder.text import kilograms, number, three_digits

_NUMBERS = {
    "weights_divisor": "divisor for the errors of the weights",
    "drift_factor": "k_D, for the drift of the weights",
    "least_eccentric_share": "least load at the corners, as a share of capacity",
    "least_loads": "least number of increasing loads",
}


def weights(judged: dict[str, Any], unit: str) -> Html | None:
    """Return the standard uncertainty and the limit of every piece, folded; None where no piece has any."""
    brought = [piece for piece in judged.get("weights", []) if piece.get("limit_kg")]
    if not brought:
        return None
    columns = (
        Column("Piece"), Column("U", numeric=True), Column("k", numeric=True), Column(f"u, {unit}", numeric=True),
        Column("Limit, mpe", numeric=True), Column("Source of the limit"),
    )  # fmt: skip
    said = "u is U / k of the certificate, or the limit / √3 where marked values are the reference"
    return unfold("What each weight brings", table(columns, [_piece(p, unit) for p in brought], said, "pieces"))


def _piece(piece: dict[str, Any], unit: str) -> list[Child]:
    return [
        piece["piece"],
        kilograms(piece["expanded_kg"], unit) if piece.get("expanded_kg") else None,
        number(piece["k"]) if piece.get("k") else None,
        three_digits(piece["standard_uncertainty_kg"], unit),
        kilograms(piece["limit_kg"], unit),
        piece["limit_source"],
    ]


def policy_numbers(judged: dict[str, Any]) -> Html | None:
    """Return the numbers of the policy that a verdict may hang on, each with its source line, folded."""
    numbers = judged.get("policy_numbers")
    if not numbers:
        return None
    told: list[Line] = [(_NUMBERS.get(n, n), said["source"], number(said["value"])) for n, said in numbers.items()]
    return unfold("The numbers of the policy", lines(told))
