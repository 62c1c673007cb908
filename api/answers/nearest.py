"""Which scales near by may be used instead of one: for the same, in the same ward first, then on the same site."""

from collections.abc import Iterable
from datetime import date

from sqlalchemy import Connection

from api.answers.may_i_use import use_from
from api.queries.calibrations import history_of
from api.queries.register import all_in_force, in_force
from api.records.device import Device
from api.records.nearby import NearbyScale
from api.records.register import Revision

MOST = 3
USABLE = ("may use", "may use within limits")


def nearest(to: NearbyScale, others: Iterable[NearbyScale], most: int = MOST) -> tuple[NearbyScale, ...]:
    """Return the nearest of other scales that may be used for the same: same ward first, then site; same kind first."""
    fit = [
        other
        for other in others
        if other.tag != to.tag and other.site == to.site and other.may in USABLE and _serves(other) == _serves(to)
    ]
    fit.sort(key=lambda other: (other.ward != to.ward, other.kind != to.kind, other.may != "may use", other.tag))
    return tuple(fit[:most])


def _serves(scale: NearbyScale) -> str:
    """An infant scale stands in for an infant scale, a balance for a balance, and any other for any other."""
    if scale.kind in ("infant", "incubator"):
        return "infants"
    return "matter" if scale.kind.endswith("balance") else "persons"


def instead_of(connection: Connection, tag: str, *, on: date) -> tuple[NearbyScale, ...]:
    """Return the scales that may be used instead of a device on a day (`NotOnRecord` where it is not known)."""
    device = in_force(connection, "device", tag, on=on)
    others = [d for d in all_in_force(connection, "device", on=on) if d.record.site == device.record.site]
    return nearest(nearby(connection, device, on), [nearby(connection, other, on) for other in others])


def nearby(connection: Connection, device: Revision[Device], on: date) -> NearbyScale:
    """Return a device with its place, kind and the answer on its use."""
    record = device.record
    model = in_force(connection, "model", record.model, on=on).record
    use = use_from(connection, device, history_of(connection, *record.tags), on)
    return NearbyScale(record.tag, record.site, record.ward, model.kind, use.may, use.from_kg, use.up_to_kg)
