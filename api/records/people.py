"""Persons, by code only: technicians and what they are authorised to do. Names are kept elsewhere, never published."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from api.metrology.mass import Mass
from api.metrology.terms import Code, Kind, Line, Many


@dataclass(frozen=True, slots=True)
class Authorisation:
    """What a technician may do with one kind of scale, from a day to a day, by whose word."""

    kind: Kind
    may: Literal["calibrate", "calibrate and adjust"]
    valid_from: date
    valid_to: date
    authorised_by: Code
    evidence: Line | None = None


@dataclass(frozen=True, slots=True)
class Technician:
    """A technician under a code, with employer and authorisations; the heaviest piece they lift is their own choice."""

    code: Code
    employer: Literal["hospital", "contractor"]
    active: bool
    authorisations: Annotated[tuple[Authorisation, ...], Many(40)] = ()
    heaviest_piece: Mass | None = None
