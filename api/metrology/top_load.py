"""The heaviest load of a plan: Max, or what the scale is really used for and a tenth more, and never what is not safe."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from api.metrology.mass import EXACT
from api.metrology.refusals import OverCapacity
from api.metrology.scale import Scale, capacity_in

# The normal working range and 5 to 10 % more: a published code of practice of the UK weighing trade, read second hand.
BEYOND_USE: Final = Decimal("1.1")


@dataclass(frozen=True, slots=True)
class TopLoad:
    """The top load in kg and why, with its source; `limit_kg` is what may never be exceeded: Max or the safe load."""

    kg: Decimal
    words: str
    source: str
    limit_kg: Decimal


def top_load(
    scale: Scale,
    unit: str,
    heaviest_used_kg: Decimal | None = None,
    safe_working_load_kg: Decimal | None = None,
    dead_load_kg: Decimal = Decimal(0),
) -> TopLoad:
    """Return the top load in kilograms: the least of Max, the safe working load less the dead load, and 1.1 x the use.

    The use is rounded up to two digits. Max counts in whichever displayed unit it is least, since a load does not know which
    unit is shown. Refuses a dead load that leaves nothing of the safe working load (`OverCapacity`).
    """
    max_kg = min(capacity_in(scale, shown).max_kg for shown in scale.by_unit)
    limit, words, source = max_kg, "Max", "scale's plate"
    if safe_working_load_kg is not None:
        safe = EXACT.subtract(safe_working_load_kg, dead_load_kg)
        if safe <= 0:
            raise OverCapacity(
                f"The dead load of {dead_load_kg:f} kg takes up the whole safe working load of "
                f"{safe_working_load_kg:f} kg: nothing more may be placed.",
                load=f"{dead_load_kg:f} kg",
                capacity=f"{safe_working_load_kg:f} kg",
            )
        if safe < limit:
            limit, words = safe, _safe_words(safe_working_load_kg, dead_load_kg)
    if heaviest_used_kg and (used := _beyond_use(heaviest_used_kg)) < limit:
        words = f"1.1 x {heaviest_used_kg:f} kg, the heaviest load used, rounded up"
        return TopLoad(used, words, "published code of practice of the weighing trade, second hand", limit)
    return TopLoad(limit, words, source, limit)


def _safe_words(safe_working_load_kg: Decimal, dead_load_kg: Decimal) -> str:
    less = f" less {dead_load_kg:f} kg of mattress, accessories and board" if dead_load_kg else ""
    return f"safe working load of {safe_working_load_kg:f} kg{less}"


def _beyond_use(used_kg: Decimal) -> Decimal:
    """A tenth more than the heaviest load used, up to the next whole step of its second digit: 209 becomes 210."""
    beyond = EXACT.multiply(used_kg, BEYOND_USE)
    step = Decimal(1).scaleb(beyond.adjusted() - 1)
    whole, rest = EXACT.divmod(beyond, step)
    return EXACT.multiply(whole + bool(rest), step)
