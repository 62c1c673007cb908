"""Where the positions of an eccentricity test lie on the platform: one table from the trade's words to coordinates.

Seen from above, in units of the half width and half depth of the rectangle that the supports span: the supports of a
scale on four stand at its corners (+-1, +-1). x runs to the right of the drawing, y to its top. Standing or sitting, the
person faces the top; lying on the back, the head is at the top and the person's left is on the right of the drawing.
"""

from typing import Final

from api.metrology.terms import Kind, Position

Place = tuple[float, float]

FOUR: Final = 4

# HB 44 2.20 N.1.3.8 (from memory) places the load at the centre of each quadrant, R 76-1:2006 A.4.7 (from memory) on a
# quarter of the platform: half way out. The middles of front, back, left and right are taken as half way out too.
_HALF: Final = 0.5
_PLACES: Final[dict[Position, Place]] = {
    "centre": (0.0, 0.0), "seat": (0.0, 0.0),
    "front left": (-_HALF, _HALF), "front right": (_HALF, _HALF),
    "back left": (-_HALF, -_HALF), "back right": (_HALF, -_HALF),
    "front": (0.0, _HALF), "back": (0.0, -_HALF), "left": (-_HALF, 0.0), "right": (_HALF, 0.0),
    "head left": (_HALF, _HALF), "head right": (-_HALF, _HALF),
    "foot left": (_HALF, -_HALF), "foot right": (-_HALF, -_HALF),
    "head": (0.0, _HALF), "foot": (0.0, -_HALF),
    # Over the support itself, in the order in which they are drawn: two at the top, two at the bottom.
    "support 1": (-1.0, 1.0), "support 2": (1.0, 1.0), "support 3": (-1.0, -1.0), "support 4": (1.0, -1.0),
}  # fmt: skip
# Where they are drawn, no more: how far outside the supports a load on them acts is not known here.
_DRAWN: Final[dict[Position, Place]] = {
    **_PLACES, "left armrest": (-0.62, 0.0), "right armrest": (0.62, 0.0), "footrest": (0.0, 0.58),
}  # fmt: skip
_SIX_DRAWN: Final[dict[Position, Place]] = {
    "support 1": (-1.0, 1.0), "support 2": (1.0, 1.0), "support 3": (-1.0, 0.0), "support 4": (1.0, 0.0),
    "support 5": (-1.0, -1.0), "support 6": (1.0, -1.0),
}  # fmt: skip

_BY_HEAD_AND_FOOT: Final = frozenset({"head left", "head right", "foot left", "foot right", "head", "foot"})
# By the person's own side: somebody lying on their back has their left on the right of the drawing.
_MIRRORED: Final = ("left", "right")
# Kinds on which a person lies: their supports go by head and foot.
LYING: Final[frozenset[Kind]] = frozenset({"bed", "bed pads", "incubator", "infant"})
# Each pad is a support of its own and is loaded by itself: the load stands over it.
_OVER_EACH_SUPPORT: Final[frozenset[Kind]] = frozenset({"bed pads"})

_CORNERS_STANDING: Final[tuple[Position, ...]] = ("front left", "front right", "back left", "back right")
_CORNERS_LYING: Final[tuple[Position, ...]] = ("head left", "head right", "foot left", "foot right")


def place_on(kind: Kind, position: Position) -> Place | None:
    """Return where a position lies on a scale on four supports, or None where the table has no place for it.

    >>> place_on("stand-on", "front left"), place_on("bed", "head left"), place_on("bed pads", "head left")
    ((-0.5, 0.5), (0.5, 0.5), (1.0, 1.0))
    """
    place = _PLACES.get(position)
    if place is None:
        return None
    x, y = place
    if kind in LYING and position in _MIRRORED:
        x = -x
    if kind in _OVER_EACH_SUPPORT and position in _CORNERS_LYING:
        return 2 * x, 2 * y
    return x, y


def seen_from_above(position: Position, lying: bool, six: bool = False) -> Place | None:
    """Return where a position is drawn, or None where it is drawn nowhere. Six supports are in order, two beside two.

    >>> seen_from_above("left", lying=False), seen_from_above("left", lying=True)
    ((-0.5, 0.0), (0.5, 0.0))
    >>> seen_from_above("support 3", lying=False), seen_from_above("support 3", lying=False, six=True)
    ((-1.0, -1.0), (-1.0, 0.0))
    """
    place = _SIX_DRAWN.get(position) if six and position in _SIX_DRAWN else _DRAWN.get(position)
    return (-place[0], place[1]) if place and lying and position in _MIRRORED else place


def goes_by_head_and_foot(position: Position) -> bool:
    """Return whether a position is that of somebody lying."""
    return position in _BY_HEAD_AND_FOOT


def supports_of(kind: Kind, numbered: bool) -> tuple[tuple[Position, Place], ...]:
    """Return the four supports by name with their places: by number where the readings go by number."""
    if numbered:
        return tuple((name, _PLACES[name]) for name in ("support 1", "support 2", "support 3", "support 4"))
    names = _CORNERS_LYING if kind in LYING else _CORNERS_STANDING
    return tuple((name, (2 * _PLACES[name][0], 2 * _PLACES[name][1])) for name in names)


def share_of(support: Place, load: Place) -> float:
    """Return what a support at a corner carries of a load at a place, of the four together.

    In proportion to the distance from the opposite sides, (1 +- x)(1 +- y) / 4: a load over a support rests on it alone,
    one in the middle on all alike. How a real platform shares a load depends on how it bends (four supports are one more
    than statics alone can tell); this rule is common practice, no source.

    >>> share_of((1, 1), (0.5, 0.5)), share_of((-1, -1), (0.5, 0.5))
    (0.5625, 0.0625)
    """
    return (1 + support[0] * load[0]) * (1 + support[1] * load[1]) / 4
