"""The report of an import as a page for a person: totals, faults by code, and the first of them in full."""

from collections.abc import Iterable
from html import escape

from api.records.file_import import FileImport, ImportTotals, RowTold

MOST_ROWS = 500
_STYLE = '<link rel="stylesheet" href="/css/steelyard.css">'


def report_page(told: FileImport, rows: Iterable[RowTold]) -> str:
    """Return the page of an import: what it is, what came or would come of its rows, and which of them to mend."""
    totals = told.kept or told.tried
    parts = [
        f"<h1>Import of {escape(told.name)}</h1>",
        f"<p>{escape(told.state)}{': ' + escape(told.because) if told.because else ''}</p>",
        _questions(told),
        _totals(totals) if totals else "",
        _faults(totals) if totals else "",
        _rows(rows),
        '<p><a href="report.csv">The file with what came of each row (CSV)</a> '
        '<a href="report.ndjson">The same, a line of JSON a row</a></p>',
    ]
    head = f'<meta charset="utf-8"><title>Import of {escape(told.name)}</title>{_STYLE}'
    return f'<!doctype html><html lang="en"><head>{head}</head><body><main>{"".join(parts)}</main></body></html>'


def _questions(told: FileImport) -> str:
    if not told.questions:
        return ""
    items = "".join(f"<li>{escape(q.message)} Setting: <code>{escape(q.setting)}</code></li>" for q in told.questions)
    return f"<h2>Still to be declared</h2><ul>{items}</ul>"


def _table(heads: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(f"<tr>{''.join(f'<td>{escape(str(cell))}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _totals(totals: ImportTotals) -> str:
    r, v = totals.rows, totals.visits
    counted = [
        ("rows", r.read, r.created, r.replayed, r.noted, r.rejected, r.skipped),
        ("visits", v.created + v.replayed + v.noted + v.rejected, v.created, v.replayed, v.noted, v.rejected, ""),
    ]
    return "<h2>Totals</h2>" + _table(("", "read", "created", "replayed", "noted", "rejected", "skipped"), counted)


def _faults(totals: ImportTotals) -> str:
    counted = [(g.code, g.severity, g.count, ", ".join(map(str, g.lines))) for g in totals.faults]
    return "<h2>By code</h2>" + _table(("code", "severity", "how often", "first at lines"), counted) if counted else ""


def _rows(rows: Iterable[RowTold]) -> str:
    told = [(fault.severity, fault.told()) for row in rows for fault in row.faults]
    if not told:
        return ""
    told.sort(key=lambda one: one[0] != "error")
    more = f"<p>and {len(told) - MOST_ROWS} more, in the files below</p>" if len(told) > MOST_ROWS else ""
    return "<h2>One by one</h2>" + _table(("severity", "where and what"), told[:MOST_ROWS]) + more
