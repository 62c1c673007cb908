"""Which pieces of a lot may be coarser: fine pieces are dear, and stay at home where coarse ones do as well.

A search works with the finest pieces of each nominal mass, because nothing is lost that way. What it found is counts; here
each nominal mass moves to the coarsest pieces with which every load still keeps its share of the tolerance.
"""

from collections.abc import Iterable, Sequence

from api.metrology.piece_search import Need, can_be_made
from api.metrology.stock import Counts, Stock


def coarsest_lot(counts: Counts, needs: Iterable[Need], stock: Stock) -> Stock:
    """Return so many pieces of each nominal mass as a stock of their own, as coarse as every need allows.

    All of them the coarsest, where that serves; else one nominal mass after the other, the heaviest first, as far down the
    order of fineness as serves. A step down never makes a need possible, so that the last that serves is found by halving.
    """
    asked = tuple(dict.fromkeys(needs))
    most = tuple(held - count for held, count in zip(stock.counts, counts, strict=True))
    if _serves(stock.part(counts, most), asked):
        return stock.part(counts, most)
    firsts = [0] * len(counts)
    for place, count in enumerate(counts):
        if count:
            firsts[place] = _last_that_serves(place, most[place], firsts, counts, asked, stock)
    return stock.part(counts, firsts)


def _last_that_serves(
    place: int, most: int, firsts: Sequence[int], counts: Counts, needs: Sequence[Need], stock: Stock
) -> int:
    low, high = 0, most
    while low < high:
        middle = (low + high + 1) // 2
        if _serves(stock.part(counts, [*firsts[:place], middle, *firsts[place + 1 :]]), needs):
            low = middle
        else:
            high = middle - 1
    return low


def _serves(part: Stock, needs: Iterable[Need]) -> bool:
    return all(can_be_made(need, part)[0] is not None for need in needs)
