"""${message}

One change, said in a sentence. Spell out the tables and name every constraint; import no model. Move data with SQL and
say what happens to old rows. Records of calibration are never altered. Batch mode re-creates a table on SQLite: create
its triggers again, and see that the test of triggers still finds them.

Revision: ${up_revision}
After: ${down_revision | comma,n}
"""

import sqlalchemy as sa
from alembic import op

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    ${downgrades if downgrades else "pass"}
