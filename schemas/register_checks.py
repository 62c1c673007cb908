"""What a register record must have as a whole before it is taken: nothing is lost by refusing it, so it is refused."""

from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.metrology.tolerance import EDITIONS
from api.metrology.weight_classes import WEIGHT_CLASSES
from api.records.device import Device, DeviceModel, WeighingRange
from api.records.house_rule import HouseRule, HouseRuleTerm
from api.records.place import Site
from api.records.weight import Weight, WeightCertificate, WeightSet
from schemas.wire_shape import Faults, checked_by

_STEPS = (Decimal(1), Decimal(2), Decimal(5))


def _site(site: Site) -> Faults:
    try:
        ZoneInfo(site.time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return {"time_zone": [f"Found {site.time_zone!r}; accepted: an IANA time zone, for example America/Denver."]}
    return {}


def _model(model: DeviceModel) -> Faults:
    faults: dict[int, Faults] = {place: found for place, r in enumerate(model.ranges) if (found := _range(r))}
    units = [r.max.unit for r in model.ranges]
    if model.arrangement == "single" and len(set(units)) < len(units):
        faults[0] = {"max": ["Several ranges in one unit; say whether it is multi-interval or multiple-range."]}
    if len({(r.max.unit, r.max.value) for r in model.ranges}) < len(units):
        faults[0] = {"max": ["Two ranges in one unit have the same Max."]}
    return {"ranges": faults} if faults else {}


def _range(r: WeighingRange) -> dict[str, list[str]]:
    faults: dict[str, list[str]] = {}
    if len({m.unit for m in (r.max, r.d, r.e, *((r.min,) if r.min else ()))}) > 1:
        return {"max": ["Max, d, e and Min of one range are given in one unit: 600 lb is not 300 kg."]}
    for name in ("d", "e"):
        value = getattr(r, name).value
        if value <= 0 or _leading(value) not in _STEPS:
            faults[name] = [f"Found {value:f}; accepted: 1, 2 or 5 times a power of ten (OIML R 76-1:2006 3.2)."]
    if r.d.value > r.e.value:
        faults["d"] = [f"Found d {r.d.value:f} above e {r.e.value:f}; d is at most e."]
    if r.max.value <= 0:
        faults["max"] = ["Found nothing above zero; accepted: a capacity."]
    if r.min is not None and not 0 <= r.min.value < r.max.value:
        faults["min"] = [f"Found Min {r.min.value:f}; accepted: from 0 to below Max {r.max.value:f}."]
    return faults


def _leading(value: Decimal) -> Decimal:
    return value.normalize().scaleb(-value.normalize().adjusted())


def _device(device: Device) -> Faults:
    choice = device.tolerance
    if choice.scheme == "house":
        return (
            {} if choice.house_rule else {"tolerance": {"house_rule": ["Missing; a house tolerance names its rule."]}}
        )
    if choice.edition is not None and choice.edition not in EDITIONS[choice.scheme]:
        listed = ", ".join(EDITIONS[choice.scheme])
        return {"tolerance": {"edition": [f"Found {choice.edition!r}; accepted: {listed}, or leave it out."]}}
    return {}


def _weight(weight: Weight) -> Faults:
    if weight.nominal.value <= 0:
        return {"nominal": [f"Found {weight.nominal.shown}; accepted: a mass above zero."]}
    if weight.weight_class in WEIGHT_CLASSES or weight.weight_class == "other":
        return {}
    return {"weight_class": [f"Found {weight.weight_class!r}; accepted: {', '.join(WEIGHT_CLASSES)}, other."]}


def _certificate(certificate: WeightCertificate) -> Faults:
    faults: Faults = {}
    if certificate.valid_to < certificate.valid_from:
        faults["valid_to"] = ["Found a day before valid_from."]
    if certificate.issued_on < certificate.calibrated_on:
        faults["issued_on"] = ["Found a day before calibrated_on."]
    pieces = {place: found for place, entry in enumerate(certificate.pieces) if (found := _entry(entry))}
    codes = [entry.piece for entry in certificate.pieces]
    if len(set(codes)) != len(codes):
        pieces[0] = {"piece": ["A piece stands twice on the certificate."]}
    return faults | ({"pieces": pieces} if pieces else {})


def _entry(entry: Any) -> dict[str, list[str]]:
    if entry.as_left.value <= 0:
        return {"as_left": ["Found nothing above zero; accepted: the conventional mass."]}
    if entry.expanded_uncertainty.value <= 0:
        return {"expanded_uncertainty": ["Found nothing above zero; a certificate states its uncertainty."]}
    return {}


def _set(weight_set: WeightSet) -> Faults:
    wrong = {
        place: {"to": ["Found a day before since."]}
        for place, member in enumerate(weight_set.members)
        if member.to is not None and member.to < member.since
    }
    return {"members": wrong} if wrong else {}


def _house_rule(rule: HouseRule) -> Faults:
    wrong = {place: found for place, term in enumerate(rule.terms) if (found := _term(term))}
    return {"terms": wrong} if wrong else {}


def _term(term: HouseRuleTerm) -> dict[str, list[str]]:
    if sum(value is not None for value in (term.percent, term.mass, term.divisions)) != 1:
        return {"percent": ["Accepted: exactly one of percent, mass and divisions."]}
    if term.above is not None and term.up_to is not None and term.above.kg >= term.up_to.kg:
        return {"up_to": [f"Found {term.up_to.shown}, not above {term.above.shown}; the term would hold for no load."]}
    return {}


def check_register_records() -> None:
    """Have the shapes of the register checked as a whole."""
    checked_by(Site, _site)
    checked_by(DeviceModel, _model)
    checked_by(Device, _device)
    checked_by(Weight, _weight)
    checked_by(WeightCertificate, _certificate)
    checked_by(WeightSet, _set)
    checked_by(HouseRule, _house_rule)
