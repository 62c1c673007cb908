"""The record begins.

The register as revisions, the log with its sealed bytes, contents, judgements, standing, certificates, device events and
jobs; triggers that refuse any change of what was recorded; the head of the log at zero. There are no old rows.

Revision: 0001
After: nothing
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

# What is recorded is kept as it is; `sealed` alone may lose its bytes, by a recorded redaction.
KEPT = (
    "site_revision", "ward_revision", "model_revision", "device_revision", "weight_revision", "weight_set_revision",
    "weight_certificate_revision", "technician_revision", "policy_revision", "house_rule_revision", "address",
    "certified_piece", "log_entry", "log_touch", "content", "reading_piece", "judgement", "judged_point", "flag",
    "standing_event", "arrival", "certificate", "device_event",
)  # fmt: skip
NO_HASH = "sha256:" + "0" * 64


def upgrade() -> None:
    op.create_table(
        "sealed",
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("salt", sa.LargeBinary(), nullable=True),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_sealed")),
    )
    op.create_table(
        "address",
        sa.Column("letter", sa.Text(), nullable=False),
        sa.Column("folded", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("claimed_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("letter", "folded", name=op.f("pk_address")),
    )
    op.create_table(
        "arrival",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("sent_at", sa.Text(), nullable=True),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.Column("offset_seconds", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("site", "calibration", "place", name=op.f("pk_arrival")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "certificate",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("content_revision", sa.Integer(), nullable=False),
        sa.Column("judgement", sa.Integer(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("issued_at", sa.Text(), nullable=False),
        sa.Column("head", sa.LargeBinary(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("site", "number", "revision", name=op.f("pk_certificate")),
    )
    with op.batch_alter_table("certificate", schema=None) as batch_op:
        batch_op.create_index("ix_certificate_device", ["device"], unique=False)
        batch_op.create_index("ix_certificate_site_calibration", ["site", "calibration"], unique=False)
        batch_op.create_index("uq_certificate_number_revision", ["number", "revision"], unique=True)

    op.create_table(
        "certificate_serial",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("year", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("serial", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("site", "year", name=op.f("pk_certificate_serial")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "certified_piece",
        sa.Column("piece", sa.Text(), nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("valid_to", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("piece", "number", "revision", name=op.f("pk_certified_piece")),
    )
    op.create_table(
        "content",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("schema", sa.Text(), nullable=False),
        sa.Column("device_as_sent", sa.Text(), nullable=False),
        sa.Column("device", sa.Text(), nullable=True),
        sa.Column("device_revision", sa.Integer(), nullable=True),
        sa.Column("technician_as_sent", sa.Text(), nullable=False),
        sa.Column("technician", sa.Text(), nullable=True),
        sa.Column("ward_as_sent", sa.Text(), nullable=True),
        sa.Column("ward", sa.Text(), nullable=True),
        sa.Column("performed_from", sa.Text(), nullable=False),
        sa.Column("performed_to", sa.Text(), nullable=False),
        sa.Column("performed_on", sa.Text(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("installation", sa.Text(), nullable=True),
        sa.Column("installation_counter", sa.Integer(), nullable=True),
        sa.Column("supersedes", sa.Text(), nullable=True),
        sa.Column("amended_because", sa.Text(), nullable=True),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sealed"], ["sealed.digest"], name=op.f("fk_content_sealed")),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", name=op.f("pk_content")),
    )
    with op.batch_alter_table("content", schema=None) as batch_op:
        batch_op.create_index("ix_content_calibration", ["calibration"], unique=False)
        batch_op.create_index("ix_content_device_performed_from", ["device", "performed_from"], unique=False)

    op.create_table(
        "device_event",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("device_as_sent", sa.Text(), nullable=True),
        sa.Column("device", sa.Text(), nullable=True),
        sa.Column("happened_at", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("open", sa.Integer(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("site", "event", "place", name=op.f("pk_device_event")),
    )
    with op.batch_alter_table("device_event", schema=None) as batch_op:
        batch_op.create_index("ix_device_event_device_happened_at", ["device", "happened_at"], unique=False)

    op.create_table(
        "device_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_device_revision")),
    )
    with op.batch_alter_table("device_revision", schema=None) as batch_op:
        batch_op.create_index("ix_device_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "house_rule_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_house_rule_revision")),
    )
    with op.batch_alter_table("house_rule_revision", schema=None) as batch_op:
        batch_op.create_index("ix_house_rule_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "job",
        sa.Column("job", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("asked_at", sa.Text(), nullable=False),
        sa.Column("asked_by", sa.Text(), nullable=False),
        sa.Column("request", sa.Text(), nullable=False),
        sa.Column("progress", sa.Text(), nullable=True),
        sa.Column("answer", sa.Text(), nullable=True),
        sa.Column("lease_holder", sa.Text(), nullable=True),
        sa.Column("lease_until", sa.Text(), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("finished_at", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("job", name=op.f("pk_job")),
    )
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.create_index("ix_job_state_asked_at", ["state", "asked_at"], unique=False)

    op.create_table(
        "log_entry",
        sa.Column("log", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("by_whom", sa.Text(), nullable=False),
        sa.Column("moment", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("previous", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("log", "number", name=op.f("pk_log_entry")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "log_head",
        sa.Column("log", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("register_number", sa.Integer(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.Column("moment", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("log", name=op.f("pk_log_head")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "model_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_model_revision")),
    )
    with op.batch_alter_table("model_revision", schema=None) as batch_op:
        batch_op.create_index("ix_model_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "person_name",
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_person_name")),
    )
    op.create_table(
        "policy_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_policy_revision")),
    )
    with op.batch_alter_table("policy_revision", schema=None) as batch_op:
        batch_op.create_index("ix_policy_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "site_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_site_revision")),
    )
    with op.batch_alter_table("site_revision", schema=None) as batch_op:
        batch_op.create_index("ix_site_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "technician_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_technician_revision")),
    )
    with op.batch_alter_table("technician_revision", schema=None) as batch_op:
        batch_op.create_index("ix_technician_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "ward_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_ward_revision")),
    )
    with op.batch_alter_table("ward_revision", schema=None) as batch_op:
        batch_op.create_index("ix_ward_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "weight_certificate_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_weight_certificate_revision")),
    )
    with op.batch_alter_table("weight_certificate_revision", schema=None) as batch_op:
        batch_op.create_index("ix_weight_certificate_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "weight_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_weight_revision")),
    )
    with op.batch_alter_table("weight_revision", schema=None) as batch_op:
        batch_op.create_index("ix_weight_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "weight_set_revision",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("valid_from", sa.Text(), nullable=False),
        sa.Column("recorded_at", sa.Text(), nullable=False),
        sa.Column("recorded_by", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", "revision", name=op.f("pk_weight_set_revision")),
    )
    with op.batch_alter_table("weight_set_revision", schema=None) as batch_op:
        batch_op.create_index("ix_weight_set_revision_site_valid_from", ["site", "valid_from"], unique=False)

    op.create_table(
        "judgement",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("judged_at", sa.Text(), nullable=False),
        sa.Column("program", sa.Text(), nullable=False),
        sa.Column("as_found", sa.Text(), nullable=True),
        sa.Column("as_left", sa.Text(), nullable=True),
        sa.Column("adjusted", sa.Boolean(), nullable=False),
        sa.Column("app_as_found", sa.Text(), nullable=True),
        sa.Column("app_as_left", sa.Text(), nullable=True),
        sa.Column("working", sa.Text(), nullable=False),
        sa.Column("working_version", sa.Text(), nullable=False),
        sa.Column("working_digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision"],
            ["content.site", "content.calibration", "content.revision"],
            name=op.f("fk_judgement_site"),
        ),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "number", name=op.f("pk_judgement")),
    )
    op.create_table(
        "log_touch",
        sa.Column("log", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["log", "number"], ["log_entry.log", "log_entry.number"], name=op.f("fk_log_touch_log")
        ),
        sa.PrimaryKeyConstraint("log", "number", "kind", "key", name=op.f("pk_log_touch")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("log_touch", schema=None) as batch_op:
        batch_op.create_index("ix_log_touch_kind_key_number", ["kind", "key", "number"], unique=False)

    op.create_table(
        "reading_piece",
        sa.Column("piece", sa.Text(), nullable=False),
        sa.Column("performed_on", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("phase", sa.Text(), nullable=False),
        sa.Column("readings", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision"],
            ["content.site", "content.calibration", "content.revision"],
            name=op.f("fk_reading_piece_site"),
        ),
        sa.PrimaryKeyConstraint(
            "piece", "performed_on", "site", "calibration", "revision", "phase", name=op.f("pk_reading_piece")
        ),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "standing_event",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("because", sa.Text(), nullable=False),
        sa.Column("by_whom", sa.Text(), nullable=False),
        sa.Column("moment", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision"],
            ["content.site", "content.calibration", "content.revision"],
            name=op.f("fk_standing_event_site"),
        ),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "place", name=op.f("pk_standing_event")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "flag",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("place", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("sentence", sa.Text(), nullable=False),
        sa.Column("facts", sa.Text(), nullable=False),
        sa.Column("pointer", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision", "number"],
            ["judgement.site", "judgement.calibration", "judgement.revision", "judgement.number"],
            name=op.f("fk_flag_site"),
        ),
        sa.PrimaryKeyConstraint("site", "calibration", "revision", "number", "place", name=op.f("pk_flag")),
        sqlite_with_rowid=False,
    )
    with op.batch_alter_table("flag", schema=None) as batch_op:
        batch_op.create_index("ix_flag_code", ["code"], unique=False)

    op.create_table(
        "judged_point",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("calibration", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("phase", sa.Text(), nullable=False),
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("test", sa.Text(), nullable=False),
        sa.Column("load_kg", sa.Text(), nullable=False),
        sa.Column("indication_kg", sa.Text(), nullable=False),
        sa.Column("error_kg", sa.Text(), nullable=True),
        sa.Column("tolerance_kg", sa.Text(), nullable=True),
        sa.Column("expanded_kg", sa.Text(), nullable=True),
        sa.Column("verdict", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "calibration", "revision", "number"],
            ["judgement.site", "judgement.calibration", "judgement.revision", "judgement.number"],
            name=op.f("fk_judged_point_site"),
        ),
        sa.PrimaryKeyConstraint(
            "site", "calibration", "revision", "number", "phase", "seq", name=op.f("pk_judged_point")
        ),
        sqlite_with_rowid=False,
    )
    op.execute(
        f"INSERT INTO log_head (log, number, register_number, hash, moment) VALUES ('network', 0, 0, '{NO_HASH}', '')"
    )
    for statement in _postgresql_triggers() if op.get_bind().dialect.name == "postgresql" else _sqlite_triggers():
        op.execute(statement)


def _sqlite_triggers() -> list[str]:
    refuse = "BEGIN SELECT RAISE(ABORT, 'rows of {table} are kept as they are'); END"
    changes = [
        f"CREATE TRIGGER {table}_keeps_{change.lower()} BEFORE {change} ON {table} {refuse.format(table=table)}"
        for table in KEPT
        for change in ("UPDATE", "DELETE")
    ]
    sealed = refuse.format(table="sealed")
    return [
        *changes,
        f"CREATE TRIGGER sealed_keeps_delete BEFORE DELETE ON sealed {sealed}",
        "CREATE TRIGGER sealed_keeps_update BEFORE UPDATE ON sealed WHEN NEW.content IS NOT NULL "
        f"OR NEW.salt IS NOT NULL OR NEW.digest IS NOT OLD.digest {sealed}",
    ]


def _postgresql_triggers() -> list[str]:
    refuse = "BEGIN RAISE EXCEPTION 'rows of % are kept as they are', TG_TABLE_NAME; END"
    redaction = (
        "BEGIN IF TG_OP = 'UPDATE' AND NEW.content IS NULL AND NEW.salt IS NULL "
        "AND NEW.digest = OLD.digest THEN RETURN NEW; END IF; "
        "RAISE EXCEPTION 'rows of % are kept as they are', TG_TABLE_NAME; END"
    )
    when = "BEFORE UPDATE OR DELETE ON"
    return [
        f"CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$ {refuse} $$",
        f"CREATE FUNCTION refuse_change_but_redaction() RETURNS trigger LANGUAGE plpgsql AS $$ {redaction} $$",
        *(
            f"CREATE TRIGGER {table}_is_kept {when} {table} FOR EACH ROW EXECUTE FUNCTION refuse_change()"
            for table in KEPT
        ),
        f"CREATE TRIGGER sealed_is_kept {when} sealed FOR EACH ROW EXECUTE FUNCTION refuse_change_but_redaction()",
        *(
            f"CREATE TRIGGER {table}_is_not_emptied BEFORE TRUNCATE ON {table} EXECUTE FUNCTION refuse_change()"
            for table in (*KEPT, "sealed")
        ),
    ]


def downgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        for table in (*KEPT, "sealed"):
            op.execute(f"DROP TRIGGER {table}_is_kept ON {table}")
            op.execute(f"DROP TRIGGER {table}_is_not_emptied ON {table}")
        op.execute("DROP FUNCTION refuse_change()")
        op.execute("DROP FUNCTION refuse_change_but_redaction()")
    op.drop_table("judged_point")
    with op.batch_alter_table("flag", schema=None) as batch_op:
        batch_op.drop_index("ix_flag_code")

    op.drop_table("flag")
    op.drop_table("standing_event")
    op.drop_table("reading_piece")
    with op.batch_alter_table("log_touch", schema=None) as batch_op:
        batch_op.drop_index("ix_log_touch_kind_key_number")

    op.drop_table("log_touch")
    op.drop_table("judgement")
    with op.batch_alter_table("weight_set_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_weight_set_revision_site_valid_from")

    op.drop_table("weight_set_revision")
    with op.batch_alter_table("weight_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_weight_revision_site_valid_from")

    op.drop_table("weight_revision")
    with op.batch_alter_table("weight_certificate_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_weight_certificate_revision_site_valid_from")

    op.drop_table("weight_certificate_revision")
    with op.batch_alter_table("ward_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_ward_revision_site_valid_from")

    op.drop_table("ward_revision")
    with op.batch_alter_table("technician_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_technician_revision_site_valid_from")

    op.drop_table("technician_revision")
    with op.batch_alter_table("site_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_site_revision_site_valid_from")

    op.drop_table("site_revision")
    with op.batch_alter_table("policy_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_policy_revision_site_valid_from")

    op.drop_table("policy_revision")
    op.drop_table("person_name")
    with op.batch_alter_table("model_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_model_revision_site_valid_from")

    op.drop_table("model_revision")
    op.drop_table("log_head")
    op.drop_table("log_entry")
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.drop_index("ix_job_state_asked_at")

    op.drop_table("job")
    with op.batch_alter_table("house_rule_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_house_rule_revision_site_valid_from")

    op.drop_table("house_rule_revision")
    with op.batch_alter_table("device_revision", schema=None) as batch_op:
        batch_op.drop_index("ix_device_revision_site_valid_from")

    op.drop_table("device_revision")
    with op.batch_alter_table("device_event", schema=None) as batch_op:
        batch_op.drop_index("ix_device_event_device_happened_at")

    op.drop_table("device_event")
    with op.batch_alter_table("content", schema=None) as batch_op:
        batch_op.drop_index("ix_content_device_performed_from")
        batch_op.drop_index("ix_content_calibration")

    op.drop_table("content")
    op.drop_table("certified_piece")
    op.drop_table("certificate_serial")
    with op.batch_alter_table("certificate", schema=None) as batch_op:
        batch_op.drop_index("uq_certificate_number_revision")
        batch_op.drop_index("ix_certificate_site_calibration")
        batch_op.drop_index("ix_certificate_device")

    op.drop_table("certificate")
    op.drop_table("arrival")
    op.drop_table("address")
    op.drop_table("sealed")
