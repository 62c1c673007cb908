"""Every table of the record, gathered in one place for the migrations' drift check."""

from api.models import access_key, device_event, job, log, person, record, register
from api.models.metadata import METADATA

TABLES = METADATA.tables
ROOMS = (register, log, record, device_event, job, person, access_key)
