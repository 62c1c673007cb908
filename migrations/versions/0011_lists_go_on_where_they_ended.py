"""Lists go on where they ended.

Calibrations are listed by the moment of the visit, their id, site and revision: an index in that order gives any part of
the list without reading the rest. Rows stay as they are.

Revision: 0011
After: 0010
"""

from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

NAME = "ix_content_performed_from_calibration_site_revision"


def upgrade() -> None:
    op.create_index(NAME, "content", ["performed_from", "calibration", "site", "revision"])


def downgrade() -> None:
    op.drop_index(NAME, "content")
