"""How a number came about: from the reading on the display to the verdict, line by line, each line with its source."""

from decimal import Decimal
from typing import Any

from api.records.documents import read_mass
from site_builder.beam import verdict
from site_builder.markup import Child, Html, between, join, tag
from site_builder.pages.measurement import arithmetic_id, phases_of, reading_id
from site_builder.pages.tables import Column, section, table, unfold
from site_builder.text import UNIT_SPACE, as_printed, as_shown, capital, in_unit, kilograms, number, three_digits

Line = tuple[str, Child, Child]

_DISTRIBUTIONS = {"t": "Student's t"}


def arithmetic(judged: dict[str, Any], unit: str) -> Html:
    """Return the arithmetic of every point of a visit, folded; the first that decides is open."""
    blocks: list[Child] = []
    for key, heading, phase in phases_of(judged):
        blocks.append(tag("h3", heading))
        blocks += [_point(key, phase, point, judged, unit) for point in phase["points"]]
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


def _point(key: str, phase: dict[str, Any], point: dict[str, Any], judged: dict[str, Any], unit: str) -> Html:
    place = f", {point['position']}" if point.get("position") else ""
    error = f": error {kilograms(point['error_kg'], unit, signed=True)}" if point.get("error_kg") is not None else ""
    u = f", U {as_printed(point['printed_kg'], unit)}{UNIT_SPACE}{unit}" if point.get("printed_kg") else ""
    return unfold(
        join(f"{kilograms(point['nominal_kg'], unit)}, {point['test']}{place}{error}{u} ", verdict(point["verdict"])),
        _sum(_lines(key, phase, point, judged, unit), arithmetic_id(key, point)),
        _budget(point, judged, unit),
    )


def _sum(lines: list[Line], id_: str) -> Html:
    """The id stands inside what unfolds: a link to it opens it."""
    return tag(
        "dl",
        [tag("div", tag("dt", name), tag("dd", how), tag("dd", value, class_="n")) for name, how, value in lines],
        class_="sum",
        id=id_,
    )


def _lines(key: str, phase: dict[str, Any], point: dict[str, Any], judged: dict[str, Any], unit: str) -> list[Line]:
    lines: list[Line] = [
        _indication(key, point, unit),
        ("load", _nominal_words(point), kilograms(point["nominal_kg"], unit)),
    ]
    if point.get("reference_kg") is not None:
        lines.append(("reference", _pieces(point, judged, unit), kilograms(point["reference_kg"], unit)))
    if point.get("change_over"):
        lines += _change_over(point["change_over"], unit)
    if point.get("error_kg") is not None:
        lines.append(("error", _error_words(point), kilograms(point["error_kg"], unit, signed=True)))
    if point.get("zero_shift"):
        lines += _zero_shift(point["zero_shift"], unit)
    if point.get("tolerance_kg") is not None:
        lines.append(_tolerance(point, unit))
    lines += _uncertainty(point, unit)
    lines += _decision(phase, point, unit)
    return lines


def _change_over(over: dict[str, Any], unit: str) -> list[Line]:
    """What the display hid: small weights were added until it went one step up (OIML R 76-1:2006 A.4.4.3)."""
    added = f"indication + half a step − {as_shown(over['added'])} added up to the change-over; R 76-1:2006 A.4.4.3"
    lines: list[Line] = [
        ("before rounding", added, kilograms(over["point_kg"], unit)),
        ("error, uncorrected", "before rounding − reference, exact", kilograms(over["error_kg"], unit, signed=True)),
    ]
    if over.get("zero_error_kg") is not None:
        zero = kilograms(over["zero_error_kg"], unit, signed=True)
        lines.append(("error at zero", "by its own change-over point", zero))
    return lines


def _zero_shift(change: dict[str, Any], unit: str) -> list[Line]:
    return [
        ("change", "zero after the load − zero before it, exact", kilograms(change["kg"], unit, signed=True)),
        ("limit", f"{change['counted']}; {change['source']}", f"±{kilograms(change['limit_kg'], unit)}"),
    ]


