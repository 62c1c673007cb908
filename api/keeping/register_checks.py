"""What a visit says against what the register held that day: flags only, nothing refused."""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import Connection

from api.keeping.held_pieces import held_flags
from api.metrology.judgement import Flag
from api.metrology.submission import Submission
from api.queries.register import chains_of, find_in_force, revisions_in_sight, standing_on
from api.records.device import Device, DeviceModel
from api.records.people import Technician
from api.records.place import Ward
from api.records.register import Revision
from api.records.weight import WeightSet


def unknown(code: str, kind: str, key: str, pointer: str, sites: frozenset[str] | None = None) -> Flag:
    """Return the flag for something that was not on the register that day, or not at the sites that the sender sees."""
    where = f" at the sites of the key that sent it ({', '.join(sorted(sites))})" if sites is not None else ""
    said = f"No {kind} {key!r} was on the register that day{where}. The record is kept; it can be linked later."
    return Flag(code, said, {kind: key}, pointer)


def before_known(connection: Connection, kind: str, key: str, day: date, pointer: str) -> Flag | None:
    """Return a flag for something that the register knows, but only from a later day on: a clock may be wrong."""
    chain = revisions_in_sight(connection, kind, key)
    if not chain or standing_on(chain, day) is not None:
        return None
    first = min(revision.valid_from for revision in chain).isoformat()
    said = f"The register knows {kind} {key!r} from {first} on; the visit is dated {day.isoformat()}, before that."
    return Flag(f"before-known-{kind}", said, {kind: key, "known_from": first}, pointer)


def device_flags(sent: Submission, device: Revision[Device]) -> list[Flag]:
    """Return what differs between the visit and the device as it was registered that day."""
    flags = []
    if device.record.state == "retired":
        flags.append(Flag("device-retired", f"{sent.device} was retired before that day.", {}, "#/device"))
    if device.record.site != sent.site:
        said = f"The visit was at {sent.site}; the register has {sent.device} at {device.record.site} that day."
        flags.append(Flag("site-differs", said, {"visit": sent.site, "register": device.record.site}, "#/site"))
    return flags


def ward_flags(sent: Submission, ward: Revision[Ward] | None, sites: frozenset[str] | None) -> list[Flag]:
    """Return a flag for a ward that is not known (at the sites that the sender sees), or of another site than the visit's."""
    if ward is None:
        return [] if sent.ward is None else [unknown("unknown-ward", "ward", sent.ward, "#/ward", sites)]
    if sent.ward is not None and ward.record.site != sent.site:
        said = f"Ward {sent.ward} belongs to {ward.record.site}, the visit was at {sent.site}."
        return [Flag("ward-differs", said, {"ward": sent.ward}, "#/ward")]
    return []


def technician_flags(connection: Connection, sent: Submission, model: DeviceModel | None) -> list[Flag]:
    """Return a flag for each technician who is not known, not active, or not authorised for the kind that day."""
    flags = []
    for place, code in enumerate(sent.technicians):
        pointer = f"#/technicians/{place}"
        technician = find_in_force(connection, "technician", code, on=sent.performed_on)
        if technician is None:
            flags.append(unknown("unknown-technician", "technician", code, pointer))
        elif not technician.record.active:
            flags.append(Flag("technician-not-active", f"{code} was not active that day.", {}, pointer))
        elif place == 0 and model is not None and sent.outcome != "not tested":
            flags += _authorised(sent, technician.record, model, pointer)
    return flags


def _authorised(sent: Submission, technician: Technician, model: DeviceModel, pointer: str) -> list[Flag]:
    """The technician named first answers for the work; others may be learning it."""
    needed = "calibrate and adjust" if sent.adjustments else "calibrate"
    day = sent.performed_on
    valid = [g for g in technician.authorisations if g.kind == model.kind and g.valid_from <= day <= g.valid_to]
    if any(needed == "calibrate" or given.may == needed for given in valid):
        return []
    said = f"{technician.code} was not authorised to {needed} a scale of kind {model.kind} that day."
    return [Flag("not-authorised", said, {"technician": technician.code, "kind": model.kind}, pointer)]


def weight_flags(connection: Connection, sent: Submission, used: Sequence[str]) -> list[Flag]:
    """Return a flag for pieces used that were not active that day or held then, and for a set that is not known or did not
    hold them."""
    day = sent.performed_on
    chains = chains_of(connection, "weight", used)
    held = {code: revision.record for code in used if (revision := standing_on(chains[code], day)) is not None}
    early = (before_known(connection, "weight", code, day, _first_use(sent, code)) for code in used if code not in held)
    flags = [flag for flag in early if flag is not None]
    flags += [
        Flag("weight-not-active", f"Piece {code} was {weight.state} that day.", {"piece": code}, _first_use(sent, code))
        for code, weight in held.items()
        if weight.state != "active"
    ]
    uses = [_first_use(sent, code) for code in used]
    flags += held_flags(connection, used, sent.performed.start, sent.performed.end, uses)
    if sent.weight_set is None:
        return flags
    found = find_in_force(connection, "weight set", sent.weight_set, on=day)
    if found is None:
        return [*flags, unknown("unknown-weight-set", "weight set", sent.weight_set, "#/weight_set")]
    return [*flags, *_not_in_set(found.record, tuple(held), day)]


def _not_in_set(weight_set: WeightSet, used: Sequence[str], day: date) -> list[Flag]:
    members = {m.piece for m in weight_set.members if m.since <= day and (m.to is None or day <= m.to)}
    others = [code for code in used if code not in members]
    if not others:
        return []
    said = f"Not in set {weight_set.code} that day: {', '.join(others)}."
    return [Flag("piece-not-in-set", said, {"pieces": ", ".join(others)}, "#/weight_set")]


def _first_use(sent: Submission, code: str) -> str:
    for name, phase in (("as_found", sent.as_found), ("as_left", sent.as_left)):
        for place, reading in enumerate(phase.readings if phase else ()):
            if code in reading.pieces:
                return f"#/{name}/readings/{place}"
    return "#/adjustments"
