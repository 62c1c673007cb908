"""How a person's load lies on a platform: shares of the load at places, as data, by kind of scale.

Places are those of `load_places`: half widths from the middle, the person facing the top or lying with the head there.
What the corner solver predicts for these is a prediction; no reading was ever taken with them.
"""

from dataclasses import dataclass
from typing import Final

from api.metrology.load_places import Place
from api.metrology.terms import Kind


@dataclass(frozen=True, slots=True)
class Distribution:
    """A load as shares at places that add up to one, and how far it may stand off the middle, in half widths."""

    name: str
    shares: tuple[tuple[Place, float], ...]
    may_be_off: float
    source: str


# Two feet a little apart, each with half of its load on the heel and half on the ball; the sizes are our own for a
# platform of about 0.35 m (common practice, no source).
TWO_FEET: Final = Distribution(
    "two feet",
    (((-0.4, 0.4), 0.25), ((-0.4, -0.4), 0.25), ((0.4, 0.4), 0.25), ((0.4, -0.4), 0.25)),
    0.4,
    "two feet, half on the heel and half on the ball; common practice, no source",
)
# Somebody sitting: most of the load under the seat bones, a little behind the middle of the seat; our own.
SEATED: Final = Distribution(
    "a person sitting",
    (((-0.25, -0.15), 0.4), ((0.25, -0.15), 0.4), ((-0.2, 0.7), 0.1), ((0.2, 0.7), 0.1)),
    0.3,
    "four fifths on the seat, one fifth under the feet; common practice, no source",
)
# An occupied wheelchair facing the top: seven tenths on the two large wheels, three tenths on the casters; our own.
WHEELCHAIR: Final = Distribution(
    "an occupied wheelchair",
    (((-0.6, -0.3), 0.35), ((0.6, -0.3), 0.35), ((-0.5, 0.4), 0.15), ((0.5, 0.4), 0.15)),
    0.3,
    "seven tenths on the large wheels, three tenths on the casters; common practice, no source",
)
# Masses of the body's segments as shares of the whole: head and neck 0.081, trunk 0.497, each arm 0.050, each leg 0.161
# (D. A. Winter, Biomechanics and Motor Control of Human Movement, table 4.1, from memory, high confidence); where they
# lie on the surface is our own.
LYING_BODY: Final = Distribution(
    "a person lying",
    (
        ((0.0, 0.8), 0.081), ((0.0, 0.35), 0.497), ((-0.35, 0.25), 0.05), ((0.35, 0.25), 0.05),
        ((-0.15, -0.4), 0.161), ((0.15, -0.4), 0.161),
    ),
    0.2,
    "shares of head, trunk, arms and legs: Winter, Biomechanics, table 4.1, from memory; places of our own",
)  # fmt: skip

_BY_KIND: Final[dict[Kind, tuple[Distribution, ...]]] = {
    "stand-on": (TWO_FEET,),
    "portable platform": (TWO_FEET,),
    "chair": (SEATED,),
    "wheelchair platform": (WHEELCHAIR, TWO_FEET),
    "dialysis platform": (TWO_FEET, WHEELCHAIR),
    "bed": (LYING_BODY,),
    "bed pads": (LYING_BODY,),
    "infant": (LYING_BODY,),
    "incubator": (LYING_BODY,),
}


def distributions_for(kind: Kind) -> tuple[Distribution, ...]:
    """Return how a load lies on a scale of a kind; none for a balance or a sling."""
    return _BY_KIND.get(kind, ())
