"""The life of one invented scale through its visits: what carries over from one visit to the next.

Its span since the last adjustment, the gravity where that was, its character, its counters and its seal.
"""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from random import Random

from api.demo.behaviour import Character, SimulatedScale, gravity_ppm
from api.demo.models import MODEL_CODED
from api.demo.places import G_AT
from api.demo.stories import Special
from api.metrology.submission import EventCounters
from api.records.device import Device


@dataclass(slots=True)
class Life:
    """A scale between visits; its span error was `residual_ppm` on the day `since` and drifts from there."""

    character: Character
    residual_ppm: float
    since: date
    g_adjusted: Decimal
    configuration_counter: int
    adjustment_counter: int
    seal: int

    def meets(self, special: Special, day: date) -> None:
        """Take up what happened to the scale before a visit."""
        if special.character is not None:
            self.character, self.residual_ppm, self.since = special.character, special.character.span_ppm, day
        self.configuration_counter += special.counters_moved[0]
        self.adjustment_counter += special.counters_moved[1]

    def on(self, day: date, device: Device, unit: str, luck: Random) -> SimulatedScale:
        """Return the scale as it is on a day at the place where it stands."""
        years = (day - self.since).days / 365.25
        span = self.residual_ppm + self.character.drift_ppm_a_year * years
        span += gravity_ppm(G_AT[device.site], self.g_adjusted)
        return SimulatedScale(MODEL_CODED[device.model].as_scale(), self.character, span, unit, luck)

    def adjust(self, day: date, device: Device, luck: Random, repaired: bool) -> None:
        """Adjust the span: a little stays, the counter moves by one, the seal is new; corners change only by a repair."""
        self.residual_ppm = luck.gauss(0.0, 30.0)
        self.since = day
        self.g_adjusted = G_AT[device.site]
        self.adjustment_counter += 1
        self.seal += 1
        if repaired:
            self.character = replace(self.character, corners_ppm={})

    @property
    def counters(self) -> EventCounters:
        """The event counters as the scale's menu shows them now."""
        return EventCounters(self.configuration_counter, self.adjustment_counter)
