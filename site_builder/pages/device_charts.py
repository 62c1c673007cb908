"""The drawings on a scale's page with their legends and numbers: error against load, the years, the corners."""

from typing import Any

from site_builder.charts.eccentricity_plan import eccentricity_plan, worst_of_each
from site_builder.charts.error_against_load import error_against_load, lies_beyond, own_as_left
from site_builder.charts.years_at_span import Visit, visits_at_span, years_at_span
from site_builder.fleet import Scale
from site_builder.markup import Child, Html, between, tag
from site_builder.pages.tables import Column, section, table, unfold, when
from site_builder.text import day, in_unit, kilograms, listed


def has_years(scale: Scale) -> bool:
    """Return whether there are visits enough to draw the years."""
    return len(visits_at_span(scale.counted)) > 1


def charts(scale: Scale, judged: dict[str, Any], unit: str, corners: Html | None) -> Html | None:
    """Two drawings side by side: error against load, and the years; the corners where there are no years yet."""
    load = error_against_load(judged, unit)
    visits = visits_at_span(scale.counted)
    due = None if scale.retired else scale.due.get("due")
    years = years_at_span(visits, due, unit)
    parts: list[Child] = []
    if load:
        parts.append(section("Error against load", tag("figure", load, load_legend(judged, unit))))
    if years:
        title = f"The years, near {kilograms(visits[-1].load_kg, unit)}"
        parts.append(section(title, tag("figure", years, _years_legend(), _years_table(visits, unit))))
    elif corners:
        parts.append(corners)
    return tag("div", parts, class_="two" if len(parts) == 2 else None) if parts else None


def load_legend(judged: dict[str, Any], unit: str) -> Html:
    """Return what the marks of the drawing mean, and where its numbers stand."""
    left, found = own_as_left(judged), judged.get("as_found")
    shaded = found or left or {}
    said = [
        "● as left" if left else None,
        "○ as found, dashed" if found else None,
        "▽ with the load going down" if _returns(judged) else None,
    ]
    said += ["whiskers: expanded uncertainty U", f"shaded: {shaded['scheme']['stage']} tolerance"]
    if left and found and left["scheme"]["stage"] != found["scheme"]["stage"]:
        said.append(f"outline: {left['scheme']['stage']} tolerance, for as left")
    if lies_beyond(judged, unit):
        said.append("△ at the edge: beyond the drawing, with its value")
    table_ = f"#{'as-left' if left else 'as-found'}"
    return tag("figcaption", between(" · ", said), ". ", tag("a", "The numbers", href=table_), ".")


def _returns(judged: dict[str, Any]) -> bool:
    phases = [phase for phase in (judged.get("as_found"), own_as_left(judged)) if phase]
    return any(point["test"] == "decreasing" for phase in phases for point in phase["points"])


def _years_legend() -> Html:
    return tag("figcaption", "○ as found · ● as left · dotted drop: adjusted · shaded: tolerance applied as found.")


def _years_table(visits: list[Visit], unit: str) -> Html:
    columns = (
        Column("Visit"), Column("Load", numeric=True), Column("Found", numeric=True), Column("Left", numeric=True),
        Column("Tolerance", numeric=True), Column("Adjusted"),
    )  # fmt: skip
    rows = [
        [
            when(v.on, day(v.on)),
            kilograms(v.load_kg, unit),
            kilograms(v.found_kg, unit, signed=True) if v.found_kg else None,
            kilograms(v.left_kg, unit, signed=True) if v.left_kg else None,
            f"±{kilograms(v.tolerance_kg, unit)}" if v.tolerance_kg else None,
            "yes" if v.adjusted else "no",
        ]
        for v in reversed(visits)
    ]
    return unfold("The numbers of these years", table(columns, rows))


def corners_figure(phases: list[tuple[str, str, dict[str, Any]]], unit: str, solved: Child = None) -> Html | None:
    """Return the eccentricity of each phase that has any, as drawings side by side, each beside its numbers.

    `solved` is what they say of the supports, and stands under them.
    """
    figures = [
        tag("figure", plan, _corners_caption(key, heading, phase, unit), class_="plan-figure")
        for key, heading, phase in phases
        if (plan := eccentricity_plan(phase, unit, f"corners-{key.replace('_', '-')}"))
    ]
    return section("Eccentricity", tag("div", figures, class_="plans"), solved, id_="corners") if figures else None


def _corners_caption(key: str, heading: str, phase: dict[str, Any], unit: str) -> Html:
    numbers = tag("a", "The numbers", href=f"#{key.replace('_', '-')}")
    return tag("figcaption", _corners_words(heading, phase, unit), " ", numbers, ".")


def _corners_words(heading: str, phase: dict[str, Any], unit: str) -> str:
    points = worst_of_each(phase)
    loads = sorted({point["nominal_kg"] for point in points}, key=lambda kg: in_unit(kg, unit))
    judged = next((t for t in phase["tests"] if t["test"] == "eccentricity"), None)
    said = ""
    if judged and judged.get("measured") and judged.get("limit"):
        measured, limit = (kilograms(judged[key].removesuffix(" kg"), unit) for key in ("measured", "limit"))
        said = f" Range {measured}, limit {limit}: {judged['verdict']}."
    placed = listed(kilograms(load, unit) for load in loads)
    return f"{heading.split(',')[0]}: error in {unit}, with {placed} at each place, seen from above.{said}"
