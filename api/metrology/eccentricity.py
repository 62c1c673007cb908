"""Eccentricity: what the same load shows at different places of the platform, and the rule of each scheme.

HB 44 T.N.4.4 limits the range of the results by the maintenance tolerance, and each result by the tolerance that
applies; R 76-1 3.6.2 limits each. Positions are named from the person's own side.
"""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from api.metrology.contributions import Corners
from api.metrology.judgement import Flag, PointJudgement
from api.metrology.policy import Policy
from api.metrology.scale import Scale, capacity_in
from api.metrology.tolerance import Scheme

# The quarters of the platform, one load on each: NIST HB 44 section 2.20 N.1.3.8, OIML R 76-1:2006 A.4.7, from memory.
LEAST_POSITIONS = 4
# One third of capacity, meaning 30 to 35 %: NIST HB 44 section 2.20 N.1.3, from memory (high confidence); editions
# before about 2003 asked for one half (medium). OIML R 76-1:2006 3.6.2 asks for one third of the sum of Max and the
# additive tare, from memory; that a load near a third is meant as in HB 44 is a house choice.
MOST_SHARE: Final = Decimal("0.35")
ONE_HALF: Final = (Decimal("0.45"), Decimal("0.55"))


def corners_of(points: Sequence[tuple[str, Decimal, Decimal]]) -> Corners | None:
    """Return the largest difference to the centre from (position, nominal kg, indication kg); None without corners.

    Of several loads the one that stood at the most places counts, of those the heaviest. Without a centre reading the
    range of the corners stands in, which is never smaller.
    """
    by_load: dict[Decimal, list[tuple[str, Decimal]]] = defaultdict(list)
    for position, load, value in points:
        by_load[load].append((position, value))
    load, placed = max(by_load.items(), key=lambda item: (len(item[1]), item[0]), default=(Decimal(0), []))
    if len(placed) < 2 or not load:
        return None
    centre = [value for position, value in placed if position == "centre"]
    shown = [value for _, value in placed]
    largest = max(abs(value - middle) for value in shown for middle in centre) if centre else max(shown) - min(shown)
    return Corners(largest, load)


def range_of_positions(points: Sequence[PointJudgement]) -> Decimal:
    """Return the largest minus the smallest value over all positions, in kilograms."""
    shown = [p.shown_kg for p in points]
    return max(shown) - min(shown)


def missing_positions(points: Sequence[PointJudgement]) -> Flag | None:
    """Return the reason why too few positions were loaded, or None where there were enough."""
    corners = {p.reading.position for p in points} - {"centre", None}
    if len(corners) >= LEAST_POSITIONS:
        return None
    return Flag(
        "too-few-positions",
        f"{len(corners)} positions beside the centre were loaded; the test needs {LEAST_POSITIONS}.",
        {"found": str(len(corners))},
    )


def too_light(points: Sequence[PointJudgement], scale: Scale, policy: Policy) -> Flag | None:
    """Return what there is to say of a load below the policy's share of capacity, or None where it was heavy enough.

    With more than four supports one part in (supports - 1) is enough (R 76-1 3.6.2).
    """
    load, in_use = points[0].nominal_kg, points[0].in_use
    if in_use is None or not load:  # nothing is known of the load
        return None
    top = capacity_in(scale, in_use.unit).max_kg + scale.additive_tare_kg
    enough = load >= top * policy.least_eccentric_share
    if enough or (scale.supports > LEAST_POSITIONS and load * (scale.supports - 1) >= top):
        return None
    share = f"{float(load) / float(top) * 100:.0f} %"
    asked = f"{float(policy.least_eccentric_share) * 100:.0f} %"
    return Flag(
        "eccentric-load-light",
        f"The load at the corners was {share} of capacity; the policy asks for {asked}.",
        {"share": share},
    )


def too_heavy(points: Sequence[PointJudgement], scale: Scale, scheme: Scheme) -> Flag | None:
    """Return what there is to say of a load above the window of the test, or None. It is said and decides nothing.

    The share is that of capacity, with the additive tare where the scale has one.
    """
    load, in_use = points[0].nominal_kg, points[0].in_use
    if in_use is None:
        return None
    top = capacity_in(scale, in_use.unit).max_kg + scale.additive_tare_kg
    if load <= top * MOST_SHARE:
        return None
    share = f"{float(load) / float(top) * 100:.0f} %"
    half = " About one half is what editions before 2003 or so asked for." if _is_half(load, top, scheme) else ""
    said = f"The load at the corners was {share} of capacity; {_window_words(scheme, scale.supports)}.{half}"
    return Flag("eccentric-load-heavy", said, {"share": share})


def _is_half(load_kg: Decimal, top_kg: Decimal, scheme: Scheme) -> bool:
    return scheme.name == "hb44" and ONE_HALF[0] * top_kg <= load_kg <= ONE_HALF[1] * top_kg


def _window_words(scheme: Scheme, supports: int) -> str:
    if scheme.name == "hb44":
        return f"NIST HB 44 ({scheme.edition}) section 2.20 N.1.3 means 30 to 35 %"
    asked = f"1/{supports - 1}" if supports > LEAST_POSITIONS else "one third"
    return f"OIML R 76-1:2006 3.6.2 asks for {asked} of Max and the additive tare together"
