"""The nine models of the invented network, under its own codes: kind, class, and the ranges of each unit shown.

Divisions keep the decimals of the display: a chair that counts 0.05 kg shows 150.10 kg in its coarser range too.
"""

from typing import Final

from api.metrology.mass import mass
from api.metrology.terms import Position
from api.records.device import CounterWidths, DeviceModel, WeighingRange

_COUNTERS: Final = CounterWidths(configuration=3, adjustment=3)


def _range(unit: str, most: str, division: str, least: str | None = None) -> WeighingRange:
    """One range whose verification interval e is its division d, as on every scale of the network but the balance."""
    d = mass(division, unit)
    return WeighingRange(mass(most, unit), d, d, mass(least, unit) if least else None)


STAND_ON: Final = DeviceModel(
    code="COL-200",
    kind="stand-on",
    description="Column scale with handrail, 200 kg",
    accuracy_class="III",
    arrangement="single",
    ranges=(_range("kg", "200", "0.1", "2"),),
    tare_max=mass("200", "kg"),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=5,
)

DUAL_UNIT: Final = DeviceModel(
    code="DUO-300",
    kind="stand-on",
    description="Flat stand-on scale, kilograms or pounds, 300 kg",
    accuracy_class="III",
    arrangement="single",
    ranges=(_range("kg", "300", "0.1", "2"), _range("[lb_av]", "600", "0.2", "4")),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=5,
)

CHAIR: Final = DeviceModel(
    code="CHR-250",
    kind="chair",
    description="Chair scale with armrests and footrest, 250 kg",
    accuracy_class="III",
    arrangement="multi-interval",
    ranges=(_range("kg", "150", "0.05", "1"), _range("kg", "250", "0.10")),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=5,
)

BED: Final = DeviceModel(
    code="BED-250",
    kind="bed",
    description="Bed with built-in scale on four cells, 250 kg",
    accuracy_class="III",
    arrangement="single",
    ranges=(_range("kg", "250", "0.1"),),
    safe_working_load=mass("230", "kg"),
    unit_lock_possible=False,
    warm_up_min=10,
)

INFANT: Final = DeviceModel(
    code="INF-20",
    kind="infant",
    description="Infant tray scale, 20 kg",
    accuracy_class="III",
    arrangement="multi-interval",
    ranges=(_range("kg", "10", "0.005", "0.1"), _range("kg", "20", "0.010")),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=15,
)

WHEELCHAIR: Final = DeviceModel(
    code="WCH-300",
    kind="wheelchair platform",
    description="Wheelchair platform with ramps, 300 kg",
    accuracy_class="III",
    arrangement="multi-interval",
    ranges=(_range("kg", "150", "0.05", "1"), _range("kg", "300", "0.10")),
    tare_max=mass("100", "kg"),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=5,
)

DIALYSIS: Final = DeviceModel(
    code="DIA-200",
    kind="dialysis platform",
    description="Floor scale for dialysis stations, 200 kg",
    accuracy_class="III",
    arrangement="single",
    ranges=(_range("kg", "200", "0.05", "1"),),
    tare_max=mass("100", "kg"),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=10,
)

BED_PADS: Final = DeviceModel(
    code="PAD-500",
    kind="bed pads",
    description="Four weighing pads under the castors of a bed, 500 kg",
    accuracy_class="III",
    arrangement="single",
    ranges=(_range("kg", "500", "0.2", "4"),),
    unit_lock_possible=True,
    warm_up_min=10,
)

# Shows one digit more than its verification interval.
BALANCE: Final = DeviceModel(
    code="PHB-2",
    kind="pharmacy balance",
    description="Pharmacy balance with draught shield, 2.2 kg",
    accuracy_class="II",
    arrangement="single",
    ranges=(WeighingRange(mass("2200", "g"), mass("0.01", "g"), mass("0.1", "g"), mass("0.5", "g")),),
    unit_lock_possible=True,
    counters=_COUNTERS,
    warm_up_min=60,
)

MODELS: Final = (STAND_ON, DUAL_UNIT, CHAIR, BED, INFANT, WHEELCHAIR, DIALYSIS, BED_PADS, BALANCE)
MODEL_CODED: Final = {model.code: model for model in MODELS}

_QUADRANTS: Final[tuple[Position, ...]] = ("centre", "front left", "front right", "back left", "back right")

# Where the eccentricity load goes, the centre first, by the person's own side; pads stand apart and have none.
POSITIONS: Final[dict[str, tuple[Position, ...]]] = {
    "stand-on": _QUADRANTS,
    "chair": ("centre", "front", "back", "left", "right"),
    "bed": ("centre", "head left", "head right", "foot left", "foot right"),
    "infant": ("centre", "head left", "head right", "foot left", "foot right"),
    "wheelchair platform": _QUADRANTS,
    "dialysis platform": _QUADRANTS,
    "bed pads": ("support 1", "support 2", "support 3", "support 4"),
    "pharmacy balance": _QUADRANTS,
}


def own_unit(model: DeviceModel) -> str:
    """Return the unit that a model is set to: that of its first range."""
    return model.ranges[0].max.unit
