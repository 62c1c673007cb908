"""The demonstration on one fixed day, and an arithmetic of its own for the errors: certificates, then subtraction.

The error is the indication less the conventional mass of the pieces from the certificates in force that day, exact;
the tolerance is `api.metrology.tolerance`, which has tests of its own against the published tables.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from api.demo.devices import devices
from api.demo.entry import Entry
from api.demo.found_errors import scheme_of
from api.demo.history import visits
from api.demo.models import MODEL_CODED
from api.demo.network import register_entries
from api.metrology.readings import Phase, Reading
from api.metrology.scale import range_in_use
from api.metrology.submission import Submission
from api.metrology.tolerance import tolerance_at
from api.records.documents import read_mass, record_from

TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class World:
    """The register's entries and the visits of one day, with the questions that the checks ask of them."""

    entries: list[Entry]
    bodies: dict[str, dict[str, Any]]

    def submissions(self) -> list[Submission]:
        """Every visit, read back from its wire body."""
        return [record_from(Submission, body) for body in self.bodies.values()]

    def calibrations(self) -> list[Submission]:
        """The visits on which something was weighed."""
        return [s for s in self.submissions() if s.as_found is not None]

    def keys(self, collection: str) -> set[str]:
        """The keys in one collection of the register."""
        return {entry.key for entry in self.entries if entry.collection == collection}

    def nominal_kg(self, piece: str) -> Decimal:
        """The nominal value of a piece on the register."""
        found = next(e for e in self.entries if e.collection == "weights" and e.key == piece)
        return read_mass(found.record["nominal"]).kg

    def certified_kg(self, piece: str, day: date) -> list[Decimal]:
        """The conventional mass of a piece from every certificate in force on a day: one, or none."""
        return [
            read_mass(certified["as_left"]).kg
            for entry in self.entries
            if entry.collection == "weight-certificates"
            and entry.record["valid_from"] <= day.isoformat() <= entry.record["valid_to"]
            for certified in entry.record["pieces"]
            if certified["piece"] == piece
        ]

    def error_share(self, submission: Submission, reading: Reading) -> Decimal | None:
        """The size of a reading's error as a share of the tolerance; None where the load has no reference value."""
        known = self.known_kg(submission, reading)
        if reading.load is None or known is None:
            return None
        device = next(d for d in devices(TODAY) if d.tag == submission.device)
        model = MODEL_CODED[device.model]
        in_use = range_in_use(model.as_scale(), reading.indication.unit, reading.load.kg)
        tolerance = tolerance_at(scheme_of(device), model.accuracy_class, in_use, reading.load.kg)
        return abs(reading.indication.kg - known) / tolerance.kg

    def known_kg(self, submission: Submission, reading: Reading) -> Decimal | None:
        """What a load weighs by the certificates of that day; a substitute load weighs what it was balanced against."""
        values = [self.certified_kg(piece, submission.performed_on) for piece in reading.pieces]
        if any(len(v) != 1 for v in values):
            return None
        own = sum((v[0] for v in values), Decimal(0))
        if reading.substitution is None:
            return own
        assert submission.as_found is not None
        assert reading.before is not None
        below = next(r for r in submission.as_found.readings if r.seq == reading.substitution)
        under = self.known_kg(submission, below)
        return None if under is None else own + under + reading.before.kg - below.indication.kg

    def worst_share(self, submission: Submission, phase: Phase) -> Decimal:
        """The largest share of the tolerance that a counted reading, or the range of the repeats, takes in a phase."""
        counted = [
            r for r in phase.readings
            if r.test in ("increasing", "decreasing", "eccentricity", "repeatability") and not r.excluded
        ]  # fmt: skip
        shares = [share for r in counted if (share := self.error_share(submission, r)) is not None]
        return max([*shares, self._repeats_share(submission, counted)])

    def _repeats_share(self, submission: Submission, counted: list[Reading]) -> Decimal:
        repeats = [r for r in counted if r.test == "repeatability" and r.load is not None]
        loads = {r.load.kg for r in repeats if r.load is not None}
        return max(
            self._range_share(submission, [r for r in repeats if r.load and r.load.kg == load]) for load in loads
        )

    def _range_share(self, submission: Submission, repeats: list[Reading]) -> Decimal:
        device = next(d for d in devices(TODAY) if d.tag == submission.device)
        model, load = MODEL_CODED[device.model], repeats[0].load
        assert load is not None
        in_use = range_in_use(model.as_scale(), repeats[0].indication.unit, load.kg)
        shown = [r.indication.kg for r in repeats]
        return (max(shown) - min(shown)) / tolerance_at(scheme_of(device), model.accuracy_class, in_use, load.kg).kg


@pytest.fixture(scope="session")
def world() -> World:
    """The demonstration as it stands on the fixed day."""
    return World(register_entries(TODAY), dict(visits(TODAY)))
