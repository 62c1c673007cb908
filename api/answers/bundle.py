"""Everything for going offline with the scales of a site: what is due, what to do on each, what it was left like, with what.

It holds nothing that the other answers do not say one by one.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import Connection

from api.answers.due import due_place
from api.answers.scales_offline import scales_offline
from api.keeping.case_on_file import POLICY
from api.keeping.held_pieces import held_on
from api.keeping.judge_on_file import PROGRAM
from api.metrology.policy import STARTING
from api.metrology.weights import Piece
from api.queries.devices import devices_in_force
from api.queries.log import moment_of, newest_touch
from api.queries.register import all_in_force, find_in_force, in_force
from api.queries.weights import pieces_on, weight_revisions
from api.records.bundle import Bundle, BundleAsked, BundledDevice, BundledWeight
from api.records.cautions import CAUTIONS
from api.records.device import Device
from api.records.plan import CautionText
from api.records.problems import NotOnRecord
from api.records.register import Revision

# The cautions that whoever decides alone, far from a signal, has before them whatever the plan says.
ALWAYS = ("C-04", "C-07", "C-08", "C-11", "C-14", "C-17", "C-20", "C-21")


def bundle_for(connection: Connection, asked: BundleAsked) -> Bundle:
    """Return the bundle of a site as it stands on a day.

    Refuses a site, ward, set or technician that is not on the register then, or not in sight (`NotOnRecord`).
    """
    site = in_force(connection, "site", asked.site, on=asked.on)
    devices = [d for d in devices_in_force(connection, on=asked.on) if _is_asked(d, asked)]
    wards = _wards(connection, asked)
    technicians = _technicians(connection, asked)
    models = _named(connection, "model", {d.record.model for d in devices}, asked)
    rules = _named(connection, "house rule", {d.record.tolerance.house_rule for d in devices} - {None}, asked)
    sets = _sets(connection, asked)
    pieces = tuple(dict.fromkeys(m.piece for held in sets for m in held.record.members if _is_member(m, asked)))
    policy = find_in_force(connection, "policy", POLICY, on=asked.on)
    scales, visited = scales_offline(connection, devices, asked)
    revisions = [site, *devices, *wards, *models, *rules, *sets, *technicians, *([policy] if policy else [])]
    revisions += weight_revisions(connection, pieces, asked.on)
    number = max(visited, newest_touch(connection, "weight", pieces), *(revision.log_number for revision in revisions))
    return Bundle(
        on=asked.on,
        log_number=number,
        log_moment=moment_of(connection, number),
        program=PROGRAM,
        site=site.record,
        wards=_records(wards),
        devices=tuple(sorted(scales, key=lambda scale: due_place(scale.due))),
        models=_records(models),
        policy=policy.record if policy else STARTING,
        house_rules=_records(rules),
        weight_sets=_records(sets),
        weights=_weights(connection, pieces, asked),
        technicians=_records(technicians),
        cautions=_cautions(scales),
    )


def _is_asked(device: Revision[Device], asked: BundleAsked) -> bool:
    record = device.record
    return record.state != "retired" and record.site == asked.site and asked.ward in (None, record.ward)


def _wards(connection: Connection, asked: BundleAsked) -> list[Revision[Any]]:
    found = [w for w in all_in_force(connection, "ward", on=asked.on) if w.record.site == asked.site]
    named = [w for w in found if asked.ward in (None, w.key)]
    if not named and asked.ward is not None:
        raise NotOnRecord(f"No ward {asked.ward!r} is at site {asked.site} on {asked.on.isoformat()}.", ward=asked.ward)
    return named


def _technicians(connection: Connection, asked: BundleAsked) -> list[Revision[Any]]:
    """The one who goes; everybody who is active where nobody is named."""
    if asked.technician is not None:
        return [in_force(connection, "technician", asked.technician, on=asked.on)]
    return [t for t in all_in_force(connection, "technician", on=asked.on) if t.record.active]


def _sets(connection: Connection, asked: BundleAsked) -> list[Revision[Any]]:
    """The set that is taken along; those kept at the site where none is named."""
    if asked.weight_set is not None:
        return [in_force(connection, "weight set", asked.weight_set, on=asked.on)]
    return [s for s in all_in_force(connection, "weight set", on=asked.on) if s.record.site == asked.site]


def _is_member(member: Any, asked: BundleAsked) -> bool:
    return bool(member.since <= asked.on and (member.to is None or asked.on <= member.to))


def _named(connection: Connection, kind: str, keys: Iterable[Any], asked: BundleAsked) -> list[Revision[Any]]:
    found = (find_in_force(connection, kind, key, on=asked.on) for key in sorted(keys))
    return [revision for revision in found if revision is not None]


def _records(revisions: Sequence[Revision[Any]]) -> tuple[Any, ...]:
    return tuple(revision.record for revision in revisions)


def _weights(connection: Connection, codes: tuple[str, ...], asked: BundleAsked) -> tuple[BundledWeight, ...]:
    registered = {code: find_in_force(connection, "weight", code, on=asked.on) for code in codes}
    pieces, held = pieces_on(connection, codes, asked.on), held_on(connection, codes, asked.on)
    told = {code: span.sentence for code, span in held.items()}
    return tuple(_weight(w, pieces[code], told.get(code)) for code, w in registered.items() if w is not None)


def _weight(weight: Revision[Any], piece: Piece, held: str | None) -> BundledWeight:
    record, said = weight.record, piece.certificate
    told = (record.code, record.nominal, record.weight_class, record.state)
    if said is None:
        lapsed = f"Certificate {piece.lapsed[0]} ended on {piece.lapsed[1].isoformat()}." if piece.lapsed else None
        return BundledWeight(*told, lapsed=lapsed, held=held)
    return BundledWeight(
        *told, said.number, said.conventional_kg, said.expanded_kg, said.k, said.valid_from, said.valid_to, held=held
    )


def _cautions(scales: Sequence[BundledDevice]) -> tuple[CautionText, ...]:
    planned = {code for scale in scales if scale.plan for code in scale.plan.cautions}
    return tuple(CautionText(code, CAUTIONS[code]) for code in sorted({*planned, *ALWAYS}))
