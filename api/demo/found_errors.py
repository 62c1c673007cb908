"""What a technician works out at the scale: the error at each load against the tolerance, by nominal values.

Only to decide whether to adjust and whom to tell, as at the ward; the verdict on the record is the service's.
"""

from decimal import Decimal

from api.demo.models import MODEL_CODED
from api.demo.places import BED_RULE
from api.metrology.mass import Mass
from api.metrology.readings import Phase, Reading
from api.metrology.scale import capacity_in, range_in_use
from api.metrology.tolerance import Scheme, scheme, tolerance_at
from api.records.device import Device


def share_of_tolerance(device: Device, reading: Reading) -> Decimal:
    """Return the size of a reading's error as a share of the tolerance at its load; 0 for a reading without a load."""
    if reading.load is None or reading.excluded or reading.test in ("first loading", "discrimination"):
        return Decimal(0)
    instrument = MODEL_CODED[device.model].as_scale()
    in_use = range_in_use(instrument, reading.indication.unit, reading.load.kg)
    tolerance = tolerance_at(scheme_of(device), instrument.accuracy_class, in_use, reading.load.kg).kg
    return abs(reading.indication.kg - reading.load.kg) / tolerance


def worst_share(device: Device, phase: Phase) -> Decimal:
    """Return the largest share of the tolerance that any reading of a phase takes; repeats count by their range too."""
    return max([*(share_of_tolerance(device, r) for r in phase.readings), _share_of_repeats(device, phase)])


def span_share(device: Device, phase: Phase) -> Decimal:
    """Return the largest share that an increasing reading at half of capacity or more takes."""
    instrument = MODEL_CODED[device.model].as_scale()
    upper = [
        r for r in phase.readings
        if r.test == "increasing" and r.load and r.load.kg * 2 >= capacity_in(instrument, r.indication.unit).max_kg
    ]  # fmt: skip
    return max((share_of_tolerance(device, r) for r in upper), default=Decimal(0))


def scheme_of(device: Device) -> Scheme:
    """Return the tolerance scheme by which a device is judged as found."""
    choice = device.tolerance
    if choice.scheme == "house":
        return scheme("house", "house", house=BED_RULE.as_tolerance())
    return scheme(choice.scheme, "maintenance" if choice.scheme == "hb44" else "in-service", choice.edition)


def _share_of_repeats(device: Device, phase: Phase) -> Decimal:
    """The largest range of the repeats of one load, as a share of the tolerance there."""
    shown: dict[Decimal, list[Mass]] = {}
    for reading in phase.readings:
        if reading.test == "repeatability" and reading.load is not None:
            shown.setdefault(reading.load.kg, []).append(reading.indication)
    return max((_range_share(device, load, repeats) for load, repeats in shown.items()), default=Decimal(0))


def _range_share(device: Device, load_kg: Decimal, shown: list[Mass]) -> Decimal:
    instrument = MODEL_CODED[device.model].as_scale()
    in_use = range_in_use(instrument, shown[0].unit, load_kg)
    tolerance = tolerance_at(scheme_of(device), instrument.accuracy_class, in_use, load_kg).kg
    return (max(s.kg for s in shown) - min(s.kg for s in shown)) / tolerance
