"""What a weighing on a scale is worth, as its page says it: a sentence, a drawing, a small table; and the supports.

Everything here is the service's own answer on the day of the build; where it has none, the sentence says why.
"""

from typing import Any

from site_builder import addresses
from site_builder.cautions import caution
from site_builder.charts.worth_over_load import worth_over_load
from site_builder.fleet import Scale
from site_builder.markup import Child, Html, between, join, tag
from site_builder.pages.tables import Column, section, table, unfold
from site_builder.text import (
    UNIT_SPACE,
    as_printed,
    capital,
    counted,
    day,
    in_unit,
    kilograms,
    listed,
    number,
    with_days,
)

HEADING = "What a weighing here is worth"
_RESTS = {"as left": "as it was left", "as found, left so": "as it was found and left"}
_FORMS = {
    "through zero": "a straight line through zero",
    "with a zero error": "a straight line with an error at zero",
    "joined from load to load": "joined from load to load, because no straight line agrees with them",
}


def weighing_worth(here: str, scale: Scale) -> Html | None:
    """Return the section on the worth of a weighing; None for a scale that is retired or was never asked about."""
    answer, unit = scale.weighing, scale.unit
    if answer is None or scale.retired:
        return None
    if "why_not" in answer:
        return section(HEADING, tag("p", with_days(answer["why_not"])), id_="worth")
    drawn = worth_over_load(answer, _judged(scale, answer), unit)
    return section(
        HEADING,
        tag("p", _lead(answer, unit), class_="lead"),
        tag("p", _claims(answer, unit)) if "proven_to_kg" in answer else None,
        tag("div", tag("figure", drawn, _legend(answer)), _table(answer, unit), class_="worth-drawn")
        if drawn
        else None,
        unfold("What these numbers rest on", _rests_on(here, answer, unit)),
        id_="worth",
    )


def _judged(scale: Scale, answer: dict[str, Any]) -> dict[str, Any]:
    """The working of the visit that the answer rests on."""
    visit = answer["visit"]
    found: dict[str, Any] = next(
        h["working"]
        for h in sorted(scale.history, key=lambda h: h["revision"], reverse=True)
        if (h["site"], h["calibration"]) == (visit["site"], visit["calibration"])
    )
    return found


def _lead(answer: dict[str, Any], unit: str) -> str:
    rows = {row["reading_kg"]: row for row in answer["readings"]}
    typical = [rows[load] for load in answer["typical_kg"] if "uncorrected_kg" in rows.get(load, {})]
    if not typical:
        return f"Nothing can be said of a weighing. {answer['proven']}"
    said = [
        f"{as_printed(row['uncorrected_kg'], unit)} {unit} at {kilograms(row['reading_kg'], unit)} "
        f"({number(row['percent'])}{UNIT_SPACE}%)"
        for row in typical
    ]
    return f"In about 95 of 100 weighings the reading is off by at most {listed(said)}."


def _claims(answer: dict[str, Any], unit: str) -> str:
    """Where one weighing can be said to be within tolerance, or beyond it, and where neither."""
    said = [_inside(answer, unit)]
    below = [s for s in answer["claims"] if s["where"] == "below" and s["claim"] != "cannot say"]
    if "below_percent" in answer:
        low = kilograms(answer["proven_from_kg"], unit)
        held = f"Below {low}, held against {number(answer['below_percent'])}{UNIT_SPACE}% as at {low},"
        told = _grouped(below, unit)
        said.append(f"{held} it is {told}; lighter, nothing can be said." if told else f"{held} nothing can be said.")
    if any(s["where"] == "above" for s in answer["claims"]):
        said.append(f"Above {kilograms(answer['proven_to_kg'], unit)} nothing was proven and nothing is claimed.")
    return " ".join(said)


def _inside(answer: dict[str, Any], unit: str) -> str:
    told = [s for s in answer["claims"] if s["where"] == "proven" and s["claim"] != "cannot say"]
    if answer["visit"]["standing"] == "provisional" and not told:
        return "The visit waits for its review: until then no weighing is said to be within tolerance."
    if not told:
        return (
            "Its uncertainty is too large to say of any single weighing that it is within the tolerance, or beyond it."
        )
    parts = _grouped(told, unit)
    left = any(s["where"] == "proven" and s["claim"] == "cannot say" for s in answer["claims"])
    open_ = "; elsewhere in the proven range its uncertainty leaves it open" if left else ""
    return f"A single weighing can be said to be {parts}{open_}."


def _grouped(stretches: list[dict[str, Any]], unit: str) -> str:
    """Each claim once, with the stretches of loads of which it holds."""
    claims = dict.fromkeys(s["claim"] for s in stretches)
    return listed(
        f"{claim} {listed(f'from {_from_to(s, unit)}' for s in stretches if s['claim'] == claim)}" for claim in claims
    )


def _from_to(stretch: dict[str, Any], unit: str) -> str:
    return f"{number(in_unit(stretch['from_kg'], unit))} to {kilograms(stretch['to_kg'], unit)}"


def _legend(answer: dict[str, Any]) -> Html:
    said = [
        "line: error expected", "shaded: U about it, for about 95 of 100 weighings",
        f"dashed: {answer['tolerance_stage']} tolerance", "hatched: outside the proven range",
    ]  # fmt: skip
    return tag("figcaption", f"{capital(' · '.join(said))}.")


