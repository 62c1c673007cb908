"""The parts of a certificate that describe, not judge: scale, method, air, seals, settings, traceability."""

from typing import Any

from site_builder.markup import Child, Html, tag
from site_builder.pages.tables import Column, facts, section, table, text_columns
from site_builder.text import as_shown, capital, day, listed, number, unit_word

Document = dict[str, Any]

_SETTINGS = (
    ("capacity", "Capacity"), ("interval", "Interval"), ("decimal_point", "Decimal point"), ("unit", "Unit"),
    ("unit_locked", "Unit locked"), ("tare_in_memory", "Tare in memory"), ("bed_zero", "Bed zero"),
    ("zero_tracking", "Zero tracking"), ("filter", "Filter"), ("hold", "Hold"), ("gravity_setting", "Gravity setting"),
    ("resolution", "Resolution"),
)  # fmt: skip


def identity(document: Document) -> Html:
    """Return the scale as it is identified."""
    device, model = document["device"], document["model"]
    ranges = listed(f"{as_shown(r['max'])}, d = {as_shown(r['d'])}, e = {as_shown(r['e'])}" for r in model["ranges"])
    return section(
        "The scale",
        facts(
            [
                ("Asset tag", device["tag"]),
                ("Serial", device["serial"]),
                ("Kind", f"{model['kind']}: {model['description']}"),
                ("Model", model["code"]),
                ("Accuracy class", model["accuracy_class"]),
                ("Ranges", f"{ranges} ({model['arrangement']})"),
                ("Firmware", device.get("firmware")),
                ("UDI", device.get("udi")),
                ("Place", device["place"]),
            ]
        ),
    )


def compared(content: Document) -> Html | None:
    """Return what was compared with the register before the test, and the condition the scale was in."""
    tables = [_compared(content.get("identity") or []), _checks(content.get("checks") or [])]
    return section("Identity and condition as found", tables) if any(tables) else None


def attachments(content: Document) -> Html | None:
    """Return the files that a visit names, each by the digest of its bytes: who has the file can hold it against that."""
    rows: list[list[Child]] = [[one["what"], tag("code", one["digest"])] for one in content.get("attachments") or []]
    return (
        section("Attachments", table(text_columns("What it shows", "Digest"), rows, None, "compact")) if rows else None
    )


def _compared(items: list[Document]) -> Html | None:
    if not items:
        return None
    rows: list[list[Child]] = [
        [capital(i["item"]), "matches" if i["matches"] else "differs", i.get("seen")] for i in items
    ]
    return table(text_columns("Compared with the register", "Result", "Seen"), rows, None, "compact")


def _checks(items: list[Document]) -> Html | None:
    if not items:
        return None
    rows: list[list[Child]] = [[capital(i["item"]), i["result"], i.get("text")] for i in items]
    return table(text_columns("Condition looked at", "Result", "In words"), rows, None, "compact")


def taken_down(content: Document) -> str | None:
    """Return who read the display, who typed the readings and who compared them, where the record says it."""
    said = content.get("taken_down")
    if not said:
        return None
    hands = (("read by", "read_by"), ("typed by", "typed_by"), ("compared by", "compared_by"))
    people = [f"{word} {said[key]}" if said.get(key) else f"{word} nobody named" for word, key in hands]
    return ", ".join(people) + (f"; from sheet {said['from_sheet']}" if said.get("from_sheet") else "")


def method(document: Document) -> Html:
    """Return the method: procedure with revision, what the tests were, and what departed from it."""
    content = document["content"]
    procedure = document.get("procedure") or content.get("procedure")
    said = f"{procedure['code']}, revision {procedure['revision']}" if procedure else "no procedure was named"
    left_out = [
        f"reading {r['seq']} ({key.replace('_', ' ')}): {r['excluded']}"
        for key in ("as_found", "as_left")
        for r in (content.get(key) or {}).get("readings", [])
        if r.get("excluded")
    ]
    outcome = content["outcome"] + (f": {listed(content['reasons'])}" if content.get("reasons") else "")
    return section(
        "Method",
        facts(
            [
                ("Procedure", said),
                ("Plan followed", tag("code", procedure["plan"]) if procedure and procedure.get("plan") else None),
                ("Taken down", taken_down(content)),
                ("Outcome", outcome),
                ("Readings that do not count", "; ".join(left_out) or "none"),
                ("Reference value", _reference_words(document.get("policy") or {})),
            ]
        ),
    )


def _reference_words(policy: Document) -> str:
    if policy.get("reference") == "nominal":
        return "the marked values of the weights"
    return "conventional mass from the weight certificates in force that day"


