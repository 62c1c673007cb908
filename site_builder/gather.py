"""Gathers everything a build is made from, through the service's own queries and answers, in one consistent reading."""

import json
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from sqlalchemy import Connection

from api.answers.corners import corners_from, supports_then
from api.answers.device_events import standing_from
from api.answers.due import due_from
from api.answers.may_i_use import use_with
from api.answers.plan import plan_for
from api.answers.register_notes import noted
from api.answers.weighing import weighing_from
from api.answers.weight_life import life_of_weight
from api.metrology.refusals import Refusal
from api.metrology.weights import CertifiedMass
from api.queries.calibrations import history_of, unlinked
from api.queries.certificates import every_certificate
from api.queries.device_events import events_in_sight, events_of
from api.queries.devices import devices_in_force
from api.queries.log import entries_after, head, last_touch
from api.queries.register import all_in_force
from api.queries.weights import pieces_on, weight_revisions
from api.records.documents import document_of
from api.records.every_problem import PROBLEMS
from api.records.plan import PlanAsked
from api.records.register import Revision
from api.records.working import read_working
from site_builder.fleet import Fleet, HeldWeight, Scale
from site_builder.page import Document, Touch, latest
from site_builder.refused import CannotPublish
from site_builder.withheld import withheld

Registers = dict[str, dict[str, Document]]


class NothingToPublish(CannotPublish):
    """The log is empty: nothing was ever written to this record."""


def gather(connection: Connection, as_of: date, counted: Callable[[list[Any]], Iterable[Any]] = iter) -> Fleet:
    """Return the fleet as it stands on a day, at the newest entry of the log.

    `counted` wraps the devices as they are read, for a progress bar. Refuses an empty record (`NothingToPublish`).
    """
    newest = head(connection)
    if newest.moment is None:
        raise NothingToPublish("The record is empty: there is nothing to publish yet.")
    devices = devices_in_force(connection, on=as_of)
    revisions = {kind: all_in_force(connection, kind, on=as_of) for kind in ("site", "ward", "model")}
    registers = {kind: {r.key: document_of(r.record) for r in found} for kind, found in revisions.items()}
    touches = {(kind, r.key): _entry(connection, r.log_number) for kind, found in revisions.items() for r in found}
    scales = [_scale(connection, registers, touches, device, as_of) for device in counted(devices)]
    return Fleet(
        as_of=as_of.isoformat(),
        log=Touch(newest.number, newest.moment.isoformat()),
        sites=tuple(registers["site"].values()),
        wards=tuple(registers["ward"].values()),
        scales=tuple(scales),
        certificates=_certificates(connection),
        problems=tuple(document_of(list(PROBLEMS))),
        place_touches=touches,
        unlinked=_unlinked(connection, {tag for device in devices for tag in device.record.tags}),
        weights=_weights(connection, as_of),
        not_linked=_not_linked(connection, {tag for device in devices for tag in device.record.tags}, as_of),
    )


def _weights(connection: Connection, on: date) -> tuple[HeldWeight, ...]:
    held = all_in_force(connection, "weight", on=on)
    pieces = pieces_on(connection, tuple(revision.key for revision in held), on)
    return tuple(_weight(connection, revision, pieces[revision.key].certificate, on) for revision in held)


def _weight(connection: Connection, revision: Revision[Any], said: CertifiedMass | None, on: date) -> HeldWeight:
    life = life_of_weight(connection, revision.key, on)
    rests_on = [r.log_number for r in weight_revisions(connection, (revision.key,), on)]
    rests_on += [event.log_number for event in life.events]
    return HeldWeight(
        weight=document_of(revision.record),
        touch=_entry(connection, max(rests_on)),
        certificate=said.number if said else None,
        valid_to=said.valid_to.isoformat() if said else None,
        notes=_notes(connection, revision, on),
        life=document_of(life),
    )


def _notes(connection: Connection, revision: Revision[Any], on: date) -> tuple[Document, ...]:
    return tuple(document_of(note) for note in noted(connection, revision, on).notes)


