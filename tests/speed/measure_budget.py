"""One uncertainty budget, from seven sizes to u, effective degrees of freedom, k and U: at least 20 times as fast as GTC.

GTC does the same work between the runs: uncertain numbers, their sum, its u and degrees of freedom, k. Our k of a whole
number of degrees is worked out once in a process and kept. Beside stand the ratio of a complete budget, whose seven
contributions have names and sources and whose U is printed, and that of a first k, worked out afresh.
"""

import json
import math
from collections.abc import Callable
from pathlib import Path

import click
import GTC

from api.metrology.budget import Contribution
from api.metrology.coverage_factors import student_quantile
from api.metrology.uncertainty import budget_of, coverage_of
from tests.speed.a_calibration import middle, row, seconds_of

EXAMPLE = Path(__file__).parents[1] / "worked_examples" / "patient_scale_budget.json"
RUNS, REPEATS = 60, 50
Part = tuple[str, float, float]


def parts_of_the_patient_scale() -> list[Part]:
    """Return name, standard uncertainty and degrees of freedom of the worked budget of a patient scale."""
    data = json.loads(EXAMPLE.read_text(encoding="utf-8"))["contributions"]
    return [(c["name"], c["u"], math.inf if c["nu"] is None else c["nu"]) for c in data]


def ours(parts: list[Part]) -> float:
    """Return U as the product works it out, from sizes and degrees of freedom."""
    u, _, k = coverage_of([u for _, u, _ in parts], [nu for _, _, nu in parts])
    return k * u


def complete(parts: list[Part]) -> float:
    """Return U of a complete budget: contributions with names and sources, and U as printed."""
    return budget_of([Contribution(name, u, "normal", "measured here", nu) for name, u, nu in parts]).expanded


def by_the_library(parts: list[Part]) -> float:
    """Return U as GTC works it out."""
    total = sum(GTC.ureal(0, u, nu, label=name) for name, u, nu in parts)
    return float(GTC.reporting.k_factor(math.floor(total.df), 95.45) * total.u)


def each(work: Callable[[list[Part]], float], parts: list[Part], *, afresh: bool = False) -> float:
    """Return the seconds of one call, over several of them."""

    def repeated() -> None:
        for _ in range(REPEATS):
            if afresh:
                student_quantile.cache_clear()
            work(parts)

    return seconds_of(repeated) / REPEATS


def measure() -> str:
    """Return the row of the table."""
    parts = parts_of_the_patient_scale()
    assert math.isclose(ours(parts), by_the_library(parts), rel_tol=1e-9)
    assert math.isclose(complete(parts), by_the_library(parts), rel_tol=1e-9)
    runs = [
        (each(by_the_library, parts), each(ours, parts), each(complete, parts), each(ours, parts, afresh=True))
        for _ in range(RUNS)
    ]
    library, own, whole, afresh = (middle(list(times)) for times in zip(*runs, strict=True))
    return row(
        "one uncertainty budget, times as fast as GTC",
        "20",
        f"{library / own:.0f}",
        f"median of {RUNS} runs of {REPEATS}, the floor between them",
        f"{own * 1e6:.1f} us beside {library * 1e6:.0f} us; complete {library / whole:.1f}, first k {library / afresh:.1f}",
    )


if __name__ == "__main__":
    click.echo(measure())
