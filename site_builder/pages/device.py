"""A scale's page: may I use it, first; then the four statuses, the results, the arithmetic, the years, the history."""

from typing import Any

from site_builder import addresses
from site_builder.cautions import caution, scheme_words
from site_builder.fleet import Fleet, Scale
from site_builder.markup import Html, between, join, tag
from site_builder.page import Page
from site_builder.pages.arithmetic import arithmetic
from site_builder.pages.certificate_facts import attachments, taken_down
from site_builder.pages.device_cautions import cautions_of
from site_builder.pages.device_charts import charts, corners_figure, has_years
from site_builder.pages.device_events import open_section
from site_builder.pages.device_statuses import statuses
from site_builder.pages.measurement import phases_of, results
from site_builder.pages.readings import flags, readings, remarks, weights_used
from site_builder.pages.register_notes import register_notes
from site_builder.pages.tables import facts, section
from site_builder.pages.time_line import time_line
from site_builder.pages.use_answer import answer, standing_words
from site_builder.pages.weighing_worth import corners_said, weighing_worth
from site_builder.text import as_shown, capital, day, listed, number


def device_page(fleet: Fleet, scale: Scale) -> Page:
    """Return the page of one scale."""
    here = addresses.device(scale.tag)
    certificates = fleet.certificates_of(scale)
    body = join(
        _head(here, scale),
        answer(here, scale, fleet.near(scale)),
        statuses(scale, fleet.as_of),
        cautions_of(scale),
        open_section(scale),
        _no_certificate(scale.newest) if scale.newest else None,
        _proof(scale),
        _measured(here, scale, certificates) if scale.newest else _nothing_measured(),
        time_line(here, scale, certificates),
        _register(scale),
        caution("C-01"),
    )
    return Page(here, f"{scale.tag}: {scale.may}", body, "find", scale.touch)


def moved_page(old_tag: str, scale: Scale) -> Page:
    """Return the page that a changed tag leaves behind, which points on to the scale's page."""
    here = addresses.device(old_tag)
    link = tag("a", scale.tag, href=addresses.link(here, addresses.device(scale.tag)))
    body = join(
        tag("h1", old_tag), tag("p", "This scale has another asset tag now. Its page is ", link, ".", class_="lead")
    )
    return Page(here, f"{old_tag} is now {scale.tag}", body, "find", scale.touch)


def label(scale: Scale) -> str:
    """Return what stands on the scale's plate, in one line."""
    model, device = scale.model, scale.device
    ranges = " / ".join(f"{as_shown(r['max'])} × {as_shown(r['d'])}" for r in scale.main_ranges)
    class_ = f"class {model['accuracy_class']}" if model["accuracy_class"] != "none" else "no accuracy class"
    return f"{model['description']} · {ranges} · {class_} · serial {device['serial']}"


def _head(here: str, scale: Scale) -> Html:
    site = tag("a", scale.site["name"], href=addresses.link(here, addresses.site(scale.site["code"])))
    ward = tag("a", scale.ward["name"], href=addresses.link(here, addresses.ward(scale.ward["code"])))
    return join(
        tag("p", site, " › ", ward, f" › {scale.device['place']}", class_="where"),
        tag("h1", scale.tag),
        tag("p", label(scale), class_="label"),
        _plan_link(here, scale),
    )


def _plan_link(here: str, scale: Scale) -> Html | None:
    if scale.plan is None:
        return None
    link = tag("a", "Plan sheet to print", href=addresses.link(here, addresses.plan(scale.tag)))
    return tag("p", link, ": every step of its next calibration, with empty boxes.", class_="plan-link")


def _proof(scale: Scale) -> Html:
    """The ways on this page from the answer to its proof."""
    newest = scale.newest
    places: list[tuple[str, str]] = []
    if newest is not None:
        key = phases_of(newest["working"])[0][0].replace("_", "-")
        places += [("What a weighing is worth", "worth")] if scale.weighing and not scale.retired else []
        places += [("The numbers", key), ("How each came about", "arithmetic"), ("The readings as sent", "readings")]
    places += [("Everything that happened", "history"), ("The register", "register")]
    return tag(
        "nav", [tag("a", name, href=f"#{id_}") for name, id_ in places], class_="proof", aria_label="On this page"
    )


