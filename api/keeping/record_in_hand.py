"""A record taken in hand by a person: everything of it that an act needs, read while no other write goes on.

An act is kept like anything else: its rows, its own bytes, one entry of the log.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from api.keeping.certificate import Issued, hold_serials
from api.keeping.log import Draft, append_to_log, hold_log, seal
from api.keeping.person_like import names_a_person
from api.queries.calibrations import calibration, record_key
from api.queries.certificates import certificate_of
from api.queries.content import RevisionSent, revisions_sent
from api.queries.judgements import CodeLinked, links_of
from api.records.calibration import Calibration
from api.records.life import Acted
from api.records.log import LogHead, Touched
from api.records.problems import NamesAPerson, RecordVoid, RevisionDiffers


@dataclass(frozen=True, slots=True)
class Act:
    """What is done to which record, by whom, when; and the bytes of the request, which are kept."""

    site: str
    calibration: str
    by_whom: str
    moment: datetime
    body: bytes


@dataclass(frozen=True, slots=True)
class InHand:
    """A record as it is when an act begins: every content of it, the oldest first, and the newest as it stands."""

    record: Calibration
    sent: tuple[RevisionSent, ...]
    linked: tuple[CodeLinked, ...]
    certificate: str | None

    @property
    def newest(self) -> RevisionSent:
        """The newest content."""
        return self.sent[-1]

    @property
    def technicians(self) -> tuple[str, ...]:
        """Everybody who is named as a technician of the visit, in whichever revision, or was linked as one."""
        named = [code for one in self.sent for code in one.content["technicians"]]
        named += [link.key for link in self.linked if link.kind == "technician"]
        return tuple(dict.fromkeys(named))

    @property
    def links(self) -> tuple[CodeLinked, ...]:
        """The links of the newest revision."""
        return tuple(link for link in self.linked if link.revision == self.record.revision)

    def check_seen(self, digest: str) -> None:
        """Refuse an act that was asked for another content than the newest (`RevisionDiffers`)."""
        if digest != self.newest.digest:
            raise RevisionDiffers(
                f"The newest content is revision {self.newest.revision}; its digest is {self.newest.digest}. "
                "Read it, and name that digest if what you ask for still holds.",
                newest=self.newest.digest, revision=str(self.newest.revision), named=digest,
            )  # fmt: skip

    def check_not_void(self) -> None:
        """Refuse an act on a record that is void (`RecordVoid`)."""
        if self.record.standing == "void":
            why = self.record.stands
            raise RecordVoid(
                f"It was made void by {why.by_whom}: {why.because}", by_whom=why.by_whom, because=why.because
            )


def in_hand(connection: Connection, act: Act) -> InHand:
    """Return a record that an act is for; no other write is committed from here on.

    The certificate numbers of its site are held first, in the order in which a new record holds them.
    """
    hold_serials(connection, [act.site], act.moment.year)
    hold_log(connection)
    of = (connection, act.site, act.calibration)
    issued = certificate_of(*of)
    return InHand(
        calibration(connection, act.calibration, act.site), revisions_sent(*of), links_of(*of),
        issued.number if issued else None,
    )  # fmt: skip


def check_words(*words: str) -> None:
    """Refuse words that look as if they named a person (`NamesAPerson`): they would be shown."""
    for one in words:
        if names_a_person(one):
            raise NamesAPerson(
                "These words look as if they named a person. No patient data, anywhere (C-11).", words=one
            )


def log_act(
    connection: Connection,
    kind: str,
    act: Act,
    held: InHand,
    issued: Issued | None = None,
    more: Iterable[Touched] = (),
    digests: dict[str, str] | None = None,
) -> LogHead:
    """Write an act on a record in the log, with everything that shows the record."""
    touched = [Touched("calibration", record_key(act.site, act.calibration)), *more]
    if issued is not None:
        touched.append(Touched("certificate", issued.number, issued.revision))
    elif held.certificate is not None:
        touched.append(Touched("certificate", held.certificate))
    touched += touched_places(held)
    found = dict(digests or {}) | ({"certificate": issued.digest} if issued else {})
    return append_to_log(
        connection, Draft(kind, act.by_whom, act.moment, tuple(touched), seal(connection, act.body), found)
    )


def touched_places(held: InHand) -> list[Touched]:
    """Return what shows a record in any of its revisions: its devices, its site, its wards."""
    devices = [Touched("device", key) for key in (*(one.device for one in held.sent), held.record.device)]
    wards = [Touched("ward", one.ward) for one in held.sent if one.ward is not None]
    return list(dict.fromkeys([*devices, Touched("site", held.record.site), *wards]))


def acted(connection: Connection, act: Act, log_number: int | None = None) -> Acted:
    """Return where a record stands now; without a log number nothing was done that had not been done before."""
    now = calibration(connection, act.calibration, act.site)
    return Acted(
        now.calibration, now.site, now.revision, now.judgement, log_number is None, now.standing, now.stands.because,
        now.as_found, now.as_left, now.certificate, now.certificate_revision, now.flags, log_number,
    )  # fmt: skip
