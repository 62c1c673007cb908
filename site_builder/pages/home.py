"""The front page: the fleet at a glance, what needs attention first, every site and ward, and how to read the words."""

from site_builder import addresses
from site_builder.beam import use_word, verdict
from site_builder.cautions import caution
from site_builder.fleet import Fleet, Scale
from site_builder.markup import Child, Html, join, tag
from site_builder.page import Page
from site_builder.pages.device_events import not_linked, open_on_front
from site_builder.pages.fleet_lists import (
    ANSWERS,
    COUNT_COLUMNS,
    DUE_STATES,
    answer_counts,
    answer_tiles,
    counts_row,
    due_counts,
    first_reason,
    scale_link,
)  # fmt: skip
from site_builder.pages.tables import Column, section, table, when
from site_builder.pages.unlinked import unlinked
from site_builder.text import counted, day, listed, moment, number

MOST_ATTENTION = 12
_TIERS = ("dose-critical", "monitoring", "record")

_VERDICTS = (
    ("pass", "The error is within the tolerance, under the rule printed beside the verdict."),
    ("conditional pass", "Within the tolerance, but by less than the uncertainty."),
    ("conditional fail", "Outside the tolerance, but by less than the uncertainty."),
    ("fail", "The error is outside the tolerance."),
    ("undecided", "The readings, the weights or the guard band cannot decide it; the reason says what would."),
    ("not tested", "Nothing was measured; the reason is on the record."),
)
_USES = (
    (
        "may use",
        "Proven, in date, nothing open. It ends on its date, or when the scale is tagged, moved, dropped or repaired.",
    ),
    ("may use within limits", "Only for the loads named, and only under the limit written on its page."),
    ("not proven", "Nobody knows whether it weighs right. That is never the same as right."),
    (
        "do not use",
        "Something is wrong or forbidden. Its page names the nearest scale to use instead and whom to call.",
    ),
)
_OTHER_WORDS = (
    (
        "as found, as left",
        "What the scale did before anybody touched it, and what it did when the technician went away.",
    ),
    (
        "measured within tolerance, not yet reviewed",
        "The measurement is good, but no reviewer has released it. It lifts no earlier restriction.",
    ),
    (
        "four statuses",
        "Measurement, on time, electrical safety and legal verification are four different questions. None answers another.",
    ),
)


def home_page(fleet: Fleet) -> Page:
    """Return the front page."""
    here = addresses.HOME
    body = join(
        tag("h1", "May we trust our scales today?"),
        tag("p", _at_a_glance(fleet), class_="lead"),
        answer_tiles(fleet.in_use),
        tag(
            "p",
            _due_line(fleet),
            ". ",
            tag("a", "The due list", href=addresses.link(here, addresses.DUE)),
            class_="due-line-words",
        ),
        _attention(here, fleet),
        open_on_front(here, fleet, MOST_ATTENTION),
        _unlinked(fleet),
        not_linked(fleet.not_linked[:MOST_ATTENTION]),
        section(
            "Every site and ward",
            [_site(here, fleet, site["code"], site["name"]) for site in fleet.sites],
            id_="places",
        ),
        _how_to_read(),
        caution("C-15", "The examples stand in the program’s own tests, each with its source. "),
        caution("C-16", _copy(fleet)),
    )
    return Page(here, "Today", body, "today", fleet.log)


def _at_a_glance(fleet: Fleet) -> str:
    counts = answer_counts(fleet.scales)
    total, good = len(fleet.in_use), counts["may use"] + counts["may use within limits"]
    gone = len(fleet.scales) - total
    retired = f" {counted(gone, 'more is', 'more are')} retired." if gone else ""
    return f"On {day(fleet.as_of)}, {number(good)} of {counted(total, 'scale')} in service may be used.{retired}"


def _due_line(fleet: Fleet) -> str:
    counts = due_counts(fleet.scales)
    said = listed(f"{number(counts[state])} {state}" for state in DUE_STATES if counts[state])
    return f"Calibration: {said}" if said else "No scale has a due date"


