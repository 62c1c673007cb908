"""Long jobs: a row each, taken under a lease by `steelyard work`, resumed by whoever comes after a lease ran out."""

from sqlalchemy import Column, Index, Integer, Table, Text

from api.models.metadata import METADATA, Moment

JOB = Table(
    "job",
    METADATA,
    Column("job", Text, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("site", Text),
    Column("state", Text, nullable=False),
    Column("asked_at", Moment, nullable=False),
    Column("asked_by", Text, nullable=False),
    Column("request", Text, nullable=False),
    Column("progress", Text),
    Column("answer", Text),
    Column("lease_holder", Text),
    Column("lease_until", Moment),
    Column("attempts", Integer, nullable=False),
    Column("finished_at", Moment),
    Index("ix_job_state_asked_at", "state", "asked_at"),
)