def conditions(content: Document) -> Html:
    """Return the surroundings and the set-up, start and end."""
    setup, surroundings = content.get("setup") or {}, content.get("environment") or {}
    pairs: list[tuple[str, Child]] = [
        (f"Air at the {name}", _air(surroundings.get(name) or {})) for name in ("start", "end")
    ]
    pairs += [
        ("Measured with", listed(surroundings.get("measured_with") or [])),
        ("Surface", setup.get("surface")),
        ("Level", _yes_no(setup.get("level"))),
        ("Warm-up", f"{number(setup['warm_up_min'])} minutes" if setup.get("warm_up_min") is not None else None),
    ]
    known = any(value for _, value in pairs)
    return section(
        "Surroundings and set-up", facts(pairs) if known else tag("p", "Nothing was recorded of the surroundings.")
    )


def _air(air: Document) -> str:
    said = [
        f"{number(air['temperature_c'])} °C" if air.get("temperature_c") is not None else "",
        f"{number(air['humidity_pct'])} % relative humidity" if air.get("humidity_pct") is not None else "",
        f"{number(air['pressure_hpa'])} hPa" if air.get("pressure_hpa") is not None else "",
        f"weights at {number(air['weights_temperature_c'])} °C" if air.get("weights_temperature_c") is not None else "",
    ]
    return ", ".join(s for s in said if s)


def _yes_no(value: bool | None) -> str | None:
    return None if value is None else "yes" if value else "no"


def adjustments(content: Document) -> Html:
    """Return every adjustment, or that there was none: what was found came before, what was left after."""
    done = content.get("adjustments") or []
    if not done:
        return section("Adjustments", tag("p", "Nothing was adjusted."))
    rows = [_adjustment(a) for a in done]
    columns = text_columns("Adjusted", "With", "Before", "After", "Authorised by", "Why")
    return section("Adjustments", table(columns, rows, "In the order done, between as found and as left"))


def _adjustment(done: Document) -> list[Child]:
    load = as_shown(done["at_load"]) if done.get("at_load") else ""
    pieces = f" ({listed(done['pieces'])})" if done.get("pieces") else ""
    return [
        capital(done["type"]), f"{load}{pieces}", done.get("before_value"), done.get("after_value"),
        done.get("authorised_by"), done.get("reason"),
    ]  # fmt: skip


def seals(content: Document) -> Html | None:
    """Return seals and event counters, before and after."""
    sealed, counted = content.get("seals") or {}, content.get("counters") or {}
    rows: list[list[Child]] = []
    if sealed:
        rows.append(["Seal", sealed.get("before"), sealed.get("after")])
    for key, words in (("configuration", "Configuration counter"), ("adjustment", "Adjustment counter")):
        before, after = ((counted.get(side) or {}).get(key) for side in ("before", "after"))
        if before is not None or after is not None:
            rows.append([words, _count(before), _count(after)])
    return section("Seals and event counters", _before_after(rows)) if rows else None


def _count(value: int | None) -> str | None:
    return None if value is None else str(value)


def configuration(content: Document) -> Html | None:
    """Return how the instrument was set before anything was touched, and how it was left."""
    read = content.get("configuration") or {}
    before, after = read.get("before") or {}, read.get("after") or {}
    rows: list[list[Child]] = [
        [words, _setting(before.get(key)), _setting(after.get(key))]
        for key, words in _SETTINGS
        if before.get(key) is not None or after.get(key) is not None
    ]
    return section("Settings", _before_after(rows)) if rows else None


def _before_after(rows: list[list[Child]]) -> Html:
    return table((Column(""), Column("Before"), Column("After")), rows, None, "compact")


def _setting(value: Any) -> str | None:
    if isinstance(value, bool):
        return _yes_no(value)
    if isinstance(value, dict):
        return as_shown(value)
    return None if value is None else unit_word(str(value))


def traceability(document: Document) -> Html:
    """Return the certificates through which the weights lead back to the unit of mass."""
    rows: list[list[Child]] = [
        [c["number"], c["laboratory"], c.get("accreditation") or "no accreditation number on record",
         f"{day(c['valid_from'])} to {day(c['valid_to'])}"]
        for c in document["weight_certificates"]
    ]  # fmt: skip
    if not rows:
        return section("Traceability", tag("p", "No weight certificate was in force: the results are not traceable."))
    return section(
        "Traceability", table(text_columns("Weight certificate", "Laboratory", "Accreditation", "In force"), rows)
    )
