"""What a visit notes beside its readings: identity, configuration, set-up, items looked at, the air."""

from decimal import Decimal
from random import Random
from typing import Final

from api.demo.models import MODEL_CODED, own_unit
from api.metrology.mass import Mass, mass
from api.metrology.submission import (
    Air,
    CheckItem,
    Configuration,
    ConfigurationRead,
    Environment,
    IdentityItem,
    Setup,
)  # fmt: skip
from api.records.device import Device

_THERMOMETER: Final = "TH-1"
_BAROMETER: Final = "BA-1"
# Mean pressure by site in hPa, and temperature where newborns are weighed and elsewhere (the-job: neonatal 24 to 26).
_PRESSURE: Final = {"QG": 999, "HM": 833}


def identity_of(device: Device) -> tuple[IdentityItem, ...]:
    """Return what was compared with the register, all of it matching."""
    return (
        IdentityItem("asset tag", True, device.tag),
        IdentityItem("serial", True, device.serial),
        IdentityItem("model", True, device.model),
        IdentityItem("capacity label", True),
        IdentityItem("interval label", True),
        IdentityItem("class mark", True),
        IdentityItem("location", True, device.place),
    )


def configuration_read(device: Device, unit: str) -> ConfigurationRead:
    """Return the configuration as found in a unit, and as left: in its own unit and, where that can be done, locked."""
    lockable = MODEL_CODED[device.model].unit_lock_possible
    own = own_unit(MODEL_CODED[device.model])
    found = _configuration(device, unit, locked=unit == own if lockable else None)
    return ConfigurationRead(found, _configuration(device, own, locked=True if lockable else None))


def _configuration(device: Device, unit: str, locked: bool | None) -> Configuration:
    ranges = [r for r in MODEL_CODED[device.model].ranges if r.max.unit == unit]
    bed = MODEL_CODED[device.model].kind in ("bed", "bed pads")
    exponent = ranges[0].d.value.as_tuple().exponent
    return Configuration(
        capacity=ranges[-1].max,
        interval=ranges[0].d,
        decimal_point=-int(exponent),
        unit="[lb_av]" if unit == "[lb_av]" else "g" if unit == "g" else "kg",
        unit_locked=locked,
        tare_in_memory=Mass(ranges[0].d.value * 0, unit),
        bed_zero=mass("12.4", "kg") if bed else None,
        zero_tracking=True,
        filter="medium",
        hold=False,
        resolution="normal",
    )


def setup_of(device: Device, surface: str | None) -> Setup:
    """Return how the scale stood; inside a magnet zone it is tested outside."""
    kind = MODEL_CODED[device.model].kind
    usual = "table" if kind in ("infant", "pharmacy balance") else "hard floor"
    outside = device.ward == "QG-IMG"
    return Setup(
        surface="trolley" if surface == "trolley" else "table" if usual == "table" else "hard floor",
        level=surface != "trolley",
        warm_up_min=MODEL_CODED[device.model].warm_up_min,
        cleaned_before=True,
        cleaned_after=True,
        tested_at="corridor outside the magnet zone" if outside else None,
    )


def checks_of(device: Device, surface: str | None) -> tuple[CheckItem, ...]:
    """Return the items looked at for the kind of scale."""
    kind = MODEL_CODED[device.model].kind
    feet = CheckItem("feet and surface", "not in order", "foam under the tray") if surface == "trolley" else None
    by_kind = {
        "stand-on": ("handrail free of the platform", "mat or cover in place"),
        "chair": ("brakes hold", "armrests and footrest move freely"),
        "bed": ("brakes hold, rails up", "cables, pumps and bags off", "nobody on, in or beside it"),
        "infant": ("tray seated", "hold and averaging off"),
        "wheelchair platform": ("ramps free of the platform", "castors up"),
        "dialysis platform": ("platform free of hoses and leads", "mat or cover in place"),
        "bed pads": ("each pad on its place", "brakes hold, rails up", "nobody on, in or beside it"),
        "pharmacy balance": ("level and draught shield", "pan clean", "internal adjustment run and printed"),
    }
    items = ("mains lead, plug and battery", "display and keys", "label legible", *by_kind[kind])
    return (feet or CheckItem("feet and surface", "in order"), *(CheckItem(item, "in order") for item in items))


def environment_of(device: Device, luck: Random) -> Environment:
    """Return the air at start and end, and the instruments that measured it."""
    newborns = MODEL_CODED[device.model].kind == "infant"
    celsius = luck.gauss(25.0, 0.4) if newborns else luck.gauss(21.5, 0.9)
    humidity, pressure = luck.randint(32, 48), _PRESSURE[device.site] + luck.randint(-6, 6)
    start = _air(celsius, humidity, pressure)
    return Environment(start, _air(celsius + luck.uniform(0.0, 0.4), humidity, pressure), (_THERMOMETER, _BAROMETER))


def _air(celsius: float, humidity: int, pressure: int) -> Air:
    tenths = Decimal(round(celsius * 10)).scaleb(-1)
    return Air(tenths, tenths, Decimal(humidity), Decimal(pressure))
