"""The register: one table a kind, a row a revision, and the addresses that are claimed for good."""

from typing import Final

from sqlalchemy import Column, Index, Integer, Table, Text

from api.models.metadata import METADATA, Day, Moment
from api.records.register import KINDS


def _revisions(kind: str) -> Table:
    """Revisions of one kind of entity: typed columns only for what is looked up, the record itself as one document."""
    name = kind.replace(" ", "_")
    return Table(
        f"{name}_revision",
        METADATA,
        Column("key", Text, primary_key=True),
        Column("revision", Integer, primary_key=True, autoincrement=False),
        Column("valid_from", Day, nullable=False),
        Column("recorded_at", Moment, nullable=False),
        Column("recorded_by", Text, nullable=False),
        Column("site", Text),
        Column("document", Text, nullable=False),
        Column("digest", Text, nullable=False),
        Index(f"ix_{name}_revision_site_valid_from", "site", "valid_from"),
    )


REVISIONS: Final[dict[str, Table]] = {kind.name: _revisions(kind.name) for kind in KINDS}

# Labels carry these addresses: a claim is never given back and never made twice, whatever the key looked like.
ADDRESS = Table(
    "address",
    METADATA,
    Column("letter", Text, primary_key=True),
    Column("folded", Text, primary_key=True),
    Column("key", Text, nullable=False),
    Column("claimed_at", Moment, nullable=False),
)

# Which certificate speaks for a piece, and from when to when: looked up for every reading.
CERTIFIED_PIECE = Table(
    "certified_piece",
    METADATA,
    Column("piece", Text, primary_key=True),
    Column("number", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("valid_from", Day, nullable=False),
    Column("valid_to", Day, nullable=False),
)
