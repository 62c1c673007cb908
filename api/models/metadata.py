"""The naming of constraints, and the few column types all tables share.

Moments are ISO 8601 text in UTC and days `YYYY-MM-DD`: they sort as they read, on both databases. Decimals are text,
because trailing zeros count.
"""

from typing import Any, Final

from sqlalchemy import MetaData, Text

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)
Moment = Text
Day = Text
Figures = Text

# Small rows lie in their key's own tree on SQLite: one page less to write for each row.
CLUSTERED: Final[dict[str, Any]] = {"sqlite_with_rowid": False}
