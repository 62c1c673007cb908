"""What persons do to a record after it was kept, as it is asked for, answered, and told in the record's life."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Literal

from api.metrology.submission import Submission
from api.metrology.terms import Code, Digest, LinkKind, Many, Uuid, Whole, Written
from api.metrology.verdict import Verdict
from api.records.calibration import Standing, StoredFlag

Words = Annotated[str, Written(1000, shortest=3)]


@dataclass(frozen=True, slots=True)
class FlagAnswer:
    """The words by which a person closes a flag, by its code: every flag of that code in the judgement."""

    code: Annotated[str, Written(60, r"[a-z0-9]+(?:-[a-z0-9]+)*")]
    words: Words


@dataclass(frozen=True, slots=True)
class ReleaseAsked:
    """A record released: the content and judgement that were looked at, and words for every flag in it.

    `digest` and `judgement` are those of `GET /v1/calibrations/{id}`; `answers` has one for each code among its `flags`,
    none for its `notes`.
    """

    digest: Digest
    judgement: Whole
    answers: Annotated[tuple[FlagAnswer, ...], Many(60)] = ()


@dataclass(frozen=True, slots=True)
class RemarkAsked:
    """What a reviewer has to say of a record without releasing it."""

    words: Words


@dataclass(frozen=True, slots=True)
class AmendmentAsked:
    """An amendment: the whole content as it should have been, why, and the digest of the content that it supersedes.

    `supersedes` is the `digest` of `GET /v1/calibrations/{id}`, not an `arrived_digest`.
    """

    supersedes: Digest
    because: Words
    content: Submission


@dataclass(frozen=True, slots=True)
class VoidAsked:
    """Why a record is void."""

    because: Words


@dataclass(frozen=True, slots=True)
class DuplicateAsked:
    """Whether a record is of the same visit as another one, and how that is known."""

    of: Uuid
    same_visit: bool
    because: Words


@dataclass(frozen=True, slots=True)
class LinkAsked:
    """A code as it was sent, and the key under which the register has what it means."""

    kind: LinkKind
    as_sent: Code
    key: Code
    because: Words


@dataclass(frozen=True, slots=True)
class Acted:
    """Where a record stands after what was done to it, and the entry of the log that holds that.

    `replayed`: it was done before, and nothing was changed now.
    """

    calibration: str
    site: str
    revision: int
    judgement: int
    replayed: bool
    standing: Standing
    because: str
    as_found: Verdict | None
    as_left: Verdict | None
    certificate: str | None
    certificate_revision: int | None
    flags: tuple[StoredFlag, ...]
    log_number: int | None


@dataclass(frozen=True, slots=True)
class ContentKept:
    """A content as it was sent: which revision, its digest, where its bytes are read, what it amends and why."""

    revision: int
    digest: str
    address: str
    recorded_at: datetime
    recorded_by: str
    technicians: tuple[str, ...]
    standing: Standing | None
    judgements: tuple[int, ...]
    supersedes: str | None = None
    amended_because: str | None = None


LifeKind = Literal[
    "arrived", "imported", "recorded", "amended", "judged", "stands", "remark", "flag answered", "linked",
    "certificate issued",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class LifeEvent:
    """One thing that happened to a record: when, what, by whom, and why; which revision, and which judgement of it."""

    moment: datetime
    kind: LifeKind
    words: str
    revision: int
    by_whom: str | None = None
    judgement: int | None = None
    facts: dict[str, str] | None = None


@dataclass(frozen=True, slots=True)
class LogLine:
    """An entry of the log that touched a record."""

    number: int
    kind: str
    by_whom: str
    moment: datetime


@dataclass(frozen=True, slots=True)
class Life:
    """The whole life of a record: every content as it was sent, everything that happened in order, its entries of the log."""

    calibration: str
    site: str
    contents: tuple[ContentKept, ...]
    events: tuple[LifeEvent, ...]
    log: tuple[LogLine, ...]
