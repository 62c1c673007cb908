"""How dense a piece is, and how well that is known: as its register entry says, or as a table assumes for its material."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

# OIML R 111-1:2004 Table B.7, from memory (medium confidence): assumed density and its expanded uncertainty, k = 2, in
# kg/m3. Carbon steel and white cast iron share 7700; the wider of the two stands here.
ASSUMED: Final = {
    Decimal(density): Decimal(expanded)
    for density, expanded in (
        (21_400, 150),  # platinum
        (8600, 170),  # nickel silver
        (8400, 170),  # brass
        (7950, 140),  # stainless steel
        (7800, 200),  # iron
        (7700, 400),  # carbon steel 200, white cast iron 400
        (7100, 600),  # grey cast iron
        (2700, 130),  # aluminium
    )
}


@dataclass(frozen=True, slots=True)
class Density:
    """A density and its expanded uncertainty, k = 2, in kg/m3, and where the uncertainty comes from."""

    kg_m3: Decimal
    expanded_kg_m3: Decimal
    source: str


def density_of(stated: Decimal | None, expanded: Decimal | None) -> Density | None:
    """Return a density that is known with its uncertainty, or None: a value alone, of no table, says too little.

    A density that stands in the table of assumed ones is taken as assumed, with the table's uncertainty.

    >>> density_of(Decimal(7950), None).expanded_kg_m3
    Decimal('140')
    >>> density_of(Decimal(7963), None) is None
    True
    """
    if stated is None:
        return None
    if expanded is not None:
        return Density(stated, expanded, "stated on the register, k = 2")
    assumed = ASSUMED.get(stated)
    return None if assumed is None else Density(stated, assumed, "assumed: OIML R 111-1:2004 Table B.7, from memory")
