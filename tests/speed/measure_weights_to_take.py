"""The weights to take for 20 scales from 60 pieces: at most 2 s."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import cycle, islice
from typing import Final

import click

from api.metrology.mass import Mass
from api.metrology.plan_steps import PlanFacts
from api.metrology.policy import STARTING
from api.metrology.scale import Range, Scale
from api.metrology.scale_of_round import scale_of_round
from api.metrology.stock import Stock, stock_of
from api.metrology.terms import Kind
from api.metrology.tolerance import scheme
from api.metrology.weights import Piece
from api.metrology.weights_to_take import WeightsToTake, weights_to_take
from tests.speed.a_calibration import middle, row, seconds_of

RUNS = 5
# Ten kinds and capacities that a round over a few wards meets, each twice.
SCALES: Final[tuple[tuple[Kind, str, str], ...]] = (
    ("stand-on", "200", "0.1"), ("stand-on", "250", "0.05"), ("chair", "250", "0.1"), ("bed", "500", "0.2"),
    ("wheelchair platform", "300", "0.1"), ("infant", "20", "0.01"), ("sling", "227", "0.1"), ("infant", "15", "0.005"),
    ("dialysis platform", "300", "0.05"), ("stand-on", "150", "0.1"),
)  # fmt: skip
SET: Final = ("20",) * 24 + ("10",) * 10 + ("5",) * 6 + ("2",) * 6 + ("1",) * 4 + ("0.5",) * 3
SMALL: Final = ("0.2", "0.2", "0.1", "0.1", "0.05", "0.02", "0.01")


def pieces() -> tuple[Piece, ...]:
    """Sixty pieces of class F1 by their nominal mass."""
    return tuple(Piece(f"P{n:02d}", Mass(Decimal(m), "kg"), "F1", None) for n, m in enumerate(SET + SMALL))


def twenty() -> list[PlanFacts]:
    """Twenty scales under HB 44."""
    policy = replace(STARTING, reference="nominal")
    found, left = scheme("hb44", "maintenance"), scheme("hb44", "acceptance")
    return [
        PlanFacts(
            f"A-{n:02d}", date(2026, 11, 25),
            Scale(kind, "III", "single", (Range("kg", Decimal(top), Decimal(d), Decimal(d), None),), 4),
            "kg", found, left, policy,
        )
        for n, (kind, top, d) in enumerate(islice(cycle(SCALES), 20))
    ]  # fmt: skip


def worked_out(facts: list[PlanFacts], stock: Stock) -> WeightsToTake:
    """Work out one round from its facts."""
    return weights_to_take([scale_of_round(one, stock) for one in facts], stock, facts[0].policy)


def measure() -> str:
    """Return the row of the table."""
    facts = twenty()
    stock = stock_of(pieces(), facts[0].policy)
    found = worked_out(facts, stock)
    assert len(pieces()) == 60
    assert found.pieces
    times = [seconds_of(lambda: worked_out(facts, stock)) for _ in range(RUNS)]
    return row(
        "weights to take, 20 scales from 60 pieces, s", "2", f"{middle(times):.2f}", f"median of {RUNS} in one process",
        f"{found.total_kg:f} kg in {len(found.pieces)} pieces, at most {found.gap_kg:f} kg above the lightest",
    )  # fmt: skip


if __name__ == "__main__":
    click.echo(measure())
