"""What a register record must have as a whole before it is taken: nothing is lost by refusing it, so it is refused."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from api.metrology.label_check import is_step
from api.metrology.policy import Policy
from api.metrology.tolerance import EDITIONS
from api.metrology.weight_classes import WEIGHT_CLASSES
from api.records.addresses import folded
from api.records.device import Device, DeviceModel, WeighingRange
from api.records.house_rule import HouseRule, HouseRuleTerm
from api.records.place import Site
from api.records.weight import CertifiedPiece, Weight, WeightCertificate, WeightSet
from schemas.faults import merged
from schemas.sentences import quoted
from schemas.wire_shape import Faults, checked_by


def _site(site: Site) -> Faults:
    try:
        ZoneInfo(site.time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return {
            "time_zone": [f"Found {quoted(site.time_zone)}; accepted: an IANA time zone, for example America/Denver."]
        }
    return {}


def _model(model: DeviceModel) -> Faults:
    faults: dict[int, Faults] = {}
    for place, r in enumerate(model.ranges):
        faults = merged(faults, _at(place, merged(_range(r), _beside(model, model.ranges[:place], r))))
    return {"ranges": faults} if faults else {}


def _at(place: int, faults: Faults) -> dict[int, Faults]:
    return {place: faults} if faults else {}


def _beside(model: DeviceModel, before: Sequence[WeighingRange], r: WeighingRange) -> Faults:
    """What a range has against those before it."""
    of_its_unit = [other.max.value for other in before if other.max.unit == r.max.unit]
    said = []
    if of_its_unit and model.arrangement == "single":
        said.append("Several ranges in one unit; say whether it is multi-interval or multiple-range.")
    if r.max.value in of_its_unit:
        said.append("Two ranges in one unit have the same Max.")
    return {"max": said} if said else {}


def _range(r: WeighingRange) -> Faults:
    faults: Faults = {}
    if len({m.unit for m in (r.max, r.d, r.e, *((r.min,) if r.min else ()))}) > 1:
        return {"max": ["Max, d, e and Min of one range are given in one unit: 600 lb is not 300 kg."]}
    for name in ("d", "e"):
        value = getattr(r, name).value
        if not is_step(value):
            faults[name] = [f"Found {value:f}; accepted: 1, 2 or 5 times a power of ten (OIML R 76-1:2006 3.2)."]
    if r.d.value > r.e.value:
        faults["d"] = [f"Found d {r.d.value:f} above e {r.e.value:f}; d is at most e."]
    if r.max.value <= 0:
        faults["max"] = ["Found nothing above zero; accepted: a capacity."]
    if r.min is not None and not 0 <= r.min.value < r.max.value:
        faults["min"] = [f"Found Min {r.min.value:f}; accepted: from 0 to below Max {r.max.value:f}."]
    return faults


def _device(device: Device) -> Faults:
    return _tolerance(device) | _former_tags(device)


def _tolerance(device: Device) -> Faults:
    choice = device.tolerance
    if choice.scheme == "house":
        return (
            {} if choice.house_rule else {"tolerance": {"house_rule": ["Missing; a house tolerance names its rule."]}}
        )
    if choice.edition is not None and choice.edition not in EDITIONS[choice.scheme]:
        listed = ", ".join(EDITIONS[choice.scheme])
        return {"tolerance": {"edition": [f"Found {quoted(choice.edition)}; accepted: {listed}, or leave it out."]}}
    return {}


def _former_tags(device: Device) -> Faults:
    """Each of a device's tags has a page of its own: no two of them may fold to one address."""
    known = {folded(device.tag): f"the tag {device.tag!r} of this device"}
    faults: dict[int, list[str]] = {}
    for place, tag in enumerate(device.previous_tags):
        address = folded(tag)
        if address in known:
            faults[place] = [f"Found {tag!r}, whose address d/{address}/ is that of {known[address]}; leave it out."]
        known.setdefault(address, f"its former tag {tag!r}")
    return {"previous_tags": faults} if faults else {}


def _weight(weight: Weight) -> Faults:
    faults: Faults = {}
    if weight.nominal.value <= 0:
        faults["nominal"] = [f"Found {weight.nominal.shown}; accepted: a mass above zero."]
    if weight.weight_class not in (*WEIGHT_CLASSES, "other"):
        listed = ", ".join(WEIGHT_CLASSES)
        faults["weight_class"] = [f"Found {quoted(weight.weight_class)}; accepted: {listed}, other."]
    if weight.density_uncertainty_kg_m3 is not None and weight.density_kg_m3 is None:
        faults["density_uncertainty_kg_m3"] = ["Out of place without density_kg_m3; leave it out."]
    return faults


def _certificate(certificate: WeightCertificate) -> Faults:
    faults: Faults = {}
    if certificate.valid_to < certificate.valid_from:
        faults["valid_to"] = ["Found a day before valid_from."]
    if certificate.issued_on < certificate.calibrated_on:
        faults["issued_on"] = ["Found a day before calibrated_on."]
    pieces: dict[int, Faults] = {}
    for place, entry in enumerate(certificate.pieces):
        pieces = merged(pieces, _at(place, merged(_entry(entry), _twice(certificate.pieces[:place], entry))))
    return faults | ({"pieces": pieces} if pieces else {})


def _entry(entry: CertifiedPiece) -> Faults:
    faults: Faults = {}
    if entry.as_left.value <= 0:
        faults["as_left"] = ["Found nothing above zero; accepted: the conventional mass."]
    if entry.expanded_uncertainty.value <= 0:
        faults["expanded_uncertainty"] = ["Found nothing above zero; a certificate states its uncertainty."]
    return faults


def _twice(before: Sequence[CertifiedPiece], entry: CertifiedPiece) -> Faults:
    if all(entry.piece != other.piece for other in before):
        return {}
    return {"piece": [f"Found {entry.piece} again; accepted: each piece once on a certificate."]}


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


def _policy(policy: Policy) -> Faults:
    return _guard_band(policy) | _prior(policy)


def _prior(policy: Policy) -> Faults:
    if policy.prior is None or any(line.of == "prior" for line in policy.sources):
        return {}
    return {"prior": ["Without a source; accepted: a line of sources whose of is prior."]}


def _guard_band(policy: Policy) -> Faults:
    width = policy.guard_band
    if width is None:
        return {}
    if policy.decision_rule == "simple acceptance":
        return {"guard_band": ["Simple acceptance has no guard band; leave it out, or name a guarded rule."]}
    if (width.r is None) is (width.risk is None):
        return {"guard_band": {"r": ["Accepted: exactly one of r and risk."]}}
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
    checked_by(Policy, _policy)
