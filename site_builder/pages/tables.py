"""Tables and lists of facts. On a phone a row folds into a block with its headings, so nothing scrolls sideways."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from site_builder.markup import Child, Html, tag

# A line of arithmetic: what it is, how it came about, the value.
Line = tuple[str, Child, Child]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, and whether its cells are numbers that line up to the right."""

    heading: str
    numeric: bool = False


def text_columns(*headings: str) -> tuple[Column, ...]:
    """Return columns of words."""
    return tuple(Column(heading) for heading in headings)


def table(
    columns: Sequence[Column],
    rows: Iterable[Sequence[Child]],
    caption: Child = None,
    class_: str | None = None,
    ids: Sequence[str | None] = (),
) -> Html:
    """Return a table; the first cell of a row names it. Roles are written out, since folding would lose them."""
    head = tag("tr", [_heading(column) for column in columns], role="row")
    body = [_row(columns, row, ids[number] if number < len(ids) else None) for number, row in enumerate(rows)]
    return tag(
        "table",
        tag("caption", caption) if caption is not None else None,
        tag("thead", head, role="rowgroup"),
        tag("tbody", body, role="rowgroup"),
        class_=f"folding {class_}" if class_ else "folding",
        role="table",
    )


def _heading(column: Column) -> Html:
    return tag("th", column.heading, scope="col", role="columnheader", class_="n" if column.numeric else None)


def _row(columns: Sequence[Column], cells: Sequence[Child], id_: str | None) -> Html:
    first, *others = zip(columns, cells, strict=True)
    head = tag(
        "th", first[1], scope="row", role="rowheader", data_label=first[0].heading,
        class_="n" if first[0].numeric else None,
    )  # fmt: skip
    rest = [
        tag("td", cell, role="cell", data_label=column.heading, class_=_cell_class(column, cell))
        for column, cell in others
    ]
    return tag("tr", head, rest, role="row", id=id_)


def _cell_class(column: Column, cell: Child) -> str | None:
    names = ["n"] if column.numeric else []
    if not cell:
        names.append("empty")
    return " ".join(names) or None


def facts(pairs: Iterable[tuple[str, Child]], class_: str = "facts") -> Html:
    """Return facts with their names; a fact that is not there is left out."""
    return tag("dl", [tag("div", tag("dt", name), tag("dd", value)) for name, value in pairs if value], class_=class_)


def lines(of: Iterable[Line], id_: str | None = None) -> Html:
    """Return arithmetic line by line: what it is, how it came about, the value. The id stands inside what unfolds: a link
    to it opens it."""
    rows = [tag("div", tag("dt", name), tag("dd", how), tag("dd", value, class_="n")) for name, how, value in of]
    return tag("dl", rows, class_="sum", id=id_)


def section(heading: str, *inside: Child, id_: str | None = None, class_: str | None = None) -> Html:
    """Return a part of a page under its heading."""
    return tag("section", tag("h2", heading), inside, id=id_, class_=class_)


def when(text: str, words: str) -> Html:
    """Return a date or moment in words, readable by machines too."""
    return tag("time", words, datetime=text)


def unfold(summary: Child, *inside: Child, open_: bool = False, id_: str | None = None) -> Html:
    """Return something that unfolds without a script."""
    return tag("details", tag("summary", summary), inside, open=open_, id=id_)
