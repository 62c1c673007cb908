"""Every table of the record, gathered in one place for the migrations' drift check."""

from api.models import (
    access_key,
    attachment,
    device_event,
    file_export,
    file_import,
    job,
    label,
    log,
    person,
    quarantine,
    record,
    register,
    weight_event,
)
from api.models.metadata import METADATA

TABLES = METADATA.tables
ROOMS = (
    register, log, record, attachment, device_event, job, person, quarantine, access_key, file_import, weight_event,
    label, file_export,
)  # fmt: skip
