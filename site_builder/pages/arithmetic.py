"""How a number came about: from the reading on the display to the verdict, line by line, each line with its source."""

from decimal import Decimal
from typing import Any

from api.records.documents import read_mass
from site_builder.beam import verdict
from site_builder.markup import Child, Html, between, join, tag
from site_builder.pages.arithmetic_beside import beside
from site_builder.pages.arithmetic_of_budget import budgets_of, contributions_of, degrees_told
from site_builder.pages.arithmetic_of_change import change, change_over, error_words, zero_shift
from site_builder.pages.arithmetic_of_span import span
from site_builder.pages.arithmetic_of_tests import tests
from site_builder.pages.arithmetic_of_weights import air, densities, policy_numbers, weights
from site_builder.pages.measurement import arithmetic_id, phases_of, reading_id, what
from site_builder.pages.tables import Line, lines, section, unfold
from site_builder.text import (
    UNIT_SPACE,
    as_printed,
    as_shown,
    capital,
    counted,
    in_unit,
    kilograms,
    number,
    three_digits,
)


def arithmetic(judged: dict[str, Any], unit: str) -> Html:
    """Return the arithmetic of every point and test of a visit, folded."""
    blocks: list[Child] = []
    budgets = budgets_of(judged, unit)
    for key, heading, phase in phases_of(judged):
        blocks.append(tag("h3", heading))
        blocks += [_point(key, phase, point, judged, unit, budgets) for point in phase["points"]]
        blocks += tests(phase, judged, unit)
        blocks += beside(phase, unit)
    if judged.get("span"):
        blocks += [tag("h3", "Adjustment"), span(judged["span"], unit)]
    blocks_shared = (weights(judged, unit), densities(judged), air(judged), policy_numbers(judged))
    if shared := [block for block in blocks_shared if block]:
        blocks += [tag("h3", "Weights and policy"), shared]
    return section(
        "How every number came about",
        tag(
            "p",
            "Each line unfolds into the arithmetic behind its verdict, and leads back to the reading as it was sent.",
            class_="soft",
        ),
        tag("div", blocks, class_="unfolds"),
        id_="arithmetic",
    )


def _point(
    key: str,
    phase: dict[str, Any],
    point: dict[str, Any],
    judged: dict[str, Any],
    unit: str,
    budgets: dict[tuple[int, ...], Html],
) -> Html:
    error = f": error {kilograms(point['error_kg'], unit, signed=True)}" if point.get("error_kg") is not None else ""
    u = f", U {as_printed(point['printed_kg'], unit)}{UNIT_SPACE}{unit}" if point.get("printed_kg") else ""
    return unfold(
        join(f"{kilograms(point['nominal_kg'], unit)}, {what(point)}{error}{u} ", verdict(point["verdict"])),
        lines(_lines(key, phase, point, judged, unit), arithmetic_id(key, point)),
        budgets.get(contributions_of(point)),
    )


def _lines(key: str, phase: dict[str, Any], point: dict[str, Any], judged: dict[str, Any], unit: str) -> list[Line]:
    told: list[Line] = [
        _indication(key, point, unit),
        ("load", _nominal_words(point), kilograms(point["nominal_kg"], unit)),
    ]
    if point.get("change"):
        told += change(point, unit)
    if point.get("reference_kg") is not None:
        told.append(("reference", _pieces(point, judged, unit), kilograms(point["reference_kg"], unit)))
    if point.get("buoyancy_kg"):
        told.append(("of it buoyancy", "what the measured air adds to the effect of the pieces: −(ρ_a − ρ_0) V",
                     kilograms(point["buoyancy_kg"], unit, signed=True)))  # fmt: skip
    if point.get("substitutions"):
        told.append(("of it unbalanced", "what the substitute loads showed beside the load they stand for",
                     kilograms(point["unbalanced_kg"], unit, signed=True)))  # fmt: skip
    if point.get("change_over"):
        told += change_over(point, unit)
    if point.get("error_kg") is not None:
        told.append(("error", error_words(point), kilograms(point["error_kg"], unit, signed=True)))
    if point.get("zero_shift"):
        told += zero_shift(point["zero_shift"], unit)
    if point.get("tolerance_kg") is not None:
        told.append(_tolerance(point, unit))
    if point.get("weights_check"):
        told.append(_weights_check(point, judged, unit))
    return [*told, *_uncertainty(point, unit), *_decision(phase, point, unit)]


