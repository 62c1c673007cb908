"""Register entities out of CSV: a column for each field, parts joined by a dot; the cells in the wire's own form."""

import csv
import io
import json
import types
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from api.metrology.mass import Mass


class WrongCsv(ValueError):
    """A row that is not CSV as the header has it; says the line."""


def rows_from(record: type, text: str) -> Iterator[tuple[int, dict[str, Any]]]:
    """Give the physical line and the change of each row that is not empty. Empty cells are fields left out.

    Shape is checked later, by the same schema as on the web: a column that is no field of the record is refused there.
    """
    reader = csv.DictReader(io.StringIO(text), strict=True)
    for row in reader:
        if None in row:
            raise WrongCsv(f"line {reader.line_num}: more cells than columns; quote a cell that holds a comma.")
        cells = {name: value for name, value in row.items() if name and isinstance(value, str) and value.strip()}
        if not cells:
            continue
        day = cells.pop("valid_from", None) if "valid_from" not in _names(record) else None
        change: dict[str, Any] = {"record": _record(record, cells)}
        yield reader.line_num, change if day is None else {"valid_from": day, **change}


def _names(record: type) -> set[str]:
    return {f.name for f in fields(record)}


def _record(record: Any, cells: dict[str, str]) -> dict[str, Any]:
    hints = get_type_hints(record, include_extras=True)
    made: dict[str, Any] = {}
    for column, cell in cells.items():
        name, _, below = column.partition(".")
        plain = _plain(hints.get(name))
        if below and is_dataclass(plain):
            inner = {c.partition(".")[2]: v for c, v in cells.items() if c.startswith(f"{name}.")}
            made[name] = _record(plain, inner)
        else:
            made[column] = _cell(plain, cell)
    return made


def _cell(plain: Any, cell: str) -> Any:
    """A cell in the wire's form: masses as value and unit, counts as numbers, yes or no, lists and parts as JSON."""
    text = cell.strip()
    if plain is Mass and not text.startswith("{"):
        value, _, unit = text.partition(" ")
        return {"value": value, "unit": unit.strip()}
    if plain is bool and text in ("true", "false"):
        return text == "true"
    if plain is int and text.isascii() and text.lstrip("-").isdigit():
        return int(text)
    if text[:1] in ("[", "{"):
        try:
            return json.loads(text)
        except json.JSONDecodeError:
            return text
    return text


def _plain(hint: Any) -> Any:
    while get_origin(hint) in (Annotated, Union, types.UnionType):
        hint = next(a for a in get_args(hint) if a is not type(None))
    return hint
