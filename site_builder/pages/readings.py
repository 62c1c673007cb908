"""What was sent, as it was sent: every reading in the order taken, and the weights that were used."""

from typing import Any

from site_builder.markup import Child, Html, join, tag
from site_builder.pages.measurement import reading_id
from site_builder.pages.tables import Column, section, table, text_columns, unfold, when
from site_builder.pointed import inside, steps_of
from site_builder.text import as_shown, capital, clock, day, kilograms, listed, number

_PHASES = (("as_found", "As found"), ("as_left", "As left"))


def readings(content: dict[str, Any]) -> Html:
    """Return every reading of a visit as it was sent, folded, one table a phase."""
    tables = [
        unfold(
            f"{heading}: {len(content[key]['readings'])} readings, in the order taken",
            _table(key, content[key]["readings"], _power(content[key])),
            id_=f"{key.replace('_', '-')}-readings",
        )
        for key, heading in _PHASES
        if content.get(key)
    ]
    return section("The readings as they were sent", tag("div", tables, class_="unfolds"), id_="readings")


def _power(phase: dict[str, Any]) -> str | None:
    said = phase.get("switched_off_and_on")
    return None if said is None else f"Switched off and on before the readings: {'yes' if said else 'no'}."


def _table(key: str, sent: list[dict[str, Any]], caption: str | None) -> Html:
    columns = (
        Column("No.", numeric=True), Column("Test"), Column("Pieces, and how they stood"), Column("Displayed", numeric=True),
        Column("Taken at"), Column("Remarks"),
    )  # fmt: skip
    return table(columns, [_row(r) for r in sent], caption, "readings", [reading_id(key, r["seq"]) for r in sent])


def _row(reading: dict[str, Any]) -> list[Child]:
    place = f", {reading['position']}" if reading.get("position") else ""
    return [
        number(reading["seq"]),
        f"{reading['test']}{place}",
        _load(reading),
        as_shown(reading["indication"]),
        _time(reading.get("at")),
        _remarks(reading),
    ]


def _load(reading: dict[str, Any]) -> str:
    said = listed(reading.get("pieces") or [])
    if not said and reading.get("load"):
        said = f"load of {as_shown(reading['load'])}, no pieces named"
    placed = f"; {reading['placed']}" if reading.get("placed") else ""
    return f"{said or 'no load'}{placed}"


def _time(at: str | None) -> Child:
    if at is None:
        return None
    return when(at, clock(at)) if "T" in at and at[:4].isdigit() else at


def _remarks(reading: dict[str, Any]) -> Child:
    said = [
        "the display was not stable" if reading.get("stable") is False else None,
        f"range {reading['range_selected']} selected" if reading.get("range_selected") is not None else None,
        f"{as_shown(reading['before'])} before {as_shown(reading['added'])} was added"
        if reading.get("before") and reading.get("added")
        else f"{as_shown(reading['before'])} before the load"
        if reading.get("before")
        else None,
        f"went one step up when {as_shown(reading['change_over_added'])} was added"
        if reading.get("change_over_added")
        else None,
        f"net of a tare of {as_shown(reading['tare'])}{', entered by hand' if reading.get('tare_entered') else ''}"
        if reading.get("tare")
        else None,
        f"{number(reading['minutes'])} minutes under load" if reading.get("minutes") is not None else None,
        f"on a substitute load balanced against reading {number(reading['substitution'])}"
        if reading.get("substitution") is not None
        else None,
        f"added to the base load of reading {number(reading['base'])}" if reading.get("base") is not None else None,
        f"does not count: {reading['excluded']}" if reading.get("excluded") else None,
        reading.get("remark"),
    ]
    return "; ".join(s for s in said if s)


def weights_used(judged: dict[str, Any], content: dict[str, Any], unit: str) -> Html | None:
    """Return the weights of a visit, by piece, with the certificate that gave each its mass that day."""
    pieces = judged.get("weights") or []
    if not pieces:
        return None
    columns = (
        *text_columns("Piece", "Nominal", "Class"), Column("Conventional mass", numeric=True), Column("U", numeric=True),
        *text_columns("Certificate", "In force"),
    )  # fmt: skip
    set_ = f"Set {content['weight_set']}. " if content.get("weight_set") else ""
    return section(
        "Weights used",
        table(columns, [_weight(p, unit) for p in pieces], f"{set_}Traceable piece by piece.", "weights"),
    )


def _weight(piece: dict[str, Any], unit: str) -> list[Child]:
    k = f" (k = {number(piece['k'])})" if piece.get("k") is not None else ""
    dates = (
        f"{day(piece['valid_from'])} to {day(piece['valid_to'])}"
        if piece.get("valid_from") and piece.get("valid_to")
        else None
    )
    return [
        piece["piece"],
        as_shown(piece["nominal"]),
        piece["weight_class"],
        kilograms(piece["conventional_kg"], unit) if piece.get("conventional_kg") else None,
        f"{kilograms(piece['expanded_kg'], unit)}{k}" if piece.get("expanded_kg") else None,
        piece.get("certificate") or "none in force that day",
        dates,
    ]


def sentences(judged_flags: list[dict[str, Any]]) -> Html | None:
    """Return what flags say, each sentence once; where they point is told on the page of the visit itself."""
    said = dict.fromkeys(capital(f["sentence"]) for f in judged_flags)
    return tag("ul", [tag("li", sentence) for sentence in said], class_="flags") if said else None


def remarks(item: dict[str, Any]) -> Html | None:
    """Return what reviewers said of a visit without releasing it."""
    said = [f"{one['by_whom']}, {day(one['moment'])}: {one['words']}" for one in item["remarks"]]
    return tag("ul", [tag("li", words) for words in said], class_="flags") if said else None


def flags(judged_flags: list[dict[str, Any]], content: dict[str, Any], heading: str) -> Html | None:
    """Return flags or notes as sentences, each with the place in what was sent that it speaks of."""
    if not judged_flags:
        return None
    items = [
        tag("li", capital(f["sentence"]), _typed(f.get("pointer"), content), _place(f.get("pointer"), content))
        for f in judged_flags
    ]
    return join(tag("h3", heading), tag("ul", items, class_="flags"))


def _typed(pointer: str | None, content: dict[str, Any]) -> str | None:
    """What was typed where a flag points, in the words that pages may show."""
    there = inside(content, steps_of(pointer or ""))
    typed = [there.get(name) for name in ("item", "seen", "text", "excluded")] if isinstance(there, dict) else []
    said = ": ".join(text for text in typed if text)
    return f" {capital(said)}." if said else None


def _place(pointer: str | None, content: dict[str, Any]) -> Html | None:
    steps = steps_of(pointer or "")
    if len(steps) == 3 and steps[0] in ("as_found", "as_left") and steps[1] == "readings" and steps[2].isdigit():
        sent = (content.get(steps[0]) or {}).get("readings", [])
        if int(steps[2]) < len(sent):
            seq = sent[int(steps[2])]["seq"]
            where = f"{steps[0].replace('_', ' ')}, reading {seq}"
            return tag("span", " (", tag("a", where, href=f"#{reading_id(steps[0], seq)}"), ")", class_="soft")
    words = ", ".join(step.replace("_", " ") for step in steps if step and not step.isdigit())
    return tag("span", f" ({words})", class_="soft") if words else None