def _indication(key: str, point: dict[str, Any], unit: str) -> Line:
    reading = tag("a", f"reading {point['seq']}", href=f"#{reading_id(key, point['seq'])}")
    in_use = point.get("range")
    grid = (
        f"; range to {_range_mass(in_use, 'max')}, d = {_range_mass(in_use, 'd')}, e = {_range_mass(in_use, 'e')}"
        if in_use
        else ""
    )
    shown = point["indication"]
    converted = "" if shown.get("unit") == unit else f" = {kilograms(read_mass(shown).kg, unit)}, exact"
    return "indication", join(reading, f", as displayed{converted}{grid}"), as_shown(point["indication"])


def _range_mass(in_use: dict[str, Any], field: str) -> str:
    return as_shown({"value": in_use[field], "unit": in_use["unit"]})


def _nominal_words(point: dict[str, Any]) -> str:
    placed = f", {point['placed']}" if point.get("placed") else ""
    net = f", net of a tare of {as_shown(point['tare'])}" if point.get("tare") else ""
    steps = point.get("substitutions")
    below = f"{counted(steps, 'substitute load')} under " if steps else ""
    made_of = "sum of the marked values of the pieces" if point.get("pieces") else "no pieces" if steps else "no load"
    return f"{below}{made_of}{net}{placed}"


def _pieces(point: dict[str, Any], judged: dict[str, Any], unit: str) -> Child:
    known = {w["piece"]: w for w in judged.get("weights", [])}
    if not point.get("pieces"):
        return "a substitute load alone" if point.get("substitutions") else "nothing on the scale"
    by_source: dict[str, list[Child]] = {}
    for code in point["pieces"]:
        piece = known.get(code, {})
        mass = f" {kilograms(piece['conventional_kg'], unit)}" if piece.get("conventional_kg") else ""
        by_source.setdefault(piece.get("certificate", ""), []).append(tag("span", f"{code}{mass}", class_="whole"))
    return between(
        "; ",
        [
            join(between(", ", group), f": certificate {source}" if source else ": no certificate in force")
            for source, group in by_source.items()
        ],
    )


def _tolerance(point: dict[str, Any], unit: str) -> Line:
    counted = f"{point['tolerance_counted']}; " if point.get("tolerance_counted") else ""
    return "tolerance", f"{counted}{point.get('tolerance_source', '')}", f"±{kilograms(point['tolerance_kg'], unit)}"


def _weights_check(point: dict[str, Any], judged: dict[str, Any], unit: str) -> Line:
    """The errors that the weights may have, times the policy's divisor, against the tolerance."""
    check = point["weights_check"]
    times, tolerance = Decimal(check["times_divisor_kg"]), Decimal(point["tolerance_kg"])
    sign = "≤" if times <= tolerance else ">"
    how = (
        f"their errors × {number(check['divisor'])} = {number(in_unit(times, unit))} {sign} tolerance "
        f"{number(in_unit(tolerance, unit))}, so at most {three_digits(check['allowed_kg'], unit)} are allowed; "
        f"{judged['policy_numbers']['weights_divisor']['source']}: {check['outcome']}"
    )
    return "errors of the weights", how, f"up to {kilograms(point['error_bound_kg'], unit)}"


def _uncertainty(point: dict[str, Any], unit: str) -> list[Line]:
    if point.get("u_kg") is None:
        return []
    degrees = degrees_told(point)
    effective = f"effective degrees of freedom {degrees}" if degrees else "degrees of freedom without bound"
    told: list[Line] = [
        (
            "u",
            "root of the sum of the squares of the contributions below",
            f"{three_digits(point['u_kg'], unit)} {unit}",
        )
    ]
    if point.get("k") is not None:
        told.append(("k", f"{effective}; coverage {coverage_words(point)}", number(f"{point['k']:.2f}")))
    if point.get("printed_kg"):
        full = (
            f"k × u = {three_digits(point['expanded_kg'], unit)} {unit}, "
            if point.get("expanded_kg") is not None
            else ""
        )
        told.append(("U", f"{full}printed to two digits", f"{as_printed(point['printed_kg'], unit)}{UNIT_SPACE}{unit}"))
    return told


