"""How long one plan takes to work out, with a set of 19 pieces, beside the cost of a plain sum of Decimals.

Run as a program; prints one line: figure, asked, reached, how, beside what. Asked: at most 50 ms for one plan.
"""

import sys
from decimal import Decimal
from pathlib import Path
from statistics import median
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[2]))

from api.metrology.kinds_of_plan import PLAN_OF
from tests.metrology.test_plan import a_plan, a_set, the_scale

ROUNDS = 15
MOST_MS = 50.0


def _floor() -> float:
    begun = perf_counter()
    total = Decimal(0)
    for _ in range(10_000):
        total += Decimal("0.1")
    return perf_counter() - begun


def main() -> int:
    """Print the slowest kind's median, beside ten thousand Decimal additions measured between the runs."""
    pieces, medians, floors = a_set(), {}, []
    for kind in sorted(PLAN_OF):
        scale, taken = the_scale(kind), []
        for _ in range(ROUNDS):
            begun = perf_counter()
            a_plan(scale, pieces)
            taken.append(perf_counter() - begun)
            floors.append(_floor())
        medians[kind] = median(taken)
    slowest = max(medians, key=lambda kind: medians[kind])
    reached, floor = medians[slowest] * 1000, median(floors) * 1000
    row = (
        "one plan, the slowest of twelve kinds", f"<= {MOST_MS:.0f} ms", f"{reached:.1f} ms",
        f"{slowest}, median of {ROUNDS} with {len(pieces)} pieces",
        f"{reached / floor:.1f} x 10 000 Decimal sums ({floor:.2f} ms)",
    )  # fmt: skip
    sys.stdout.write("\t".join(row) + "\n")
    return int(reached > MOST_MS)


if __name__ == "__main__":
    sys.exit(main())
