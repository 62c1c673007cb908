"""The error of an indication without its rounding: `change-over`."""

from dataclasses import dataclass

from api.metrology import change_over
from api.metrology.calculations.amounts import ComputedMass, in_one_unit
from api.metrology.exact_text import plain
from api.metrology.mass import Mass


@dataclass(frozen=True, slots=True)
class ChangeOverAsked:
    """A load, what was shown, the small weights that raised it by one e, that e, and the error at zero found alike."""

    load: Mass
    indication: Mass
    added: Mass
    e: Mass
    error_at_zero: Mass | None = None


@dataclass(frozen=True, slots=True)
class ChangeOverFound:
    """The error E, the error Ec corrected for zero, and the indication P before rounding: exact."""

    error: ComputedMass
    corrected_error: ComputedMass
    before_rounding: ComputedMass
    source: str


def change_over_of(asked: ChangeOverAsked) -> ChangeOverFound:
    """Return E = I + e/2 - dL - L and Ec = E - E0 in the unit of the load, or in kilograms where they do not end there."""
    given = [
        asked.load,
        asked.indication,
        asked.added,
        asked.e,
        *([asked.error_at_zero] if asked.error_at_zero else []),
    ]
    values, unit = in_one_unit(given)
    found = change_over.change_over(*values)
    error, corrected, before = (
        ComputedMass(plain(value), unit or "kg")
        for value in (found.error, found.corrected_error, found.before_rounding)
    )
    return ChangeOverFound(error, corrected, before, "OIML R 76-1:2006 A.4.4.3, from memory")