def coverage_words(point: dict[str, Any]) -> str:
    """Return the coverage probability of a point's U: `95.45 %`."""
    share = point.get("coverage_probability", 0.9545)
    return f"{number(f'{share * 100:.2f}')}{UNIT_SPACE}%"


def _decision(phase: dict[str, Any], point: dict[str, Any], unit: str) -> list[Line]:
    rule = phase["rule"]
    told = _limits(phase, point, unit)
    told += [("rule", join(f"{rule['name']}: {rule['source']}", _compared(point, unit)), verdict(point["verdict"]))]
    if point.get("probability") is not None:
        told.append(
            ("conformity", "probability that the true error lies within the tolerance", _percent(point["probability"]))
        )
    if point.get("risk"):
        told += _risk(point["risk"], unit)
    told += [("because", capital(reason["sentence"]), None) for reason in point["reasons"]]
    return told


def _risk(risk: dict[str, Any], unit: str) -> list[Line]:
    """The risks of the decision by the policy's prior, each with what it is made from; they decide nothing."""
    before, after = (_process(risk[name], unit) for name in ("before", "after"))
    wrong = "true error beyond the tolerance" if risk["on"] == "consumer" else "true error within the tolerance"
    specific = f"{wrong}, known as {after} from the prior {before} and this reading"
    share = "of all scales by the prior, those beyond the tolerance that this rule and u accept"
    return [
        (
            f"risk of this decision, {risk['on']}’s",
            f"{specific}; JCGM 106:2012 section 9.3",
            _percent(risk["specific"]),
        ),
        ("risk of the rule, consumer’s", f"{share}; JCGM 106:2012 section 9.5", _percent(risk["consumer"])),
    ]


def _process(process: dict[str, float], unit: str) -> str:
    mean, deviation = (three_digits(process[name], unit) for name in ("mean_kg", "standard_deviation_kg"))
    return f"{mean} ± {deviation}{UNIT_SPACE}{unit}"


def _limits(phase: dict[str, Any], point: dict[str, Any], unit: str) -> list[Line]:
    """The limits that a guarded rule makes from tolerance and U, each beside the error."""
    limits = point.get("limits")
    if not limits:
        return []
    guard = f"{number(phase['rule']['guard_ratio'])} × U, as printed"
    told: list[Line] = [("guard band, w", guard, f"{as_printed(limits['guard_kg'], unit)}{UNIT_SPACE}{unit}")]
    for key, name, how in (
        ("accepted_kg", "accepted up to", "tolerance − w"),
        ("rejected_kg", "rejected beyond", "tolerance + w"),
    ):
        if key in limits:
            told.append((name, how + _beside(point["error_kg"], limits[key], how, unit), kilograms(limits[key], unit)))
    return told


def _beside(error_kg: str, limit_kg: str, name: str, unit: str) -> str:
    """How the size of an error compares with a limit, in numbers: `; |error| 0.1 < tolerance 0.2`."""
    error, limit = abs(Decimal(error_kg)), Decimal(limit_kg)
    sign = "=" if error == limit else "<" if error < limit else ">"
    return f"; |error| {number(in_unit(error, unit))} {sign} {name} {number(in_unit(limit, unit))}"


def _compared(point: dict[str, Any], unit: str) -> str:
    """The comparison that anyone can follow; the verdict itself was decided by the service under the rule."""
    if point.get("error_kg") is None or point.get("tolerance_kg") is None:
        return ""
    return _beside(point["error_kg"], point["tolerance_kg"], "tolerance", unit)


def _percent(probability: str) -> str:
    """A probability as it is printed, which may be a bound (`> 0.9999`), as a percentage."""
    bound = probability.rstrip("0123456789.")
    return f"{bound}{number(Decimal(probability.removeprefix(bound)).scaleb(2))}{UNIT_SPACE}%"
