"""Whether weights are good enough for a tolerance: their errors times the policy's divisor against it, usually a third.

OIML R 76-1:2006 3.7.1 and NIST HB 44 Appendix A 3.2, from memory; the divisor and its source are the policy's.
"""

from decimal import Decimal

from api.metrology.judgement import Flag, WeightsCheck, WeightsOutcome
from api.metrology.tolerance import Tolerance
from api.metrology.weights import ReferenceLoad


def weights_outcome(error: Decimal, load: ReferenceLoad, tolerance: Tolerance, divisor: Decimal) -> WeightsOutcome:
    """Return whether the weights can decide a point with this error, in kilograms.

    Weights that may err by more than their share of the tolerance cannot show a pass; an error beyond the tolerance by
    more than they may err fails with any weights.
    """
    bound = load.error_bound_kg
    if bound * divisor <= tolerance.kg:
        return "good enough"
    return (
        "too coarse to decide it"
        if abs(error) - bound <= tolerance.kg
        else "too coarse, but no weights would let it pass"
    )


def weights_check(load: ReferenceLoad, tolerance: Tolerance, divisor: Decimal, outcome: WeightsOutcome) -> WeightsCheck:
    """Return what was compared on the way to an outcome, in kilograms."""
    return WeightsCheck(divisor, load.error_bound_kg * divisor, float(tolerance.kg) / float(divisor), outcome)


def too_coarse(load: ReferenceLoad, tolerance: Tolerance, divisor: Decimal) -> Flag:
    """Return the reason why weights cannot decide a point."""
    return Flag(
        "weights-too-coarse",
        f"The errors of the weights may reach {load.error_bound_kg:f} kg, more than 1/{divisor:f} of the "
        f"tolerance of {tolerance.kg:f} kg. Better weights, or their certificate's values, would decide it.",
        {"error_bound": f"{load.error_bound_kg:f} kg", "tolerance": f"{tolerance.kg:f} kg"},
    )
