"""Lists of scales as several pages show them: one row a scale with its answer, and counts by answer and by due state."""

from collections import Counter
from collections.abc import Iterable

from site_builder import addresses
from site_builder.beam import use_word
from site_builder.fleet import Scale
from site_builder.markup import Child, Html, between, join, tag
from site_builder.pages.tables import Column, table, text_columns, when
from site_builder.pages.use_answer import span_words
from site_builder.text import capital, day, number, with_days

ANSWERS = ("do not use", "not proven", "may use within limits", "may use")
DUE_STATES = ("overdue", "due today", "never calibrated", "not yet due")


def scale_link(here: str, scale: Scale) -> Html:
    """Return a scale's tag, leading to its page."""
    return tag("a", scale.tag, href=addresses.link(here, addresses.device(scale.tag)))


def answer_words(scale: Scale) -> Html:
    """Return the answer on use of a scale, with the loads where they are limited."""
    span = span_words(scale.use, scale.unit) if scale.may == "may use within limits" else ""
    return join(use_word(scale.may), f" {span}" if span else None)


def first_reason(scale: Scale) -> str:
    """Return the first reason of the answer on use, which is its worst."""
    return with_days(capital(scale.use["why"][0]["sentence"])) if scale.use["why"] else ""


def due_words(scale: Scale) -> Child:
    """Return the due date with its state; a retired scale has none."""
    if scale.retired:
        return "retired"
    due = scale.due.get("due")
    state = tag("span", scale.due["state"], class_="strong" if scale.due["state"] == "overdue" else "soft")
    return between(", ", [when(due, day(due)) if due else None, state])


def answer_counts(scales: Iterable[Scale]) -> Counter[str]:
    """Return how many scales have each answer, retired ones left out."""
    return Counter(scale.may for scale in scales if not scale.retired)


def due_counts(scales: Iterable[Scale]) -> Counter[str]:
    """Return how many scales are in each due state, retired ones left out."""
    return Counter(scale.due["state"] for scale in scales if not scale.retired)


def answer_tiles(scales: Iterable[Scale]) -> Html:
    """Return the four counts by answer, worst first, each with its beam and word."""
    counts = answer_counts(scales)
    tiles = [
        tag("div", tag("dt", use_word(answer)), tag("dd", number(counts.get(answer, 0))), class_="tile")
        for answer in ANSWERS
    ]
    return tag("dl", tiles, class_="tiles")


def scales_table(here: str, scales: Iterable[Scale], caption: Child = None, with_ward: bool = False) -> Html:
    """Return scales with what they are, where they stand, the answer on use and when they are due."""
    columns = text_columns("Scale", "May I use it", "What it is", "Ward" if with_ward else "Place", "Calibration")
    rows: list[list[Child]] = [
        [
            scale_link(here, scale),
            join(answer_words(scale), tag("small", first_reason(scale)) if scale.may != "may use" else None),
            scale.model["description"],
            join(scale.ward["name"], tag("small", scale.device["place"])) if with_ward else scale.device["place"],
            due_words(scale),
        ]
        for scale in scales
    ]
    return table(columns, rows, caption, "scales of-place")


def counts_row(scales: Iterable[Scale]) -> list[Child]:
    """Return the four counts by answer as cells, empty where there is none."""
    counts = answer_counts(scales)
    return [number(counts[answer]) if counts[answer] else None for answer in ANSWERS]


COUNT_COLUMNS = tuple(Column(capital(answer), numeric=True) for answer in ANSWERS)
