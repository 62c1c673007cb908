"""The weights to take on a round: against brute force over all lots, and what holds for any round."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.metrology import round_search
from api.metrology.piece_search import Need
from api.metrology.pieces_for_loads import LoadMade, NotMade, WantedLoad, made_or_not, need_of
from api.metrology.plan import plan_of
from api.metrology.plan_steps import PlanFacts
from api.metrology.policy import STARTING
from api.metrology.round_search import EXACT_LOADS, fewest_to_take, hardest
from api.metrology.scale_of_round import ScaleOfRound, held_to_most, scale_of_round
from api.metrology.stock import Stock, stock_of
from api.metrology.terms import Kind
from api.metrology.tolerance import scheme
from api.metrology.weights import Piece
from api.metrology.weights_to_take import WeightsToTake, weights_to_take
from tests.metrology.a_case import a_certificate, a_piece, a_range, a_scale

NOMINALS = ("20", "10", "5", "2", "1", "0.5")


def kg(text: str) -> Decimal:
    return Decimal(text)


def a_lot(*nominals: str, expanded: Sequence[str] = ("0.0003",)) -> list[Piece]:
    """Pieces P00, P01, ... each certified; the U of each is taken from `expanded` in turn."""
    return [
        a_piece(f"P{n:02d}", nominal, certificate=a_certificate(nominal, expanded[n % len(expanded)]))
        for n, nominal in enumerate(nominals)
    ]


def facts(tag: str, top: str, kind: Kind = "stand-on", **more: object) -> PlanFacts:
    scale = a_scale([a_range(top, "0.1", min="2")], kind)
    rules = scheme("hb44", "maintenance"), scheme("hb44", "acceptance")
    return PlanFacts(tag, date(2026, 3, 2), scale, "kg", *rules, STARTING, **more)


def listed(tag: str, *targets: str, tolerance: str = "0.1") -> ScaleOfRound:
    wanted = tuple(WantedLoad(kg(target), kg(tolerance)) for target in targets)
    return ScaleOfRound(facts(tag, "200"), wanted, kg(targets[-1]))


def makes(lot: Sequence[Piece], load: WantedLoad) -> bool:
    """Whether some pieces of a lot make a load, straight from the rule: 2 %, and a third of the tolerance."""
    low, high = load.window_kg
    for count in range(1, len(lot) + 1):
        for some in combinations(lot, count):
            bound = sum((bound_of(p) for p in some), Decimal(0))
            if low <= sum((p.nominal.kg for p in some), Decimal(0)) <= high and 3 * bound <= load.tolerance_kg:
                return True
    return False


def bound_of(piece: Piece) -> Decimal:
    """The error bound of a piece by its certificate, as the stock has it for that piece alone."""
    stock = stock_of([piece], STARTING)
    return stock.bound_kg(stock.bound_of(stock.counts))


def best_by_brute_force(of: Sequence[Piece], loads: Sequence[WantedLoad]) -> tuple[Decimal, int] | None:
    """Least kilograms, then fewest pieces, over every lot there is."""
    found = [
        (sum((p.nominal.kg for p in lot), Decimal(0)), count)
        for count in range(len(of) + 1)
        for lot in combinations(of, count)
        if all(makes(lot, load) for load in loads)
    ]
    return min(found, default=None)


def take(scales: Sequence[ScaleOfRound], of: Sequence[Piece]) -> WeightsToTake:
    return weights_to_take(scales, stock_of(of, STARTING), STARTING)


small_lots = st.lists(
    st.tuples(st.sampled_from(NOMINALS), st.sampled_from(("0.0003", "0.003", "0.02"))), min_size=1, max_size=8
).map(lambda held: [a_piece(f"P{n}", m, certificate=a_certificate(m, u)) for n, (m, u) in enumerate(held)])
some_loads = st.lists(st.sampled_from(("0.5", "1", "3", "5", "10", "15", "20", "30", "40")), min_size=1, max_size=4)


@settings(max_examples=60)
@given(small_lots, some_loads, st.sampled_from(("0.02", "0.1")))
def test_the_answer_equals_brute_force(of: list[Piece], targets: list[str], tolerance: str) -> None:
    scale = listed("A", *sorted(set(targets), key=Decimal), tolerance=tolerance)
    makeable = [load for load in scale.wanted if makes(of, load)]
    found = take([scale], of)
    assert found.proven
    assert (found.total_kg, len(found.pieces)) == best_by_brute_force(of, makeable)
    assert found.least_kg == found.total_kg
    assert [made.wanted for made in found.scales[0].series.made] == makeable


@pytest.mark.parametrize(
    ("targets", "total", "count"),
    [
        (("10", "20"), "20", 2),  # two of 10, where 20 + 10 would be 30
        (("20", "50"), "50", 3),  # 20 + 20 + 10
        (("5", "10", "50"), "55", 4),  # 20 + 20 + 10 + 5; with 10 + 10 + 20 + ... no 50 of less without a 5
        (("100",), "100", 5),
    ],
)
def test_rounds_worked_out_by_hand(targets: tuple[str, ...], total: str, count: int) -> None:
    found = take([listed("A", *targets)], a_lot("20", "20", "20", "20", "20", "10", "10", "5"))
    assert (found.total_kg, len(found.pieces)) == (kg(total), count)


def test_of_equal_lots_the_one_with_fewer_lifts_is_taken() -> None:
    # 30 kg in three pieces: 20 + 5 + 5 makes 10 of two and 30 of three; 10 + 10 + 10 makes them of one and three.
    found = take([listed("A", "10", "30")], a_lot("20", "10", "10", "10", "5", "5"))
    # 20 + 10 is lighter in pieces than either: two pieces, 10 and 30, four lifts.
    assert (found.total_kg, len(found.pieces), found.scales[0].series.lifts) == (kg("30"), 2, 4)
    without = take([listed("A", "10", "30")], a_lot("20", "5", "5", "10", "10", "10")[1:])
    assert list(without.pieces) == ["P03", "P04", "P05"]
    assert without.lifts == 6


def lifts_by_brute_force(lot: Sequence[Piece], scale: ScaleOfRound) -> int:
    """Fewest lifts of one ascending series out of a lot, over every way there is."""
    ways = [
        [frozenset(p.code for p in some) for n in range(1, len(lot) + 1) for some in combinations(lot, n)
         if makes(some, load) and _exactly(some, load)]
        for load in scale.wanted
    ]  # fmt: skip
    nothing: frozenset[str] = frozenset()
    return min(sum(len(a ^ b) for a, b in zip((nothing, *way), (*way, nothing), strict=True)) for way in product(*ways))


def _exactly(some: Sequence[Piece], load: WantedLoad) -> bool:
    low, high = load.window_kg
    bound = sum((bound_of(p) for p in some), Decimal(0))
    return low <= sum((p.nominal.kg for p in some), Decimal(0)) <= high and 3 * bound <= load.tolerance_kg


@settings(max_examples=25)
@given(st.lists(st.sampled_from(("10", "5", "5", "2", "1")), min_size=2, max_size=6), st.data())
def test_no_equal_lot_has_fewer_lifts(nominals: list[str], data: st.DataObject) -> None:
    of = a_lot(*nominals)
    able = [t for t in ("1", "2", "5", "6", "10", "15") if makes(of, WantedLoad(kg(t), kg("0.1")))]
    targets = data.draw(st.lists(st.sampled_from(able), min_size=1, max_size=3, unique=True)) if able else []
    if not targets:
        return
    scale = listed("A", *sorted(targets, key=Decimal))
    found = take([scale], of)
    equals = [
        lot for lot in combinations(of, len(found.pieces))
        if sum(p.nominal.kg for p in lot) == found.total_kg and all(makes(lot, load) for load in scale.wanted)
    ]  # fmt: skip
    assert found.lifts_proven
    assert found.lifts == min(lifts_by_brute_force(lot, scale) for lot in equals)


@settings(max_examples=40)
@given(small_lots, small_lots, some_loads)
def test_more_pieces_never_make_a_round_impossible(of: list[Piece], more: list[Piece], targets: list[str]) -> None:
    scale = listed("A", *sorted(set(targets), key=Decimal))
    with_more = [*of, *[replace(piece, code=f"M{n}") for n, piece in enumerate(more)]]
    few, many = take([scale], of), take([scale], with_more)
    able = {made.wanted for made in few.scales[0].series.made}
    assert able <= {made.wanted for made in many.scales[0].series.made}
    if able == {made.wanted for made in many.scales[0].series.made}:
        assert many.total_kg <= few.total_kg


@settings(max_examples=40)
@given(small_lots, some_loads, some_loads)
def test_every_load_is_made_of_pieces_that_were_taken(of: list[Piece], one: list[str], other: list[str]) -> None:
    nominal = {piece.code: piece.nominal.kg for piece in of}
    held = {piece.code: bound_of(piece) for piece in of}
    found = take([listed("A", *sorted(set(one), key=Decimal)), listed("B", *sorted(set(other), key=Decimal))], of)
    assert found.total_kg == sum((nominal[code] for code in found.pieces), Decimal(0))
    for served in found.scales:
        for made in served.series.made:
            low, high = made.wanted.window_kg
            assert set(made.pieces) <= set(found.pieces)
            assert len(set(made.pieces)) == len(made.pieces)
            assert sum((nominal[code] for code in made.pieces), Decimal(0)) == made.nominal_kg
            assert low <= made.nominal_kg <= high
            assert 3 * sum((held[code] for code in made.pieces), Decimal(0)) <= made.wanted.tolerance_kg


@settings(max_examples=30)
@given(small_lots, st.permutations([("A", "5", "10"), ("B", "20", "30"), ("C", "1", "40"), ("D", "0.5", "15")]))
def test_the_order_of_the_scales_changes_nothing(of: list[Piece], order: list[tuple[str, ...]]) -> None:
    asked = [listed(*one) for one in order]
    found, sorted_found = take(asked, of), take(sorted(asked, key=lambda s: s.facts.device), of)
    assert found.pieces == sorted_found.pieces
    assert sorted(found.scales, key=lambda s: s.scale.facts.device) == list(sorted_found.scales)


def test_pieces_over_the_limit_or_out_of_certificate_stay_behind() -> None:
    of = [*a_lot("20", "10", "10"), replace(a_piece("OLD", "10"), certificate=None)]
    found = weights_to_take([listed("A", "20")], stock_of(of, STARTING, kg("10"), certified=True), STARTING)
    assert found.pieces == ("P01", "P02")
    assert {left.piece: left.why for left in found.left_out} == {
        "P00": "over the lifting limit", "OLD": "no certificate in force that day",
    }  # fmt: skip


def test_where_the_pieces_end_the_round_says_how_far_it_proves_and_what_ballast_adds() -> None:
    of = a_lot(*["20"] * 8, "10", "5", "5", "2", "2", "1")
    stock = stock_of(of, STARTING)
    asked = [replace(facts(tag, "300", kind), pieces=tuple(of)) for tag, kind in (("A", "stand-on"), ("B", "bed"))]
    platform, bed = (scale_of_round(one, stock) for one in asked)
    found = weights_to_take([platform, bed], stock, STARTING)
    assert stock.kilograms(stock.total) == kg("185")
    assert found.total_kg == kg("185")  # all there is: what is not placed is not proven
    first, second = found.scales
    assert first.proven_kg == second.proven_kg == kg("185")
    assert [exchange.step.reaches_kg for exchange in first.ballast.exchanges] == [kg("300")]
    assert second.ballast.exchanges == ()  # nobody puts ballast where a person lies
    assert [load.wanted.target_kg for load in first.series.not_made] == [kg("200"), kg("300")]
    assert "all of them weigh 185 kg" in first.series.not_made[0].sentence


def test_the_heaviest_load_is_not_made_lighter_to_carry_less() -> None:
    # 196 kg would lie within 2 % of 200 kg: 4 kg less to carry, and a scale proven to 196 kg of 200 kg.
    stock = stock_of(a_lot(*["20"] * 10, "10", "5", "2", "2", "1"), STARTING)
    found = take([scale_of_round(facts("A", "200"), stock)], a_lot(*["20"] * 10, "10", "5", "2", "2", "1"))
    assert (found.total_kg, found.scales[0].proven_kg) == (kg("200"), kg("200"))


def test_a_heaviest_load_too_fine_for_the_nearest_sum_is_held_to_the_next() -> None:
    # 10 kg exactly only with a coarse piece; 10.1 kg of fine ones lies within 2 % as well.
    of = [
        a_piece("COARSE", "5", certificate=a_certificate("5", "0.04")), a_piece("A", "5"),
        a_piece("B", "5.1", certificate=a_certificate("5.1")),
    ]  # fmt: skip
    load = WantedLoad(kg("10"), kg("0.1"))
    held = list(held_to_most([load], stock_of(of, STARTING), STARTING))
    assert [one.within_kg for one in held] == [(kg("10.1"), kg("10.1"))]


PLANNED = [
    facts("A", "200"),
    facts("B", "250", "chair"),
    facts("C", "20", "infant"),
    facts("D", "300", "dialysis platform"),
]


@pytest.mark.parametrize("one", PLANNED, ids=lambda one: one.scale.kind)
def test_the_lot_makes_every_load_of_the_plan_corners_and_repeats_included(one: PlanFacts) -> None:
    of = a_lot(
        *["20"] * 14, *["10"] * 2, "5", "5", "2", "2", "1", "1", "0.5", "0.2", "0.2", "0.1", expanded=("0.00001",)
    )
    found = take([scale_of_round(one, stock_of(of, STARTING))], of)
    taken = tuple(piece for piece in of if piece.code in found.pieces)
    plan = plan_of(replace(one, pieces=taken))
    assert found.scales[0].whole
    assert found.scales[0].others
    assert [step for step in plan.steps if step.cannot] == []


# OIML R 76-1:2006 3.7.3, from memory, for Max 300 kg: 150 kg are one half, 101 kg a third, 60 kg a fifth.
def test_where_r76_allows_no_ballast_none_is_advised() -> None:
    """OIML R 76-1:2006 3.7.3, from memory: real weights make one fifth of Max at least; 60 of 300 kg."""
    rules = {"as_found": scheme("r76", "in-service"), "as_left": scheme("r76", "initial")}
    few, enough = a_lot("20", "20", "10"), a_lot("20", "20", "20")
    with_few, with_enough = (replace(facts("A", "300"), **rules, pieces=tuple(lot)) for lot in (few, enough))
    assert take([scale_of_round(with_few, stock_of(few, STARTING))], few).scales[0].ballast.exchanges == ()
    assert take([scale_of_round(with_enough, stock_of(enough, STARTING))], enough).scales[0].ballast.exchanges


def test_other_loads_that_cannot_be_made_are_told() -> None:
    # The corners of a 200 kg scale ask for 60 to 70 kg (HB 44 N.1.3): two pieces of 50 kg make none of it.
    of = a_lot("50", "50")
    served = take([scale_of_round(facts("A", "200"), stock_of(of, STARTING))], of).scales[0]
    assert kg("66") in {load.wanted.target_kg for load in served.others_not_made}
    assert not served.whole


def test_fine_pieces_stay_at_home_where_coarse_ones_do_as_well() -> None:
    of = a_lot("20", "20", "20", expanded=("0.0001", "0.003", "0.01"))
    assert take([listed("A", "20")], of).pieces == ("P02",)
    assert take([listed("A", "20", tolerance="0.02")], of).pieces == ("P01",)
    assert take([listed("A", "20", tolerance="0.001")], of).pieces == ("P00",)
    assert take([listed("A", "20", "40", tolerance="0.02")], of).pieces == ("P00", "P01")


def test_one_nominal_mass_may_be_coarse_where_another_must_be_fine() -> None:
    of = a_lot("20", "20", "1", "1", expanded=("0.0001", "0.01"))
    coarse, fine = listed("A", "20"), listed("B", "1", tolerance="0.001")
    assert set(take([coarse, fine], of).pieces) == {"P01", "P02"}


def test_a_bed_whose_dead_load_leaves_nothing_is_told_and_stops_no_other() -> None:
    stock = stock_of(a_lot("20", "20", "10", "5", "2", "1"), STARTING)
    none = scale_of_round(facts("B", "200", "bed", safe_working_load_kg=kg("10")), stock)
    found = weights_to_take([none, listed("A", "20")], stock, STARTING)
    assert none.cannot is not None
    assert "safe working load" in none.cannot
    assert found.total_kg == kg("20")
    assert [served.whole for served in found.scales] == [False, True]


def test_no_scale_and_no_piece_take_nothing() -> None:
    assert take([], a_lot("20")).pieces == ()
    nothing = take([listed("A", "20")], [])
    assert nothing.pieces == ()
    assert len(nothing.scales[0].series.not_made) == 1


def test_a_need_within_another_is_not_asked_twice() -> None:
    wide, narrow, finer = (
        Need(low, 100, high, limit, kg("100")) for low, high, limit in ((98, 102, 9), (99, 101, 9), (98, 102, 3))
    )
    assert [(n.low, n.high, n.limit) for n in hardest([wide, narrow, wide])] == [(99, 101, 9)]
    assert len(hardest([wide, narrow, finer])) == 2


def a_hard_round() -> tuple[Stock, list[Need]]:
    """Forty pieces of as many masses, and every third of their sums from 3 kg up: too many lots to look at all."""
    stock = stock_of(a_lot(*[f"{n}.{n % 7}" for n in range(1, 41)], expanded=("0.0001", "0.0002")), STARTING)
    targets = (3, 7, 11, 19, 31, 47, 67, 101, 151, 211, 307, 401, 503, 601)
    loads = [WantedLoad(Decimal(t), kg("10"), never_above=True) for t in targets]
    return stock, [need_of(load, stock, STARTING) for load in loads if isinstance(_made(load, stock), LoadMade)]


def _made(load: WantedLoad, stock: Stock) -> LoadMade | NotMade:
    return made_or_not(load, stock, STARTING)


@pytest.mark.parametrize("looks", [1, 200, 2000, 120_000])
def test_a_search_that_ends_early_states_what_no_lot_can_be_below_and_ends_the_same_again(
    looks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(round_search, "MOST_LOOKS", looks)
    stock, needs = a_hard_round()
    assert len(needs) > EXACT_LOADS
    found = fewest_to_take(needs, stock)
    assert found == fewest_to_take(needs[::-1], stock)
    assert not found.proven
    assert max(need.low for need in needs) <= found.least <= LIGHTEST_KNOWN <= found.mass


@pytest.mark.parametrize("looks", [1, 500, 5_000])
def test_a_small_round_that_ends_early_states_what_no_lot_can_be_below(
    looks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """18 masses from 9 kg in steps of 0.1 kg; a choice that was found makes every load, by the sums of all its pieces."""
    stock = stock_of(a_lot(*[f"{9 + n / 10:.1f}" for n in range(18)], expanded=("0.0001",)), STARTING)
    loads = [WantedLoad(kg(t), kg("10"), never_above=True) for t in ("9.3", "19.7", "41", "72")]
    needs = [need_of(load, stock, STARTING) for load in loads]
    whole = fewest_to_take(needs, stock)

    monkeypatch.setattr(round_search, "MOST_LOOKS_FOR_EXACT", looks)
    cut = fewest_to_take(needs, stock)

    assert whole.proven
    assert (cut.proven, cut.all_equals) == (False, False)
    assert needs[-1].low <= cut.least <= whole.mass <= cut.mass
    assert all(makes_exactly(choice, need, stock) for choice in cut.choices for need in needs)


def makes_exactly(counts: Sequence[int], need: Need, stock: Stock) -> bool:
    """Whether some of a choice's pieces add up to a need."""
    return any(need.low <= s <= need.high for s in sums_of_a_lot(list(zip(counts, stock.masses, strict=True))))


