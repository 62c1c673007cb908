"""A table of an export that people read: one list of columns makes its header, its cells and its Table Schema.

The schema is a Table Schema of the Data Package standard, version 2.0. Masses are numbers as they were shown, with their unit
beside them; what was worked out is in kilograms.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Generic, Literal, TypeVar

from api.exchange.dialects import Cell, Dialect
from api.metrology.mass import Mass

T = TypeVar("T")
CellKind = Literal["string", "number", "integer", "boolean", "date", "time", "datetime"]


@dataclass(frozen=True, slots=True)
class Column(Generic[T]):
    """One column: its header, what it holds, its cell for a row, and its type in a Table Schema."""

    name: str
    says: str
    cell: Callable[[T], Cell]
    kind: CellKind = "string"


@dataclass(frozen=True, slots=True)
class ExportTable(Generic[T]):
    """One table: its name, what a row of it is, its columns, and those that tell one row from another."""

    name: str
    says: str
    columns: tuple[Column[T], ...]
    key: tuple[str, ...]

    def header(self, dialect: Dialect) -> bytes:
        """Return the beginning of the file."""
        return dialect.mark + dialect.row([column.name for column in self.columns])

    def row(self, item: T, dialect: Dialect) -> bytes:
        """Return the row of one item."""
        return dialect.row([column.cell(item) for column in self.columns])

    def schema(self, dialect: Dialect) -> dict[str, Any]:
        """Return the Table Schema of the file."""
        fields = [_field(column, dialect) for column in self.columns]
        return {
            "name": self.name, "description": self.says, "fields": fields, "missingValues": [""],
            "fieldsMatch": "exact", "primaryKey": list(self.key),
        }  # fmt: skip


def _field(column: Column[Any], dialect: Dialect) -> dict[str, Any]:
    field = {"name": column.name, "type": column.kind, "description": column.says}
    return field | ({"decimalChar": dialect.decimal} if column.kind == "number" else {})


def figures(text: str | None) -> Decimal | None:
    """Return figures as they are stored, as a number with every digit; None where there are none."""
    return None if text is None else Decimal(text)


def shown(value: Mass | None) -> Decimal | None:
    """Return a mass's number as it was shown; None where there is none, or where it was shown in several units at once."""
    return None if value is None or value.parts else value.value


def unit_of(value: Mass | None) -> str | None:
    """Return a mass's unit; None where there is none, or where there are several."""
    return None if value is None or value.parts else value.unit


def joined(codes: Sequence[str]) -> str | None:
    """Return codes joined as imports read them, None where there are none."""
    return "+".join(codes) or None