def _table(answer: dict[str, Any], unit: str) -> Html:
    columns = (
        Column("Reading", numeric=True), Column(f"Error, {unit}", numeric=True), Column(f"U, {unit}", numeric=True),
        Column(f"Off by at most, {unit}", numeric=True), Column("Percent", numeric=True),
        Column(f"Tolerance, {unit}", numeric=True), Column("One weighing"),
    )  # fmt: skip
    rows: list[list[Child]] = [
        [
            kilograms(row["reading_kg"], unit),
            _signed(row["error_kg"], unit),
            as_printed(row["expanded_kg"], unit),
            as_printed(row["uncorrected_kg"], unit),
            f"{number(row['percent'])}{UNIT_SPACE}%" if "percent" in row else None,
            f"±{number(in_unit(row['tolerance_kg'], unit))}" if "tolerance_kg" in row else None,
            row["claim"],
        ]
        for row in answer["readings"]
        if "expanded_kg" in row and row["where"] == "proven"
    ]
    return table(columns, rows, "Error expected, its U, both together, and the tolerance beside", "worth-table")


def _signed(kilograms_: str, unit: str) -> str:
    printed = as_printed(kilograms_, unit)
    return f"+{printed}" if in_unit(kilograms_, unit) > 0 else printed


def _rests_on(here: str, answer: dict[str, Any], unit: str) -> Html:
    visit, line = answer["visit"], answer["line"]
    certificate = visit.get("certificate")
    link = (
        join(", certificate ", tag("a", certificate, href=addresses.link(here, addresses.certificate(certificate))))
        if certificate
        else None
    )
    fitted = (
        f"Errors at {counted(line['loads'], 'load')}: {_FORMS[line['form']]}. Slope {number(line['slope_ppm'], signed=True)} "
        f"ppm, standard uncertainty {number(line['u_slope_ppm'])} ppm; chi-square of the line through zero "
        f"{number(line['chi_square'])}, limit {number(line['chi_square_limit'])}."
    )
    bound = (
        f"As a straight bound: {as_printed(answer['alpha_kg'], unit)} {unit} + {number(answer['beta_ppm'])} ppm of the "
        "reading, the error left in."
    )
    items: list[Child] = [
        join(
            f"The visit of {day(visit['performed_on'])}, {_RESTS[visit['behaviour']]}, {visit['standing']}", link, "."
        ),
        f"Held against {answer['tolerance']}: a scale in use is held to it however it was judged when adjusted.",
        fitted,
        bound,
        _reach(answer, unit),
        *answer["assumptions"],
        "EURAMET cg-18 v4.0 (11/2015) sections 7.4 and 7.5, formulas from memory.",
    ]
    return tag("ul", [tag("li", item) for item in items if item], class_="reasons")


def _reach(answer: dict[str, Any], unit: str) -> str | None:
    if "slope_reaches_kg" not in answer:
        return None
    reach = kilograms(answer["slope_reaches_kg"], unit)
    return (
        f"The weights placed give the slope well enough to decide the tolerance up to {reach}, if the scale were straight; "
        "nothing is claimed above the highest load proven."
    )


def corners_said(scale: Scale) -> Html | None:
    """Return what the corner readings say of the supports, for under their drawing; None where nothing was asked."""
    answer, unit = scale.corners, scale.unit
    if answer is None:
        return None
    if "why_not" in answer:
        return tag("p", with_days(answer["why_not"]), class_="soft")
    visit = answer["visit"]
    return join(
        tag("p", capital(answer["sentence"])),
        _predictions(answer, unit),
        unfold(
            "The supports, solved",
            _supports(answer),
            tag("ul", [tag("li", text) for text in answer["assumptions"]], class_="reasons"),
            tag("p", f"From the visit of {day(visit['performed_on'])}, {_RESTS[visit['behaviour']]}.", class_="soft"),
        ),
    )


def _predictions(answer: dict[str, Any], unit: str) -> Html | None:
    told = [p for p in answer["predictions"] if in_unit(p["expanded_kg"], unit) > 0]
    if not told:
        return None
    said = [
        f"{p['load']}, {kilograms(p['at_kg'], unit)}, {p['stands']}: {_signed(p['difference_kg'], unit)} {unit} "
        f"(U {as_printed(p['expanded_kg'], unit)} {unit})"
        for p in told
    ]
    return join(
        tag("p", f"Predicted beyond the same load in the middle: {'; '.join(said)}."),
        caution("C-12"),
    )


def _supports(answer: dict[str, Any]) -> Html:
    columns = (
        Column("Support"), Column("From the mean, ppm", numeric=True), Column("U, ppm", numeric=True),
        Column("From the others, ppm", numeric=True), Column("U, ppm", numeric=True), Column("Seen"),
    )  # fmt: skip
    rows = [
        [
            capital(s["support"]), number(s["deviation_ppm"], signed=True), number(s["expanded_ppm"]),
            number(s["against_the_others_ppm"], signed=True), number(s["against_the_others_expanded_ppm"]), s["seen"],
        ]
        for s in answer["supports"]
    ]  # fmt: skip
    test = between(
        "; ",
        [
            "Parts per million of what each carries",
            f"chi-square {number(answer['chi_square'])}, limit {number(answer['chi_square_limit'])}"
            if "chi_square_limit" in answer
            else "as many readings as supports, so that nothing tests them",
        ],
    )
    return table(columns, rows, test, "compact")
