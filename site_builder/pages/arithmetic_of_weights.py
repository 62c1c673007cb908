"""What each weight and each number of the policy brought into the arithmetic of every point, with its source."""

from typing import Any

from site_builder.markup import Child, Html
from site_builder.pages.tables import Column, Line, lines, table, unfold
from site_builder.text import UNIT_SPACE, kilograms, number, three_digits

_NUMBERS = {
    "weights_divisor": "divisor for the errors of the weights",
    "drift_factor": "k_D, for the drift of the weights",
    "least_eccentric_share": "least load at the corners, as a share of capacity",
    "least_loads": "least number of increasing loads",
    "prior_mean": "mean of the prior, errors of scales before they are measured",
    "prior_standard_deviation": "standard deviation of the prior",
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


def densities(judged: dict[str, Any]) -> Html | None:
    """Return the density of every piece with its uncertainty, folded; None where none is known well enough."""
    known = [piece for piece in judged.get("weights", []) if piece.get("density")]
    if not known:
        return None
    columns = (Column("Piece"), Column("ρ, kg/m³", numeric=True), Column("U, kg/m³", numeric=True), Column("Source"))
    rows: list[list[Child]] = [
        [p["piece"], number(p["density"]["kg_m3"]), number(p["density"]["expanded_kg_m3"]), p["density"]["source"]]
        for p in known
    ]
    said = "V of a load is the sum of m (1/ρ − 1/8000) of its pieces, u(V) that of m u(ρ) / ρ²; U is 2 u(ρ)"
    return unfold("How dense each weight is", table(columns, rows, said, "pieces"))


_CLIMATE = (
    ("temperature_c", "temperature", "°C"),
    ("pressure_hpa", "pressure", "hPa"),
    ("humidity_pct", "humidity", "%"),
)


def air(judged: dict[str, Any]) -> Html | None:
    """Return the air of the visit and what its density is from, folded; None where it was not measured."""
    measured = judged.get("air")
    if not measured:
        return None
    told: list[Line] = [
        (name, measured[key]["source"], _within(measured[key], unit)) for key, name, unit in _CLIMATE
    ]  # fmt: skip
    density = number(measured["density_kg_m3"]), number(measured["standard_uncertainty_kg_m3"])
    told.append(("density of the air", measured["source"], f"{density[0]} kg/m³, u = {density[1]} kg/m³"))
    return unfold("The air of the visit", lines(told))


def _within(quantity: dict[str, Any], unit: str) -> str:
    value, width = (number(f"{quantity[name]:.2f}") for name in ("value", "half_width"))
    return f"{value}{UNIT_SPACE}{unit}, ± {width}{UNIT_SPACE}{unit}"


def _counted(said: dict[str, str]) -> str:
    """A number of the policy; one of the prior is counted in something."""
    counted = {"tolerance": " of the tolerance", "division": UNIT_SPACE + "d"}
    return number(said["value"]) + counted.get(said.get("counted_in", ""), "")


def policy_numbers(judged: dict[str, Any]) -> Html | None:
    """Return the numbers of the policy that a verdict may hang on, each with its source line, folded."""
    numbers = judged.get("policy_numbers")
    if not numbers:
        return None
    told: list[Line] = [(_NUMBERS.get(n, n), said["source"], _counted(said)) for n, said in numbers.items()]
    return unfold("The numbers of the policy", lines(told))
