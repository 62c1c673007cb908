"""Calibrations: content as sent, judgements, points, flags, standing, arrivals; certificates and their serials.

`site` is the site of the visit and leads every key. Register keys are nullable beside the code as sent: what was not on
the register that day is kept all the same, and linking it later is an event.
"""

from sqlalchemy import Boolean, Column, ForeignKeyConstraint, Index, Integer, LargeBinary, Table, Text

from api.models.metadata import CLUSTERED, METADATA, Day, Figures, Moment


def _key() -> list[Column[str] | Column[int]]:
    return [
        Column("site", Text, primary_key=True),
        Column("calibration", Text, primary_key=True),
        Column("revision", Integer, primary_key=True, autoincrement=False),
    ]


def _of_content() -> ForeignKeyConstraint:
    return ForeignKeyConstraint(
        ["site", "calibration", "revision"], ["content.site", "content.calibration", "content.revision"]
    )


CONTENT = Table(
    "content",
    METADATA,
    *_key(),
    Column("schema", Text, nullable=False),
    Column("device_as_sent", Text, nullable=False),
    Column("device", Text),
    Column("device_revision", Integer),
    Column("technician_as_sent", Text, nullable=False),
    Column("technician", Text),
    Column("ward_as_sent", Text),
    Column("ward", Text),
    Column("performed_from", Moment, nullable=False),
    Column("performed_to", Moment, nullable=False),
    Column("performed_on", Day, nullable=False),
    Column("purpose", Text, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("installation", Text),
    Column("installation_counter", Integer),
    Column("supersedes", Text),
    Column("amended_because", Text),
    Column("recorded_at", Moment, nullable=False),
    Column("recorded_by", Text, nullable=False),
    Column("sealed", Text, nullable=False),
    ForeignKeyConstraint(["sealed"], ["sealed.digest"]),
    Index("ix_content_device_performed_from", "device", "performed_from"),
    Index("ix_content_calibration", "calibration"),
    Index("ix_content_performed_from_calibration_site_revision", "performed_from", "calibration", "site", "revision"),
)

# Which piece stood in which readings of a phase (their numbers, joined by commas), by day: what a bad weight certificate
# touches.
READING_PIECE = Table(
    "reading_piece",
    METADATA,
    Column("piece", Text, primary_key=True),
    Column("performed_on", Day, primary_key=True),
    *_key(),
    Column("phase", Text, primary_key=True),
    Column("readings", Text, nullable=False),
    _of_content(),
    **CLUSTERED,
)

JUDGEMENT = Table(
    "judgement",
    METADATA,
    *_key(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("reason", Text, nullable=False),
    Column("judged_at", Moment, nullable=False),
    Column("program", Text, nullable=False),
    Column("as_found", Text),
    Column("as_left", Text),
    Column("adjusted", Boolean, nullable=False),
    Column("app_as_found", Text),
    Column("app_as_left", Text),
    Column("working", Text, nullable=False),
    Column("working_version", Text, nullable=False),
    Column("working_digest", Text, nullable=False),
    _of_content(),
)

_OF_JUDGEMENT = (
    ["site", "calibration", "revision", "number"],
    ["judgement.site", "judgement.calibration", "judgement.revision", "judgement.number"],
)

JUDGED_POINT = Table(
    "judged_point",
    METADATA,
    *_key(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("phase", Text, primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("test", Text, nullable=False),
    Column("load_kg", Figures, nullable=False),
    Column("indication_kg", Figures, nullable=False),
    Column("error_kg", Figures),
    Column("tolerance_kg", Figures),
    Column("expanded_kg", Figures),
    Column("verdict", Text, nullable=False),
    ForeignKeyConstraint(*_OF_JUDGEMENT),
    **CLUSTERED,
)

FLAG = Table(
    "flag",
    METADATA,
    *_key(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("code", Text, nullable=False),
    Column("sentence", Text, nullable=False),
    Column("facts", Text, nullable=False),
    Column("pointer", Text),
    ForeignKeyConstraint(*_OF_JUDGEMENT),
    Index("ix_flag_code", "code"),
    **CLUSTERED,
)

STANDING = Table(
    "standing_event",
    METADATA,
    *_key(),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("standing", Text, nullable=False),
    Column("because", Text, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("moment", Moment, nullable=False),
    _of_content(),
    **CLUSTERED,
)

# Every arrival of the same content: when the app says it sent it, when it came, and how far the clocks were apart.
ARRIVAL = Table(
    "arrival",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("calibration", Text, primary_key=True),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("sent_at", Moment),
    Column("received_at", Moment, nullable=False),
    Column("offset_seconds", Figures),
    Column("revision", Integer, nullable=False, server_default="1"),
    **CLUSTERED,
)

# What a reviewer says of a record that everyone is to see, without releasing it.
REMARK = Table(
    "remark",
    METADATA,
    *_key(),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("words", Text, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("moment", Moment, nullable=False),
    _of_content(),
    **CLUSTERED,
)

# The words by which a person closed a flag of a judgement, by its code: said at its release.
FLAG_ANSWER = Table(
    "flag_answer",
    METADATA,
    *_key(),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("code", Text, primary_key=True),
    Column("words", Text, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("moment", Moment, nullable=False),
    ForeignKeyConstraint(*_OF_JUDGEMENT),
    **CLUSTERED,
)

# A code as it was sent, and the key under which the register has since got what it means; `number` is the judgement that
# followed. Of several links of one code the last holds.
LINK = Table(
    "link",
    METADATA,
    *_key(),
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, nullable=False),
    Column("as_sent", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("because", Text, nullable=False),
    Column("number", Integer, nullable=False),
    Column("by_whom", Text, nullable=False),
    Column("moment", Moment, nullable=False),
    _of_content(),
    Index("ix_link_kind_key", "kind", "key"),
    **CLUSTERED,
)

CERTIFICATE_SERIAL = Table(
    "certificate_serial",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("year", Integer, primary_key=True, autoincrement=False),
    Column("serial", Integer, nullable=False),
    **CLUSTERED,
)

# A certificate's bytes are its head, then the content as it was sealed and the judgement's working as it stands in
# `judgement`; the digest is of the whole.
CERTIFICATE = Table(
    "certificate",
    METADATA,
    Column("site", Text, primary_key=True),
    Column("number", Text, primary_key=True),
    Column("revision", Integer, primary_key=True, autoincrement=False),
    Column("calibration", Text, nullable=False),
    Column("content_revision", Integer, nullable=False),
    Column("judgement", Integer, nullable=False),
    Column("device", Text, nullable=False),
    Column("issued_at", Moment, nullable=False),
    Column("head", LargeBinary, nullable=False),
    Column("digest", Text, nullable=False),
    Index("uq_certificate_number_revision", "number", "revision", unique=True),
    Index("ix_certificate_site_calibration", "site", "calibration"),
    Index("ix_certificate_device", "device"),
)
