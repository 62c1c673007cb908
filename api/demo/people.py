"""The invented network's technicians and its supervisor: codes only, and what each may do from when to when."""

from datetime import date
from typing import Final, Literal

from api.demo.days import REGISTER_BEGINS, days_before
from api.metrology.mass import mass
from api.metrology.terms import Kind
from api.records.people import Authorisation, Technician

SUPERVISOR: Final = "S-01"
_KINDS: Final[tuple[Kind, ...]] = (
    "stand-on", "chair", "bed", "infant", "wheelchair platform", "dialysis platform", "bed pads", "pharmacy balance",
)  # fmt: skip
_AT_THE_WARDS: Final[tuple[Kind, ...]] = ("stand-on", "chair", "bed", "wheelchair platform")
# Authorisations run on for longer than a certificate of the weights, so that the examples stay within them.
_ENDS_AFTER: Final = 600


def technicians(today: date) -> list[Technician]:
    """Return the supervisor, who does no calibrations, and the technicians T-01 to T-04, whom the supervisor authorised."""
    return [
        Technician(SUPERVISOR, "hospital", active=True),
        _technician("T-01", "hospital", "calibrate and adjust", _KINDS, "20", today),
        _technician("T-02", "hospital", "calibrate and adjust", _KINDS, "20", today),
        _technician("T-03", "contractor", "calibrate and adjust", _AT_THE_WARDS, "20", today),
        _technician("T-04", "contractor", "calibrate", ("infant",), "10", today),
    ]


def _technician(
    code: str,
    employer: Literal["hospital", "contractor"],
    may: Literal["calibrate", "calibrate and adjust"],
    kinds: tuple[Kind, ...],
    heaviest_kg: str,
    today: date,
) -> Technician:
    begins, ends = days_before(today, REGISTER_BEGINS), days_before(today, -_ENDS_AFTER)
    authorisations = tuple(
        Authorisation(kind, may, begins, ends, SUPERVISOR, "one calibration done under supervision") for kind in kinds
    )
    return Technician(code, employer, True, authorisations, mass(heaviest_kg, "kg"))