def _nothing_measured() -> Html:
    return section(
        "No measurement on record", tag("p", "Nothing was ever measured on this scale, or no record of it stands.")
    )


def _measured(here: str, scale: Scale, certificates: tuple[dict[str, Any], ...]) -> Html:
    """Everything of the newest visit that stands, and the years."""
    item = scale.newest or {}
    judged, content, unit = item["working"], item["content"], scale.unit
    caption = _caption(here, item)
    drawn = phases_of(judged)
    corners = corners_figure(drawn, unit, corners_said(scale))
    return join(
        charts(scale, judged, unit, corners),
        [
            results(key, f"{heading}, {day(item['performed_from'])}", phase, unit, caption, folded=place > 0)
            for place, (key, heading, phase) in enumerate(drawn)
        ],
        caution("C-04", f"{capital(scheme_words(drawn[0][2]))}, {drawn[0][2]['rule']['name']}. ") if drawn else None,
        _open_points(item, content),
        corners if has_years(scale) else None,
        weighing_worth(here, scale),
        arithmetic(judged, unit),
        readings(content),
        weights_used(judged, content, unit),
        attachments(content),
    )


def _caption(here: str, item: dict[str, Any]) -> Html:
    content = item["content"]
    air = ((content.get("environment") or {}).get("start") or {}).get("temperature_c")
    number_ = item.get("certificate")
    return between(
        " · ",
        [
            "All points in the order taken",
            join("certificate ", tag("a", number_, href=addresses.link(here, addresses.certificate(number_))))
            if number_
            else None,
            f"weights of set {content['weight_set']}" if content.get("weight_set") else None,
            f"technician {listed(item['technicians'])}",
            taken_down(content),
            f"{number(air)} °C" if air is not None else None,
        ],
    )


def _no_certificate(item: dict[str, Any]) -> Html | None:
    if item.get("certificate"):
        return None
    if item["standing"] == "provisional":
        final = item.get("as_left") or item.get("as_found") or "not tested"
        said = capital(standing_words(item, final))
        waits = "This record is provisional and has no certificate: one is made when a reviewer releases it."
        if item["revision"] > 1:
            waits = f"It amends an earlier record of the visit ({item['amended_because']}) and waits for its release."
        return join(tag("p", f"{said}. {waits}", class_="lead"), remarks(item))
    return tag("p", "This record has no certificate.", class_="lead")


def _open_points(item: dict[str, Any], content: dict[str, Any]) -> Html | None:
    flagged = flags(item["flags"], content, "To be looked at by a person")
    noted = flags(item["notes"], content, "Worth knowing")
    return section("What was noticed", flagged, noted, id_="noticed") if flagged or noted else None


def _register(scale: Scale) -> Html:
    device = scale.device
    limit = device.get("limit")
    limited = (
        f"up to {as_shown(limit['up_to'])}: {limit['reason']}; decided by {limit['decided_by']}"
        + (f", until {day(limit['until'])}" if limit.get("until") else "")
        if limit
        else None
    )
    return section(
        "As the register has it",
        facts(
            [
                ("State", between(": ", [device["state"], device.get("state_reason")])),
                ("Limit of use", limited),
                ("Kind", scale.model["kind"]),
                ("Model", device["model"]),
                ("Serial", device["serial"]),
                (
                    "Ranges",
                    listed(
                        f"{as_shown(r['max'])}, d = {as_shown(r['d'])}, e = {as_shown(r['e'])}"
                        for r in scale.model["ranges"]
                    ),
                ),
                (
                    "Safe working load",
                    as_shown(scale.model["safe_working_load"]) if scale.model.get("safe_working_load") else None,
                ),
                ("Firmware", device.get("firmware")),
                ("UDI", device.get("udi")),
                ("Interval", f"{device['interval_months']} months"),
                ("Former tags", listed(device.get("previous_tags") or [])),
                ("To be looked at", register_notes(scale.notes)),
            ]
        ),
        id_="register",
    )
