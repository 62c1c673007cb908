"""How a visit left the instrument: its configuration and unit at the end, and whether it has to be locked to its unit."""

from typing import Any

from api.metrology.mass import METRIC
from api.records.calibration import Calibration
from api.records.device import Device, DeviceModel
from api.records.register import Revision


def configuration_after(calibration: Calibration) -> dict[str, Any]:
    """Return how the instrument was set at the end of a visit, empty where that was not recorded."""
    found: dict[str, Any] = calibration.content.get("configuration", {}).get("after", {})
    return found


def unit_left(calibration: Calibration) -> str | None:
    """Return the unit as recorded at the end of a visit, else the unit of its last reading."""
    if unit := configuration_after(calibration).get("unit"):
        return str(unit)
    for phase in ("as_left", "as_found"):
        if readings := calibration.content.get(phase, {}).get("readings"):
            return str(readings[-1]["indication"].get("unit", "compound"))
    return None


def lock_required(device: Device, model: Revision[DeviceModel] | None) -> bool:
    """Return whether a device has to be locked to its unit: where the register asks for it and the unit can be switched.

    A scale that can only show kilograms or grams needs no lock; of a model that is not known that is not known either.
    """
    if model is None:
        return device.unit_lock_required
    switchable = any(r.max.unit not in METRIC for r in model.record.ranges) or bool(model.record.unit_lock_possible)
    return device.unit_lock_required and switchable
