"""What the labels on a scale say, and whether that is still right: gathers the record, the register, and what happened."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import Connection

from api.answers.due import due_from
from api.ledger.label_ids import read_label_id
from api.metrology.visit_label import LabelEnd, LabelFacts, RecordSaid, not_right
from api.queries.calibrations import calibration, history_of
from api.queries.labels import label, labels_of
from api.queries.register import find_in_force, in_force
from api.records.addresses import folded
from api.records.calibration import Calibration
from api.records.device import Device
from api.records.label import LabelRead, StoredLabel
from api.records.problems import NotOnRecord


def label_read(connection: Connection, label_id: str, on: date) -> LabelRead:
    """Return a label with whether it is right on a day; refuses one that is not on record (`NotOnRecord`)."""
    stored = label(connection, label_id)
    device = find_in_force(connection, "device", stored.sent.device, on=on)
    tags = device.record.tags if device else (stored.sent.device,)
    return _read(connection, stored, device.record if device else None, labels_of(connection, tags), on)


def labels_on(connection: Connection, tag: str, on: date) -> tuple[LabelRead, ...]:
    """Return every label of a device, the newest first; refuses a device not on the register then (`NotOnRecord`)."""
    device: Device = in_force(connection, "device", tag, on=on).record
    every = labels_of(connection, device.tags)
    return tuple(_read(connection, stored, device, every, on) for stored in every)


def _read(
    connection: Connection, stored: StoredLabel, device: Device | None, others: Sequence[StoredLabel], on: date
) -> LabelRead:
    sent = stored.sent
    why = not_right(_facts(connection, stored, device, others, on))
    return LabelRead(
        label=stored.label,
        site=stored.site,
        device=sent.device,
        calibration=sent.calibration.lower(),
        says=sent.says,
        tested_on=sent.tested_on,
        by=sent.by,
        stuck_at=sent.stuck_at,
        old_label=sent.old_label,
        address=f"d/{folded(sent.device)}/",
        right=not why,
        why=why,
        events=stored.events,
        flags=stored.flags,
        received_at=stored.received_at,
        recorded_by=stored.recorded_by,
        log_number=stored.log_number,
        digest=stored.digest,
        due=sent.due,
        up_to=sent.up_to,
    )


def _facts(
    connection: Connection, stored: StoredLabel, device: Device | None, others: Sequence[StoredLabel], on: date
) -> LabelFacts:
    sent = stored.sent
    tags = device.tags if device else (sent.device,)
    history = history_of(connection, *tags)
    record = _record(connection, stored)
    return LabelFacts(
        says=sent.says,
        tag=sent.device,
        tested_on=sent.tested_on,
        due=sent.due,
        up_to_kg=sent.up_to.kg if sent.up_to else None,
        on=on,
        ended=_ended(stored, others),
        record=_said(record) if record else None,
        tags=tags,
        newer_on=_newer(record, history) if record else None,
        due_by_record=due_from(device, history, on).due if device else None,
        used_to_kg=_used_to(connection, device, on) if device else None,
    )


def _ended(stored: StoredLabel, others: Sequence[StoredLabel]) -> LabelEnd | None:
    """Void or taken off, as it was told; or as a newer label says of the old one."""
    kinds = {event.kind for event in stored.events}
    if "void" in kinds:
        return "void"
    replaced = any(
        other.sent.old_label.was == "removed" and read_label_id(other.sent.old_label.id or "") == stored.label
        for other in others
    )
    return "removed" if replaced or "removed" in kinds else None


def _record(connection: Connection, stored: StoredLabel) -> Calibration | None:
    """The revision of its record that the label was made of: the newest in the log before it, else the first."""
    named = stored.sent.calibration.lower()
    try:
        found = calibration(connection, named, stored.site)
        while found.log_number > stored.log_number and found.revision > 1:
            found = calibration(connection, named, stored.site, found.revision - 1)
    except NotOnRecord:
        return None
    return found


def _said(record: Calibration) -> RecordSaid:
    left = record.working.get("as_left") or record.working.get("as_found") or {}
    proven = left.get("proven")
    return RecordSaid(
        record.standing, record.device, date.fromisoformat(record.performed_on), record.as_left,
        Decimal(proven["to_kg"]) if proven else None,
    )  # fmt: skip


def _newer(record: Calibration, history: Sequence[Calibration]) -> date | None:
    """The day of the newest later visit that stands and measured the scale."""
    begun = datetime.fromisoformat(record.performed_from)
    later = [
        date.fromisoformat(c.performed_on)
        for c in history
        if c.counts and (c.as_found or c.as_left) and datetime.fromisoformat(c.performed_from) > begun
    ]
    return max(later, default=None)


def _used_to(connection: Connection, device: Device, on: date) -> Decimal | None:
    """The load up to which the scale is used: the heaviest that the register says, else its capacity."""
    model = find_in_force(connection, "model", device.model, on=on)
    tops = [r.max.kg for r in model.record.ranges] if model else []
    used = device.heaviest_load_used
    return used.kg if used is not None else max(tops, default=None)
