"""Names of persons, apart from everything else: records, pages and logs know codes only."""

from sqlalchemy import Column, Table, Text

from api.models.metadata import METADATA, Moment

PERSON_NAME = Table(
    "person_name",
    METADATA,
    Column("code", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("recorded_at", Moment, nullable=False),
)
