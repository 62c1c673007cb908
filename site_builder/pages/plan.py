"""The plan sheet of a scale, made to be printed: every step with an empty box for what has to be written down.

It works on paper where no device may go in. Whoever reads, whoever types and whoever compares each have a box of their own.
"""

from typing import Any

from site_builder import addresses
from site_builder.cautions import caution, scheme_words
from site_builder.fleet import Scale
from site_builder.markup import Html, between, join, tag
from site_builder.page import Page
from site_builder.pages.tables import facts, section, table, text_columns
from site_builder.text import as_shown, capital, day, listed

COLUMNS = text_columns("Step", "Do", "Place", "Tolerance", "Write down")
_SIGNED = ("read by", "typed by", "compared by")


def plan_page(scale: Scale, read: dict[str, Any]) -> Page:
    """Return the sheet of one scale, from its plan as the service answers it."""
    here, plan = addresses.plan(scale.tag), read["plan"]
    back = tag(
        "a",
        f"{scale.tag}, {scale.site['name']}, {scale.ward['name']}",
        href=addresses.link(here, addresses.device(scale.tag)),
    )
    body = join(
        tag("p", back, f" › {scale.device['place']}", class_="where"),
        tag("h1", f"Plan for {scale.tag}"),
        tag("p", plan["proves"], class_="lead"),
        caution("C-18", text=plan["stops"]) if plan.get("stops") else None,
        _head(scale, read),
        section("The steps", table(COLUMNS, [_row(step) for step in plan["steps"]], class_="sheet"), id_="steps"),
        _signatures(),
        section("Cautions", [caution(c["code"], text=c["text"]) for c in read["cautions"]], id_="cautions"),
    )
    return Page(here, f"Plan for {scale.tag}", body, "find", scale.touch)


def _head(scale: Scale, read: dict[str, Any]) -> Html:
    plan = read["plan"]
    scheme = plan["scheme"]
    return facts(
        [
            ("Day", day(plan["on"])),
            ("Scale", f"{scale.model['description']}, serial {scale.device['serial']}"),
            ("Weight set", plan.get("weight_set", "not named: loads without pieces")),
            ("Tolerance", scheme_words({"scheme": scheme})),
            ("Up to", f"{plan['top_kg']} kg: {plan['top_words']}"),
            ("Weights asked for", between(" ", plan["asks"]) if plan["asks"] else None),
            ("Lifting", _lifting(plan.get("lifting"))),
            ("Pieces left out", listed(f"{left['piece']} ({left['why']})" for left in plan["left_out"]) or None),
            ("Digest of this plan", tag("code", read["digest"])),
        ]
    )


def _lifting(lifting: dict[str, Any] | None) -> str | None:
    if lifting is None:
        return None
    return (
        f"{lifting['lifts']} lifts, {lifting['kg']} kg moved by hand. {as_shown(lifting['heaviest'])}, "
        f"{lifting['situation']}: lifting index {lifting['index']} (limit {lifting['limit_kg']} kg)"
    )


def _row(step: dict[str, Any]) -> list[Any]:
    name = f"{step['number']} {step['name']}" + (f", {step['position']}" if "position" in step else "")
    do = [step["do"], _line(step.get("only_if")), _line(step.get("cannot")), _line(listed(step["cautions"]))]
    return [name, do, _pieces(step), _tolerance(step.get("tolerance")), _boxes(step)]


def _line(text: str | None) -> Html | None:
    return tag("span", capital(text), class_="aside") if text else None


def _pieces(step: dict[str, Any]) -> list[Any] | None:
    moved = [(word, step[key]) for word, key in (("off", "take_off"), ("on", "put_on")) if step[key]]
    load = as_shown(step["load"]) if "load" in step else None
    added = f"add {as_shown(step['added'])}" if "added" in step else None
    if not (load or added or moved):
        return None
    return [
        tag("strong", load) if load else None, _line(added),
        [tag("span", tag("strong", word), f" {', '.join(codes)}", class_="aside") for word, codes in moved],
    ]  # fmt: skip


def _tolerance(tolerance: dict[str, Any] | None) -> list[Any] | None:
    if tolerance is None:
        return None
    needs = f"ward needs {as_shown(tolerance['ward_needs'])}" if "ward_needs" in tolerance else None
    return [
        tag("strong", f"± {as_shown(tolerance['as_found'])}"), _line(f"as left {as_shown(tolerance['as_left'])}"),
        _line(tolerance["counted"]), _line(needs),
    ]  # fmt: skip


def _boxes(step: dict[str, Any]) -> list[Html]:
    """One empty box for each thing, once for each reading."""
    times = max(1, step["readings"])
    boxes = [
        tag("span", tag("span", word, class_="of"), class_="box") for _ in range(times) for word in step["fill"]
    ]  # fmt: skip
    return [tag("span", boxes, class_="boxes")]


def _signatures() -> Html:
    boxes = [
        tag("span", tag("span", word, class_="of"), class_="box wide") for word in (*_SIGNED, "sheet number", "day")
    ]
    return section(
        "Who read, who typed, who compared",
        tag("p", "On paper: one reads, one types it into the record, and somebody else compares the two."),
        tag("p", boxes, class_="boxes"),
        id_="signed",
    )
