"""Keeping a label and what happens to it: its flags, rows and log entries."""

import json
from datetime import UTC

from sqlalchemy import Connection, insert

from api.keeping.content import Arrived
from api.keeping.log import Draft, append_to_log, seal
from api.keeping.person_like import person_like
from api.keeping.register_checks import unknown
from api.metrology.judgement import Flag
from api.models.label import LABEL, LABEL_EVENT
from api.queries.calibrations import record_key
from api.queries.labels import TOUCHED
from api.queries.register import find_in_force
from api.records.documents import document_of
from api.records.label import LabelEventSent, LabelSent, StoredLabel
from api.records.log import LogHead, Touched


def keep_label(connection: Connection, arrived: Arrived, sent: LabelSent) -> LogHead:
    """Keep a label with what somebody has to look at, write it in the log, and return the log's head."""
    sealed = seal(connection, arrived.body)
    connection.execute(
        insert(LABEL),
        [{
            "site": sent.site, "label": arrived.calibration, "device_as_sent": sent.device,
            "calibration": sent.calibration.lower(), "stuck_at": sent.stuck_at.astimezone(UTC).isoformat(),
            "received_at": arrived.received_at.isoformat(), "recorded_by": arrived.by_whom,
            "flags": json.dumps(document_of(_flags(connection, arrived, sent))), "sealed": sealed,
        }],
    )  # fmt: skip
    touched = (
        Touched(TOUCHED, record_key(sent.site, arrived.calibration), 1), Touched("device", sent.device),
        Touched("site", sent.site),
    )  # fmt: skip
    return append_to_log(connection, Draft("label stuck on", arrived.by_whom, arrived.received_at, touched, sealed))


def _flags(connection: Connection, arrived: Arrived, sent: LabelSent) -> list[Flag]:
    flags = list(person_like(arrived.content))
    day = sent.stuck_at.date()
    if find_in_force(connection, "device", sent.device, on=day) is None:
        flags.append(unknown("unknown-device", "device", sent.device, "#/device"))
    if find_in_force(connection, "technician", sent.by, on=day) is None:
        flags.append(unknown("unknown-technician", "technician", sent.by, "#/by"))
    if sent.old_label.was == "could not be removed":
        said = "The old label is still on the scale: two labels say two things. Cover it or have it taken off."
        flags.append(Flag("old-label-left", said, {}, "#/old_label/was"))
    return flags


def keep_label_event(connection: Connection, arrived: Arrived, on: StoredLabel, sent: LabelEventSent) -> LogHead:
    """Keep what happened to a label, write it in the log, and return the log's head."""
    sealed = seal(connection, arrived.body)
    connection.execute(
        insert(LABEL_EVENT),
        [{
            "site": on.site, "label": on.label, "event": arrived.calibration, "kind": sent.kind,
            "happened_at": sent.happened_at.astimezone(UTC).isoformat(), "by_whom": sent.by,
            "received_at": arrived.received_at.isoformat(), "recorded_by": arrived.by_whom, "sealed": sealed,
        }],
    )  # fmt: skip
    touched = (
        Touched(TOUCHED, record_key(on.site, on.label)), Touched("device", on.sent.device), Touched("site", on.site),
    )  # fmt: skip
    return append_to_log(connection, Draft(f"label {sent.kind}", arrived.by_whom, arrived.received_at, touched, sealed))