def _error_words(point: dict[str, Any]) -> str:
    over = point.get("change_over")
    if not over:
        return "indication − reference, exact"
    return (
        "error, uncorrected − error at zero" if over.get("zero_error_kg") is not None else "before rounding − reference"
    )


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
    return f"{'sum of the marked values of the pieces' if point.get('pieces') else 'no load'}{net}{placed}"


def _pieces(point: dict[str, Any], judged: dict[str, Any], unit: str) -> Child:
    known = {w["piece"]: w for w in judged.get("weights", [])}
    if not point.get("pieces"):
        return "nothing on the scale"
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


def _uncertainty(point: dict[str, Any], unit: str) -> list[Line]:
    if point.get("u_kg") is None:
        return []
    degrees = point.get("degrees_of_freedom")
    effective = (
        f"effective degrees of freedom {number(f'{degrees:.0f}')}"
        if degrees is not None
        else "degrees of freedom without bound"
    )
    lines: list[Line] = [
        (
            "u",
            "root of the sum of the squares of the contributions below",
            f"{three_digits(point['u_kg'], unit)} {unit}",
        )
    ]
    if point.get("k") is not None:
        lines.append(("k", f"{effective}; coverage {coverage_words(point)}", number(f"{point['k']:.2f}")))
    if point.get("printed_kg"):
        full = (
            f"k × u = {three_digits(point['expanded_kg'], unit)} {unit}, "
            if point.get("expanded_kg") is not None
            else ""
        )
        lines.append(
            ("U", f"{full}printed to two digits", f"{as_printed(point['printed_kg'], unit)}{UNIT_SPACE}{unit}")
        )
    return lines


def coverage_words(point: dict[str, Any]) -> str:
    """Return the coverage probability of a point's U: `95.45 %`."""
    share = point.get("coverage_probability", 0.9545)
    return f"{number(f'{share * 100:.2f}')} %"


def _decision(phase: dict[str, Any], point: dict[str, Any], unit: str) -> list[Line]:
    rule = phase["rule"]
    lines: list[Line] = [
        ("rule", join(f"{rule['name']}: {rule['source']}", _compared(point, unit)), verdict(point["verdict"]))
    ]
    if point.get("probability") is not None:
        lines.append(
            ("conformity", "probability that the true error lies within the tolerance", _percent(point["probability"]))
        )
    lines += [("because", capital(reason["sentence"]), None) for reason in point["reasons"]]
    return lines


def _compared(point: dict[str, Any], unit: str) -> str:
    """The comparison that anyone can follow; the verdict itself was decided by the service under the rule."""
    if point.get("error_kg") is None or point.get("tolerance_kg") is None:
        return ""
    error, limit = abs(Decimal(point["error_kg"])), Decimal(point["tolerance_kg"])
    sign = "=" if error == limit else "<" if error < limit else ">"
    return f"; |error| {number(in_unit(error, unit))} {sign} tolerance {number(in_unit(limit, unit))}"


def _percent(probability: str) -> str:
    """A probability as it is printed, which may be a bound (`> 0.9999`), as a percentage."""
    bound = probability.rstrip("0123456789.")
    return f"{bound}{number(Decimal(probability.removeprefix(bound)).scaleb(2))} %"


def _budget(point: dict[str, Any], judged: dict[str, Any], unit: str) -> Html | None:
    indexes = point.get("contributions") or []
    if not indexes:
        return None
    columns = (
        Column("Contribution"), Column(f"u, {unit}", numeric=True), Column("Distribution"),
        Column("Degrees of freedom", numeric=True), Column("Source"),
    )  # fmt: skip
    rows = [_contribution(judged["contributions"][index], unit) for index in indexes]
    return table(columns, rows, "The contributions to u, each a standard uncertainty", "budget")


def _contribution(line: dict[str, Any], unit: str) -> list[Child]:
    degrees = line.get("degrees_of_freedom")
    return [
        line["name"],
        three_digits(line["standard_uncertainty_kg"], unit),
        _DISTRIBUTIONS.get(line["distribution"], line["distribution"]),
        number(f"{degrees:.0f}") if degrees is not None else "∞",
        line["source"],
    ]