def _attention(here: str, fleet: Fleet) -> Html:
    wanting = sorted((s for s in fleet.in_use if _needs_attention(s)), key=_urgency)
    if not wanting:
        return section("What needs attention first", tag("p", "Nothing: every scale may be used and none is overdue."))
    items = [tag("li", _attention_item(here, scale)) for scale in wanting[:MOST_ATTENTION]]
    more = len(wanting) - len(items)
    rest = (
        tag(
            "p",
            f"{counted(more, 'more')} in ",
            tag("a", "the list of all scales", href=addresses.link(here, addresses.FIND)),
            ".",
        )
        if more > 0
        else None
    )
    return section("What needs attention first", tag("ol", items, class_="attention"), rest, id_="attention")


def _unlinked(fleet: Fleet) -> Html | None:
    """The newest of them, those of no registered site first: they stand on no other page."""
    sites = {site["code"] for site in fleet.sites}
    visits = sorted(fleet.unlinked, key=lambda item: item["site"] in sites)
    more = len(visits) - MOST_ATTENTION
    return unlinked(
        visits[:MOST_ATTENTION], f"{counted(more, 'more')} on the pages of their sites." if more > 0 else None
    )


def _needs_attention(scale: Scale) -> bool:
    return scale.may in ("do not use", "not proven") or scale.due["state"] in ("overdue", "never calibrated")


def _urgency(scale: Scale) -> tuple[int, int, str, str]:
    """What a dose is counted from comes first, then the worse answer, then the older due date."""
    return _TIERS.index(scale.ward["use_tier"]), ANSWERS.index(scale.may), scale.due.get("due") or "", scale.tag


def _attention_item(here: str, scale: Scale) -> Html:
    overdue = f"Calibration {scale.due['state']}" if scale.due["state"] in ("overdue", "never calibrated") else None
    since = f", was due {day(scale.due['due'])}" if overdue and scale.due.get("due") else ""
    ward = scale.ward
    call = f"{ward['call_role']}, {ward['call_number']}"
    return join(
        tag("div", scale_link(here, scale), use_word(scale.may), class_="attention-head"),
        tag("div",
            tag("p", first_reason(scale) if scale.may != "may use" else f"{overdue}{since}."),
            tag("p", f"{scale.model['description']} · {ward['name']}, {ward['use_tier']} · call {call}", class_="soft")),
    )  # fmt: skip


def _site(here: str, fleet: Fleet, code: str, name: str) -> Html:
    wards = fleet.wards_of_site.get(code, ())
    rows: list[list[Child]] = [
        [
            tag("a", ward["name"], href=addresses.link(here, addresses.ward(ward["code"]))),
            ward["use_tier"],
            *counts_row(fleet.scales_of_ward.get(ward["code"], ())),
        ]
        for ward in wards
    ]
    heading = tag("h3", tag("a", name, href=addresses.link(here, addresses.site(code))))
    if not rows:
        return join(heading, tag("p", "No ward on the register."))
    return join(heading, table((Column("Ward"), Column("Used for"), *COUNT_COLUMNS), rows, None, "counts"))


def _how_to_read() -> Html:
    return section(
        "How to read the words",
        tag("p", "Each answer and verdict is a word and a beam: level, on a stop, tilted or dashed. Colour repeats it."),
        tag("div", _words("May I use it", [(use_word(w), t) for w, t in _USES]),
            _words("Verdicts on a measurement", [(verdict(w), t) for w, t in _VERDICTS]), class_="two"),
        _words("Other words", list(_OTHER_WORDS)),
        id_="words",
    )  # fmt: skip


def _words(heading: str, pairs: list[tuple[str, str]]) -> Html:
    terms = [tag("div", tag("dt", word), tag("dd", meaning)) for word, meaning in pairs]
    return tag("div", tag("h3", heading), tag("dl", terms, class_="words"))


def _copy(fleet: Fleet) -> Html:
    log = fleet.log
    said = (
        f"This copy speaks of {day(fleet.as_of)} and holds the record up to log entry {number(log.number)}, written on "
    )
    return join(said, when(log.moment, moment(log.moment)), ". ")
