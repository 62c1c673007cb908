"""Codes of a visit that were not known when it was judged, and what the register has for them since."""

from collections.abc import Iterable
from dataclasses import replace

from sqlalchemy import Connection

from api.keeping.certificate import was_measured
from api.keeping.record_in_hand import InHand
from api.metrology.readings import Phase
from api.metrology.submission import Submission
from api.metrology.terms import LinkKind
from api.queries.judgements import CodeLinked
from api.queries.register import find_in_force
from api.records.life import LinkAsked
from api.records.problems import NotToLink, ReferenceMissing


def check_linkable(connection: Connection, held: InHand, sent: Submission, asked: LinkAsked) -> None:
    """Refuse a code that was not sent or was known (`NotToLink`), and a key that was not in force (`ReferenceMissing`)."""
    named = _named(sent, asked.kind)
    if asked.as_sent not in named:
        listed = ", ".join(named) or "none"
        said = f"The record names no {asked.kind} {asked.as_sent!r}. It names: {listed}."
        raise NotToLink(said, as_sent=asked.as_sent, named=listed)
    if _was_known(held, asked.kind, asked.as_sent):
        said = f"The {asked.kind} {asked.as_sent!r} was known when this was judged."
        raise NotToLink(f"{said} If it is the wrong one, amend the record.", as_sent=asked.as_sent)
    if asked.kind == "site" and asked.key != asked.as_sent:
        raise NotToLink("A record keeps its site: put this one on the register under its own code.", site=asked.as_sent)
    day = sent.performed_on
    if find_in_force(connection, asked.kind, asked.key, on=day) is None:
        missing = f"{asked.kind} {asked.key!r}"
        said = f"No {missing} is on the register on {day.isoformat()}, the day of the visit."
        raise ReferenceMissing(f"{said} Put it there first, valid from that day or earlier.", missing=missing)


def _named(sent: Submission, kind: LinkKind) -> tuple[str, ...]:
    """The codes that a visit names of a kind."""
    if kind == "technician":
        return sent.technicians
    if kind == "weight":
        return sent.pieces_used
    one = {"device": sent.device, "ward": sent.ward, "site": sent.site, "weight set": sent.weight_set}[kind]
    return () if one is None else (one,)


def _was_known(held: InHand, kind: LinkKind, code: str) -> bool:
    """Whether the judgement in force rests on what the register had under a code; what was flagged as unknown was not."""
    working = held.record.working
    if kind == "device":  # one whose house rule was not known is linked to itself, to be judged again
        return "device" in working and was_measured(working)
    if kind in ("technician", "weight set"):
        early = ("unknown-", "before-known-")
        return not any(f.facts.get(kind) == code and f.code.startswith(early) for f in held.record.flags)
    return any((r["kind"], r["key"]) == (kind, code) for r in working["register"])


def with_codes_linked(sent: Submission, links: Iterable[CodeLinked]) -> Submission:
    """Return a visit with the keys of the register in place of the codes that were linked to them, to be judged by."""
    for link in links:
        if link.key != link.as_sent:
            sent = _with_code_linked(sent, link.kind, link.as_sent, link.key)
    return sent


def _with_code_linked(sent: Submission, kind: str, code: str, key: str) -> Submission:
    if kind == "device":
        return replace(sent, device=key, device_revision=None)
    if kind == "ward":
        return replace(sent, ward=key)
    if kind == "weight set":
        return replace(sent, weight_set=key)
    if kind == "technician":
        return replace(sent, technicians=_put(sent.technicians, code, key))
    adjustments = tuple(replace(one, pieces=_put(one.pieces, code, key)) for one in sent.adjustments)
    found, left = (_with_piece(phase, code, key) for phase in (sent.as_found, sent.as_left))
    return replace(sent, as_found=found, as_left=left, adjustments=adjustments)


def _with_piece(phase: Phase | None, code: str, key: str) -> Phase | None:
    if phase is None:
        return None
    readings = tuple(replace(reading, pieces=_put(reading.pieces, code, key)) for reading in phase.readings)
    return replace(phase, readings=readings)


def _put(codes: tuple[str, ...], code: str, key: str) -> tuple[str, ...]:
    return tuple(key if one == code else one for one in codes)
