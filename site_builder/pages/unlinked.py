"""Visits that were sent about a scale that is not on the register: kept, flagged, and shown until somebody links them."""

from collections.abc import Sequence

from site_builder.markup import Child, Html, join, tag
from site_builder.page import Document
from site_builder.pages.readings import sentences
from site_builder.pages.tables import section, table, text_columns, when
from site_builder.pages.time_line import verdicts, what_happened
from site_builder.text import day


def unlinked(visits: Sequence[Document], more: str | None = None) -> Html | None:
    """Return the visits in a table, or None where there are none; `more` says where the rest is."""
    if not visits:
        return None
    columns = text_columns("Sent as", "Visit", "What was found", "Why it waits")
    return section(
        "Sent about scales that are not on the register",
        table(columns, [_row(item) for item in visits], more, "scales"),
        id_="unlinked",
    )


def _row(item: Document) -> list[Child]:
    return [
        join(item["device"], tag("small", f"site {item['site']}")),
        join(
            when(item["performed_from"], day(item["performed_from"])), tag("small", f"log entry {item['log_number']}")
        ),
        join(what_happened(item), " ", verdicts(item)),
        sentences(item["flags"]),
    ]