def _scale(
    connection: Connection,
    registers: Registers,
    touches: dict[tuple[str, str], Touch],
    revision: Revision[Any],
    on: date,
) -> Scale:
    tag, device = revision.key, document_of(revision.record)
    stored = history_of(connection, *revision.record.tags)
    history = tuple(_shown(document_of(item)) for item in stored)
    events = standing_from(connection, revision.record, events_of(connection, *revision.record.tags), stored, on)
    adjusted_at = device.get("adjusted_at")
    return Scale(
        device=device,
        model=registers["model"][device["model"]],
        ward=registers["ward"][device["ward"]],
        site=registers["site"][device["site"]],
        use=document_of(use_with(connection, revision, stored, events, on)),
        due=document_of(due_from(revision.record, stored, on)),
        history=history,
        touch=latest(
            [
                *(_touch(connection, "device", known) for known in revision.record.tags),
                *(touches[kind, device[kind]] for kind in ("site", "ward", "model")),
                *(_entry(connection, max(item["log_number"] for item in history)) for _ in history[:1]),
            ]
        ),
        plan=_plan(connection, tag, history, on),
        adjusted_site=registers["site"].get(adjusted_at["site"]) if adjusted_at else None,
        weighing=answered(lambda: weighing_from(tag, stored, on)),
        notes=_notes(connection, revision, on),
        events=tuple(_shown(document_of(event)) for event in events),
        corners=answered(lambda: corners_from(tag, stored, on, lambda visit: supports_then(connection, visit))),
    )


def answered(ask: Callable[[], Any]) -> Document:
    """Return an answer as a document, or the sentence with which the service says why there is none."""
    try:
        found: Document = document_of(ask())
    except Refusal as refusal:
        return {"why_not": refusal.sentence}
    return found


def _plan(connection: Connection, tag: str, history: Iterable[Document], on: date) -> Document | None:
    """The plan with the set most recently used on the scale, if it can still be used; without pieces otherwise."""
    used = next((item["content"]["weight_set"] for item in history if item["content"].get("weight_set")), None)
    for weight_set in dict.fromkeys((used, None)):
        try:
            found: Document = document_of(plan_for(connection, tag, PlanAsked(on, weight_set)))
        except Refusal:
            continue
        return found
    return None


def _unlinked(connection: Connection, tags: set[str]) -> tuple[Document, ...]:
    """What was sent about no scale that is shown; a scale that came onto the register later has it in its history."""
    return tuple(_shown(document_of(item)) for item in unlinked(connection) if item.device not in tags)


def _not_linked(connection: Connection, tags: set[str], on: date) -> tuple[Document, ...]:
    """What was told of a tag that no scale shown has, and nobody has closed."""
    others = [event for event in events_in_sight(connection) if event.device not in tags and event.leaves_open]
    standing = standing_from(connection, None, others, (), on)
    return tuple(_shown(document_of(event)) for event in standing if event.open)


def _shown(item: Document) -> Document:
    return item | {"content": withheld(item["content"], item["flags"])}


def _touch(connection: Connection, kind: str, key: str) -> Touch:
    touched = last_touch(connection, kind, key)
    return Touch(touched.number, touched.moment.isoformat())


def _entry(connection: Connection, number: int) -> Touch:
    found = next(entries_after(connection, number - 1, 1))
    return Touch(found.number, found.moment.isoformat())


def _certificates(connection: Connection) -> tuple[Document, ...]:
    return tuple(
        {
            "document": _certificate_shown(json.loads(stored.document)),
            "digest": stored.digest,
            "log_number": stored.log_number,
            "moment": _entry(connection, stored.log_number).moment,
            "state": stored.state,
            "because": stored.because,
            "touch": _touch(connection, "certificate", stored.number),
        }
        for stored in every_certificate(connection)
    )


def _certificate_shown(document: Document) -> Document:
    read = {
        "content": withheld(document["content"], document["judgement"]["flags"]),
        "judgement": read_working(document["judgement"]),
    }
    return document | read
