"""The minimum weight that a visit to a balance shows: from how it repeats at the smallest load that was weighed often.

USP general chapter 41: 2000 s, with s at least 0.41 d (read in public texts that quote it). It is stated for accuracy
classes I and II, as a number beside the verdict: no test depends on it.
"""

import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from api.metrology.judgement import MinimumWeightFound, PointJudgement
from api.metrology.minimum_weight import USP_LEAST_IN_DIVISIONS, minimum_weight_usp
from api.metrology.refusals import Refusal
from api.metrology.repeatability import LEAST_READINGS, variance_in_divisions
from api.metrology.rounding import printed_least, printed_uncertainty
from api.metrology.scale import Scale
from api.metrology.words_of_tests import by_load

CLASSES: Final = ("I", "II")
# USP general chapter 41 asks for ten weighings, from memory (high confidence); fewer are told, with their number.
WEIGHINGS_ASKED: Final = 10
SOURCE: Final = "USP general chapter 41: 2000 s, s at least 0.41 d, so that 2 s is at most 0.10 % of the net load"


def minimum_weight_found(points: Sequence[PointJudgement], scale: Scale) -> MinimumWeightFound | None:
    """Return the minimum weight in kilograms, rounded up, from the smallest load weighed three times or more.

    None for another class than I and II, without such a load, or where a value does not lie on the division.
    """
    if scale.accuracy_class not in CLASSES:
        return None
    groups = by_load([p for p in points if p.reading.test == "repeatability" and p.in_use is not None])
    often = [group for group in groups if len(group) >= LEAST_READINGS]
    if not often:
        return None
    try:
        return _of(min(often, key=lambda group: group[0].nominal_kg))
    except Refusal:
        return None


def _of(group: Sequence[PointJudgement]) -> MinimumWeightFound:
    finest = min((p.in_use for p in group if p.in_use is not None), key=lambda r: r.d)
    s = math.sqrt(variance_in_divisions([p.reading.indication.value for p in group], finest.d)) * float(finest.d_kg)
    exact = minimum_weight_usp(Decimal(repr(s)), finest.d_kg)
    return MinimumWeightFound(
        weight_kg=printed_least(float(exact)),
        s_kg=printed_uncertainty(s),
        d_kg=finest.d_kg,
        load_kg=group[0].nominal_kg,
        weighings=len(group),
        by_division=s < float(USP_LEAST_IN_DIVISIONS * finest.d_kg),
        enough=len(group) >= WEIGHINGS_ASKED,
        source=SOURCE,
    )
