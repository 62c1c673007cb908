"""The results of a visit as tables: every point with its error, tolerance and U, and every test with its limit."""

from typing import Any

from site_builder import text
from site_builder.beam import verdict
from site_builder.charts.error_against_load import own_as_left
from site_builder.markup import Child, Html, join, tag
from site_builder.pages.tables import Column, section, table, unfold
from site_builder.text import UNIT_SPACE, as_printed, as_shown, capital, in_unit, kilograms, number, places_of

Phase = dict[str, Any]

_ANSWERS = {"met": "met", "not met": "not met", "cannot say": "it cannot be said"}


def phases_of(judged: dict[str, Any]) -> list[tuple[str, str, Phase]]:
    """Return the phases to show, the one that holds now first: its key in what was sent, its heading, and itself."""
    found, left = judged.get("as_found"), own_as_left(judged)
    phases: list[tuple[str, str, Phase]] = []
    if left:
        phases.append(("as_left", "As left", left))
    if found:
        alone = judged.get("as_left_rests_on") == "as found: nothing was adjusted"
        phases.append(("as_found", "As found, and left so: nothing was adjusted" if alone else "As found", found))
    return phases


def results(key: str, heading: str, phase: Phase, unit: str, caption: Child, folded: bool = False) -> Html:
    """Return one phase: its verdict and how far it is proven, its tests, its points."""
    points = points_table(key, phase, unit, caption)
    return section(
        heading,
        tag("p", verdict(phase["verdict"]), " ", tag("span", proven(phase), class_="soft"), class_="verdict-line"),
        reasons(phase["reasons"]),
        tests_table(phase, unit),
        clinical(phase),
        minimum_weight(phase, unit),
        unfold(f"All {len(phase['points'])} points", points) if folded else points,
        id_=key.replace("_", "-"),
    )


def proven(phase: Phase) -> str:
    """Return the sentence on how far a phase is proven."""
    return capital(str(phase["proven_words"]))


def reasons(sentences: list[str]) -> Html | None:
    """Return the reasons of a verdict as a list, or None."""
    return tag("ul", [tag("li", capital(s)) for s in sentences], class_="reasons") if sentences else None


def clinical(phase: Phase) -> Html | None:
    """Return what the ward itself needs and whether it is met, or None: beside the verdict, never instead of it."""
    stated = phase.get("clinical")
    if not stated:
        return None
    return tag(
        "p",
        tag("strong", f"What ward {stated['ward']} needs: {_ANSWERS[stated['answer']]}. "),
        text.told(stated["words"]),
        tag(
            "span",
            f" Source: {stated['source']}. It stands beside the tolerance and changes no verdict.",
            class_="soft",
        ),
        class_="clinical",
    )


def minimum_weight(phase: Phase, unit: str) -> Html | None:
    """Return the smallest net load of a balance and what it was found from, or None: a number beside the verdict."""
    found = phase.get("minimum_weight")
    if not found:
        return None
    s = (
        f"0.41 d counts, above the s of {kilograms(found['s_kg'], unit)}"
        if found["by_division"]
        else f"s = {kilograms(found['s_kg'], unit)}"
    )
    few = "" if found["enough"] else ", fewer than the ten that the rule asks for"
    weighed = f"{found['weighings']} weighings of {kilograms(found['load_kg'], unit)}{few}"
    return tag(
        "p",
        tag("strong", f"Minimum weight: {kilograms(found['weight_kg'], unit)}. "),
        f"From {weighed}; {s}. ",
        tag("span", f"Source: {found['source']}.", class_="soft"),
        class_="minimum-weight",
    )


