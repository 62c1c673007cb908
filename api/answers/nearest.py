"""Which scales near by may be used instead of one: for the same, in the same ward first, then on the same site."""

from collections.abc import Iterable
from datetime import date

from sqlalchemy import Connection

from api.answers.may_i_use import use_from
from api.metrology.terms import Kind
from api.queries.calibrations import history_of
from api.queries.devices import devices_in_force
from api.queries.register import in_force
from api.records.device import Device, DeviceModel
from api.records.nearby import NearbyScale
from api.records.register import Revision

MOST = 3
USABLE = ("may use", "may use within limits")


def nearest(to: NearbyScale, others: Iterable[NearbyScale], most: int = MOST) -> tuple[NearbyScale, ...]:
    """Return the nearest of other scales that may be used for the same: same ward first, then site; same kind first."""
    fit = [
        other
        for other in others
        if other.tag != to.tag
        and other.site == to.site
        and other.may in USABLE
        and _serves(other.kind) == _serves(to.kind)
    ]
    fit.sort(key=lambda other: (other.ward != to.ward, other.kind != to.kind, other.may != "may use", other.tag))
    return tuple(fit[:most])


def _serves(kind: Kind) -> str:
    """An infant scale stands in for an infant scale, a balance for a balance, and any other for any other."""
    if kind in ("infant", "incubator"):
        return "infants"
    return "matter" if kind.endswith("balance") else "persons"


def instead_of(connection: Connection, tag: str, *, on: date) -> tuple[NearbyScale, ...]:
    """Return the scales that may be used instead of a device on a day (`NotOnRecord` where it is not known)."""
    device = in_force(connection, "device", tag, on=on)
    serves = _serves(_kind(connection, device, on))
    at_site = [d for d in devices_in_force(connection, on=on) if d.record.site == device.record.site]
    others = [d for d in at_site if _serves(_kind(connection, d, on)) == serves]
    return nearest(_nearby(connection, device, on), [_nearby(connection, other, on) for other in others])


def _kind(connection: Connection, device: Revision[Device], on: date) -> Kind:
    model: DeviceModel = in_force(connection, "model", device.record.model, on=on).record
    return model.kind


def _nearby(connection: Connection, device: Revision[Device], on: date) -> NearbyScale:
    record = device.record
    use = use_from(connection, device, history_of(connection, *record.tags), on)
    kind = _kind(connection, device, on)
    return NearbyScale(record.tag, record.site, record.ward, kind, use.may, use.from_kg, use.up_to_kg)
