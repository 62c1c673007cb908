"""The tables of an export about scales and their certificates."""

from typing import Any, Final

from api.exchange.export_table import Column, ExportTable, joined, shown, unit_of
from api.metrology.mass import Mass
from api.records.dossier import CertificateIssued

# A device as the register has it: its revision, and that of its model where there is one.
DeviceOf = tuple[Any, Any]


def _limit(item: DeviceOf) -> Mass | None:
    limit = item[0].record.limit
    found: Mass | None = None if limit is None else limit.up_to
    return found


def _max(item: DeviceOf) -> Mass | None:
    """The largest Max in the unit that the model lists first."""
    if item[1] is None:
        return None
    ranges = item[1].record.ranges
    tops: list[Mass] = [found.max for found in ranges if found.max.unit == ranges[0].max.unit]
    return max(tops, key=lambda top: top.value)


DEVICES: Final[ExportTable[DeviceOf]] = ExportTable(
    "devices",
    "A row a device, as its revision in force on the day of the export's last entry says.",
    (
        Column("tag", "The device's tag, as text: zeros count.", lambda item: item[0].key),
        Column("revision", "The revision of its entry on the register.", lambda item: item[0].number, "integer"),
        Column(
            "valid_from", "The day from which that revision holds.", lambda item: str(item[0].valid_from), "date"
        ),
        Column("serial", "The serial number, as text.", lambda item: item[0].record.serial),
        Column("model", "The model's code.", lambda item: item[0].record.model),
        Column("kind", "The kind of scale.", lambda item: item[1].record.kind if item[1] else None),
        Column(
            "accuracy_class", "Its accuracy class.", lambda item: item[1].record.accuracy_class if item[1] else None
        ),
        Column("max", "The largest capacity, in max_unit.", lambda item: shown(_max(item)), "number"),
        Column("max_unit", "The unit of max, by its UCUM code.", lambda item: unit_of(_max(item))),
        Column("site", "The site's code.", lambda item: item[0].record.site),
        Column("ward", "The ward's code.", lambda item: item[0].record.ward),
        Column("place", "Where it stands.", lambda item: item[0].record.place),
        Column("state", "Its state.", lambda item: item[0].record.state),
        Column(
            "limit_up_to", "Up to which load a person limited its use, in limit_unit.",
            lambda item: shown(_limit(item)), "number",
        ),
        Column("limit_unit", "The unit of limit_up_to, by its UCUM code.", lambda item: unit_of(_limit(item))),
        Column(
            "interval_months", "Months from one calibration to the next.",
            lambda item: item[0].record.interval_months, "integer",
        ),
        Column(
            "on_register_since", "Since when it is on the register.",
            lambda item: str(item[0].record.on_register_since), "date",
        ),
        Column("former_tags", "Tags it had before, joined by +.", lambda item: joined(item[0].record.previous_tags)),
    ),
    ("tag",),
)  # fmt: skip

CERTIFICATES: Final[ExportTable[CertificateIssued]] = ExportTable(
    "certificates",
    "A row a revision of a certificate.",
    (
        Column("number", "The certificate's number.", lambda item: item.row.number),
        Column("revision", "Its revision.", lambda item: item.row.revision, "integer"),
        Column("site", "The site's code.", lambda item: item.row.site),
        Column("device", "The device's tag.", lambda item: item.row.device),
        Column("calibration", "The calibration it states, by id.", lambda item: item.row.calibration),
        Column("content_revision", "The revision of what was sent.", lambda item: item.row.content_revision, "integer"),
        Column("judgement", "The number of the judgement it states.", lambda item: item.row.judgement, "integer"),
        Column("performed_on", "The day of the visit.", lambda item: item.performed_on, "date"),
        Column("issued_at", "When it was issued.", lambda item: item.row.issued_at, "datetime"),
        Column("digest", "The SHA-256 digest of its bytes.", lambda item: item.row.digest),
    ),
    ("number", "revision"),
)