# 601 kg never above, 2 % below: 588.98 kg, of pieces in whole hectograms 589.0, which the search reaches.
LIGHTEST_KNOWN = 5890


def sums_of_a_lot(lot: Sequence[tuple[int, int]]) -> set[int]:
    """Every sum of a lot given as pairs of count and mass, one piece after the other."""
    sums = {0}
    for count, mass in lot:
        sums = {s + n * mass for s in sums for n in range(count + 1)}
    return sums


def test_twenty_four_pieces_and_twelve_loads_are_exact_against_every_lot() -> None:
    held = ((5, 20), (4, 10), (5, 5), (5, 2), (5, 1))
    targets = (1, 3, 8, 13, 17, 24, 33, 42, 51, 77, 90, 104)
    windows = [(-(-98 * t // 100), 102 * t // 100) for t in targets]
    best = min(
        (sum(n * mass for n, (_, mass) in zip(lot, held, strict=True)), sum(lot))
        for lot in product(*[range(count + 1) for count, _ in held])
        if sum(n * mass for n, (_, mass) in zip(lot, held, strict=True)) >= windows[-1][0]
        and _makes_all(sums_of_a_lot([(n, mass) for n, (_, mass) in zip(lot, held, strict=True)]), windows)
    )

    of = a_lot(*[str(mass) for count, mass in held for _ in range(count)], expanded=("0.000001",))
    found = take([listed("A", *map(str, targets), tolerance="0.5")], of)

    assert (len(of), len(targets), found.proven) == (24, 12, True)
    assert (found.total_kg, len(found.pieces)) == best


def _makes_all(sums: set[int], windows: Sequence[tuple[int, int]]) -> bool:
    return all(any(low <= s <= high for s in sums) for low, high in windows)
