"""The plan sheet of a scale, made to be printed: every step with an empty box for what has to be written down.

It works on paper where no device may go in. Whoever reads, whoever types and whoever compares each have a box of their own.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from site_builder import addresses
from site_builder.cautions import caution, scheme_words
from site_builder.fleet import Scale
from site_builder.markup import Html, between, join, tag
from site_builder.page import Page
from site_builder.pages.tables import facts, section, table, text_columns
from site_builder.text import as_shown, capital, counted, day, listed, unit_word, with_days

_WIDTH = {"unit": "narrow", "time": "narrow", "decision": "wide", "agreed with": "wide", "told": "wide"}
_SIGNED = ("read by", "typed by", "compared by")
_HOW = (
    "Do the steps in their order and write with a pen. On the scale: off and on name the pieces to take off and to put on; "
    "what is not named stays. Write what the display shows, every digit, with its unit and the time. ± is the largest error "
    "that passes either way. A step with a reason is done only then; strike it through otherwise."
)


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
        section("Pieces to bring", _pieces_to_bring(plan["pieces"]), id_="pieces") if plan["pieces"] else None,
        None if "stops" in plan else section("How to use this sheet", tag("p", _HOW), id_="how"),
        [_part(scale.tag, part, list(steps)) for part, steps in groupby(plan["steps"], key=lambda step: step["part"])],
        _signatures(),
        section("Cautions", [caution(c["code"], text=c["text"]) for c in read["cautions"]], id_="cautions"),
    )
    return Page(here, f"Plan for {scale.tag}", body, "find", scale.touch)


def _head(scale: Scale, read: dict[str, Any]) -> Html:
    plan = read["plan"]
    return facts(
        [
            ("Worked out for", day(plan["on"])),
            ("Scale", f"{scale.model['description']}, serial {scale.device['serial']}"),
            ("Weight set", plan.get("weight_set", "not named: loads without pieces")),
            ("Tolerance", scheme_words({"scheme": plan["scheme"]})),
            ("Up to", None if "stops" in plan else f"{plan['top_kg']} kg: {plan['top_words']}"),
            ("Weights asked for", between(" ", plan["asks"]) if plan["asks"] else None),
            ("Assumed", between(" ", plan["assumed"]) if plan["assumed"] else None),
            ("Lifting", _lifting(plan.get("lifting"))),
            ("Pieces left out", listed(f"{left['piece']} ({left['why']})" for left in plan["left_out"]) or None),
            (
                "Not to be used",
                between(" ", [f"{h['piece']}: {with_days(h['why'])}" for h in read.get("held", ())]) or None,
            ),
            ("Digest of this plan", tag("code", read["digest"])),
        ]
    )


def _lifting(lifting: dict[str, Any] | None) -> str | None:
    if lifting is None:
        return None
    return (
        f"{lifting['lifts']} lifts and {lifting['kg']} kg moved by hand if every step is done. "
        f"{as_shown(lifting['heaviest'])}, {lifting['situation']}: lifting index {lifting['index']} "
        f"(limit {lifting['limit_kg']} kg)"
    )


def _pieces_to_bring(pieces: Sequence[dict[str, Any]]) -> Html:
    """How many of each nominal mass, with their codes, and how many in all: as many have to come back."""
    rows = []
    for nominal, some in groupby(pieces, key=lambda piece: as_shown(piece["nominal"])):
        codes = [piece["piece"] for piece in some]
        rows.append((f"{len(codes)} × {nominal}", ", ".join(codes)))
    return facts(
        [*rows, ("In all", [counted(len(pieces), "piece"), " ", _row_of_boxes(("counted out", "counted back"))])]
    )


def _part(device: str, part: str, steps: Sequence[dict[str, Any]]) -> Html:
    """One part of the plan; the tag of the scale stands over every table, so that a loose page is known."""
    columns = text_columns(f"{device}: step", "Do", "On the scale", "Passes", "Write down")
    return section(
        capital(part), table(columns, [_row(step) for step in steps], class_="sheet"), id_=part.replace(" ", "-")
    )


def _row(step: dict[str, Any]) -> list[Any]:
    name = [tag("span", str(step["number"]), class_="no"), f" {step['name']}", *map(_line, _where(step))]
    do = [_line(f"Only if: {_reason(step['only_if'])}") if "only_if" in step else None, step["do"],
          _line(step.get("cannot")), _line(listed(step["cautions"]))]  # fmt: skip
    return [name, do, _pieces(step), _tolerance(step.get("tolerance")), _boxes(step)]


def _reason(only_if: str) -> str:
    return only_if.removeprefix("only ").removeprefix("if ")


def _where(step: dict[str, Any]) -> Iterator[str]:
    if "position" in step:
        yield step["position"]
    if "range_selected" in step:
        yield f"range {step['range_selected']}"
    if "display_unit" in step:
        yield f"display in {unit_word(step['display_unit'])}"


def _line(text: str | None) -> Html | None:
    return tag("span", capital(text), class_="aside") if text else None


def _pieces(step: dict[str, Any]) -> list[Any] | None:
    load = as_shown(step["load"]) if "load" in step else None
    told = [
        _line(f"must show {as_shown(step['in_display'])}") if "in_display" in step else None,
        _line(f"net, after a tare of {as_shown(step['tare'])}") if "tare" in step else None,
        _line(_added(step)) if "added" in step else None,
        *_moved(step),
    ]
    if load is None and not any(told):
        return None
    return [tag("strong", load) if load else None, told]


def _added(step: dict[str, Any]) -> str:
    """What goes on top: of the load where that is a sum, beside it where the display only has to move."""
    beside = step.get("test") == "discrimination"
    return f"and {as_shown(step['added'])} gently" if beside else f"{as_shown(step['added'])} of it on top"


def _moved(step: dict[str, Any]) -> Iterator[Html]:
    """What goes off and on; where everything goes off, or everything stays, that is said instead."""
    off, on = step["take_off"], step["put_on"]
    if off:
        yield tag("span", tag("strong", "off"), " ", _codes(off) if step["pieces"] else "everything", class_="aside")
    if on:
        yield tag("span", tag("strong", "on"), " ", _codes(on), class_="aside")
    if step["pieces"] and not off and not on:
        yield tag("span", "the same pieces", class_="aside")


def _codes(pieces: Sequence[str]) -> Html:
    """Codes of pieces, none broken over two lines."""
    return between(", ", [tag("span", code, class_="piece") for code in pieces])


def _tolerance(tolerance: dict[str, Any] | None) -> list[Any] | None:
    if tolerance is None:
        return None
    needs = f"ward needs {as_shown(tolerance['ward_needs'])}" if "ward_needs" in tolerance else None
    return [
        tag("strong", f"±\u00a0{as_shown(tolerance['as_found'])}"), _line(f"as left ±\u00a0{as_shown(tolerance['as_left'])}"),
        _line(tolerance["counted"]), _line(needs),
    ]  # fmt: skip


def _boxes(step: dict[str, Any]) -> list[Html]:
    """One empty box for each thing, once for each reading, which is named where there are several."""
    times = step["each"] or [""] * max(1, step["readings"])
    return [_row_of_boxes(step["fill"], named) for named in times if step["fill"]]


def _row_of_boxes(words: Sequence[str], named: str = "") -> Html:
    labels = [named if word == "reading" and named else word for word in words]
    boxes = [
        tag("span", tag("span", label, class_="of"), class_=f"box {_WIDTH.get(word, '')}".strip())
        for word, label in zip(words, labels, strict=True)
    ]
    return tag("span", boxes, class_="boxes")


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