def points_table(key: str, phase: Phase, unit: str, caption: Child) -> Html:
    """Return every point of a phase, in the order taken; each verdict leads to its arithmetic."""
    points = phase["points"]
    places = {
        name: places_of(in_unit(p[field], unit) for p in points if p.get(field) is not None)
        for name, field in (("reference", "reference_kg"), ("error", "error_kg"), ("limit", "tolerance_kg"))
    }
    columns = (
        Column("Load", numeric=True), Column("Test"), Column(f"Reference, {unit}", numeric=True),
        Column("Indication", numeric=True), Column(f"Error, {unit}", numeric=True),
        Column(f"Tolerance, {unit}", numeric=True), Column(f"U, {unit}", numeric=True), Column("Verdict"),
    )  # fmt: skip
    return table(columns, [_row(key, p, unit, places) for p in points], caption, "results")


def _row(key: str, point: dict[str, Any], unit: str, places: dict[str, int]) -> list[Child]:
    return [
        kilograms(point["nominal_kg"], unit),
        what(point),
        _number(point, "reference_kg", unit, places["reference"]),
        as_shown(point["indication"]),
        _number(point, "error_kg", unit, places["error"], signed=True),
        f"±{limit}" if (limit := _number(point, "tolerance_kg", unit, places["limit"])) else None,
        as_printed(point["printed_kg"], unit) if point.get("printed_kg") else None,
        tag("a", verdict(point["verdict"]), href=f"#{arithmetic_id(key, point)}", class_="plain"),
    ]


def arithmetic_id(key: str, point: dict[str, Any]) -> str:
    """Return the id of the arithmetic of a point on its page."""
    return f"{key.replace('_', '-')}-point-{point['seq']}"


def reading_id(key: str, seq: int) -> str:
    """Return the id of a reading on its page."""
    return f"{key.replace('_', '-')}-reading-{seq}"


def what(point: dict[str, Any]) -> str:
    """Return the test of a point with what sets it apart: its place, its minutes, a substitute load."""
    minutes = {"creep": "at", "return to zero": "after"}.get(point["test"])
    particular = [
        point.get("position"),
        f"{minutes} {number(point['minutes'])}{UNIT_SPACE}min"
        if minutes and point.get("minutes") is not None
        else None,
        "by substitution" if point.get("substitutions") else None,
    ]
    return ", ".join(p for p in (point["test"], *particular) if p)


def _number(point: dict[str, Any], field: str, unit: str, places: int, signed: bool = False) -> str | None:
    if point.get(field) is None:
        return None
    return number(in_unit(point[field], unit), places, signed)


def tests_table(phase: Phase, unit: str) -> Html:
    """Return the tests of a phase: measured against its limit, whether it was required, and the verdict."""
    columns = (
        Column("Test"), Column("Measured", numeric=True), Column("Limit", numeric=True), Column("Verdict"),
        Column("In words"),
    )  # fmt: skip
    rows: list[list[Child]] = [
        [
            capital(t["test"]),
            measured_of(t, unit),
            limit_of(t, unit),
            join(verdict(t["verdict"]), None if t["required"] else tag("span", " not required", class_="soft")),
            _in_words(t),
        ]
        for t in phase["tests"]
    ]
    return table(columns, rows, "The tests, each the worst of its points", "tests")


def _in_words(test: dict[str, Any]) -> Html:
    told = [test["words"], *(r["sentence"] for r in test["reasons"] if r["sentence"] != test["words"])]
    said = " ".join(f"{text.told(words).rstrip('.')}." for words in told)
    return join(said, tag("small", f"Limit: {test['limit_source']}.") if test.get("limit_source") else None)


def measured_of(test: dict[str, Any], unit: str) -> str | None:
    """Return what was measured in a test, in the unit of the page."""
    return _mass(test.get("measured"), unit)


def limit_of(test: dict[str, Any], unit: str) -> str | None:
    """Return the limit of a test; it bounds what was measured from above, unless it says that it is the least."""
    shown = _mass(test.get("limit"), unit)
    return f"at least {shown}" if shown and test.get("limit_is") == "at least" else shown


def _mass(text: str | None, unit: str) -> str | None:
    """A mass that came as text in kilograms, `0.2 kg`, in the unit of the page."""
    return None if text is None else kilograms(text.removesuffix(" kg"), unit)
