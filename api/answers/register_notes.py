"""What the trade's rules have against an entry of the register: asked when it is answered, never a reason to refuse it.

Labels of models and devices go through `label_check`, classes of weights through `certified_class`. The notes rest on the
register as it is known now.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any, Final

from sqlalchemy import Connection

from api.metrology.certified_class import CertifiedClass, certified_class, class_shown
from api.metrology.label_check import LabelFinding, LabelScheme, label_findings
from api.metrology.policy import Policy
from api.metrology.refusals import NoTableValue
from api.metrology.scale import Scale
from api.metrology.weight_classes import WEIGHT_CLASSES, class_limit
from api.metrology.weights import CertifiedMass, Piece
from api.queries.register import find_in_force
from api.queries.weights import certified_by, pieces_on
from api.records.device import Device, DeviceModel
from api.records.register import RegisterNote, Revision
from api.records.weight import Weight, WeightCertificate

# A model is sold under either scheme: that one of them does not know its class or unit says nothing against it.
_OF_THE_SCHEME: Final = ("class-unknown", "unit-not-si")
_SCHEMES: Final[tuple[LabelScheme, ...]] = ("hb44", "r76")
_COMPARE: Final = (
    "Compare the record with the marking plate and correct it where it differs. Where the plate says so, leave it: the scale "
    "is judged by these values, and this note stays."
)
_NOBODY_RESPONSIBLE: Final = RegisterNote(
    "nobody-responsible",
    "By this policy records are released by rule, and it names nobody who is responsible for that.",
    {},
    "a report says who authorised it: ISO/IEC 17025:2017 7.8.2.1, from memory",
    "Name a person by their code in `responsible`, or set `release_unflagged` to false: a person then releases each record.",
)
_OTHER_SCHEME: Final = "Choose a scheme or a house rule for the device that covers it, or correct the record."


def noted(connection: Connection, revision: Revision[Any], on: date) -> Revision[Any]:
    """Return a revision with what the rules of the trade have against it, as the register stands on a day."""
    return replace(revision, notes=tuple(_notes(connection, revision.record, on)))


def _notes(connection: Connection, record: Any, on: date) -> Iterator[RegisterNote]:
    if isinstance(record, DeviceModel):
        yield from _of_model(record.as_scale())
    elif isinstance(record, Device):
        yield from _of_device(connection, record, on)
    elif isinstance(record, Weight):
        piece = pieces_on(connection, (record.code,), on).get(record.code)
        if piece is not None:
            yield from _of_piece(piece)
    elif isinstance(record, WeightCertificate):
        for piece in certified_by(connection, record, on):
            yield from _of_piece(piece)
    elif isinstance(record, Policy) and record.release_unflagged and record.responsible is None:
        yield _NOBODY_RESPONSIBLE


def _of_model(scale: Scale) -> Iterator[RegisterNote]:
    """What either scheme has against a label; what both say in the same words, once."""
    found: dict[str, LabelFinding] = {}
    for scheme in _SCHEMES:
        for finding in label_findings(scale, scheme):
            if finding.code not in _OF_THE_SCHEME:
                before = found.get(finding.sentence, finding)
                sources = dict.fromkeys((before.source, finding.source))
                found[finding.sentence] = replace(finding, source="; ".join(sources))
    return map(_of_label, found.values())


def _of_device(connection: Connection, device: Device, on: date) -> Iterator[RegisterNote]:
    """What the scheme of the device's own tolerance has against its label; a house rule speaks of no labels."""
    model = find_in_force(connection, "model", device.model, on=on)
    for scheme in _SCHEMES:
        if model is not None and device.tolerance.scheme == scheme:
            yield from map(_of_label, label_findings(model.record.as_scale(), scheme))


def _of_label(finding: LabelFinding) -> RegisterNote:
    way_out = _OTHER_SCHEME if finding.code in _OF_THE_SCHEME else _COMPARE
    return RegisterNote(finding.code, finding.sentence, finding.facts, finding.source, way_out)


def _of_piece(piece: Piece) -> Iterator[RegisterNote]:
    """What a piece's certificate has against its class; nothing where it claims none, or has no certificate."""
    said = piece.certificate
    if said is None or piece.weight_class not in WEIGHT_CLASSES:
        return
    asked = (piece.weight_class, piece.nominal, said.conventional_kg, said.expanded_kg, said.k)
    try:
        found = certified_class(*asked)
    except NoTableValue as refusal:
        way_out = "Name a class that has this nominal value, or the class other."
        yield RegisterNote("no-class-limit", refusal.sentence, {"piece": piece.code, **refusal.facts}, "", way_out)
        return
    shown = class_shown(*asked)
    way_out = (
        f"{f'The certificate shows class {shown}.' if shown else 'It shows no class of this document.'} Register the "
    )
    way_out += "piece as what it shows, or have it adjusted, or calibrated with a smaller uncertainty."
    source = f"{found.source}; limit: {class_limit(piece.weight_class, piece.nominal).source}"
    facts = _facts(piece, said, found) | ({"class_shown": shown} if shown else {})
    yield from (RegisterNote(code, words, facts, source, way_out) for code, words in _class_words(piece, found))


def _facts(piece: Piece, said: CertifiedMass, found: CertifiedClass) -> dict[str, str]:
    return {
        "piece": piece.code, "class": piece.weight_class, "certificate": said.number, "limit": f"{found.limit_kg:f} kg",
        "deviation": f"{found.deviation_kg:f} kg", "largest_deviation": f"{found.largest_deviation_kg:f} kg",
        "expanded_uncertainty": f"{found.expanded_kg:f} kg", "largest_uncertainty": f"{found.largest_uncertainty_kg:f} kg",
    }  # fmt: skip


def _class_words(piece: Piece, found: CertifiedClass) -> Iterator[tuple[str, str]]:
    of = f"class {piece.weight_class} at {piece.nominal.shown}"
    if not found.uncertainty_fits:
        words = f"U (k = 2) of {piece.code} is {found.expanded_kg:f} kg, more than a third of the limit of {of}, "
        yield "uncertainty-above-a-third", f"{words}{found.limit_kg:f} kg."
    if not found.value_fits:
        words = f"{piece.code} is {found.deviation_kg:f} kg off its nominal value; {of} allows {found.limit_kg:f} kg less U, "
        yield "value-out-of-class", f"{words}{found.largest_deviation_kg:f} kg."
