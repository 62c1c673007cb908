"""Tare: a net load against the tolerance of the net load, as long as scale and tare device can carry both.

Tolerances apply from tare zero: NIST HB 44 section 2.20 T.N.2.1 and OIML R 76-1:2006 3.5.3.3, from memory (high
confidence). In a multi-interval scale the interval follows the net load (R 76-1 3.3, from memory). A tare value entered
by hand is excluded: nothing was weighed (R 76-1 3.5.3.3, from memory).
"""

from decimal import Decimal

from api.metrology.judgement import Flag, flag_of
from api.metrology.readings import Reading
from api.metrology.refusals import OverCapacity, Refusal
from api.metrology.scale import Scale, capacity_in


def tare_reasons(reading: Reading, net_kg: Decimal, scale: Scale) -> list[Flag]:
    """Return why a net reading cannot be judged: no tare named, entered by hand, or together above Max."""
    if reading.tare is None:
        return [Flag("no-tare-named", "The tare that was balanced out is not named.")] if reading.test == "tare" else []
    if reading.tare_entered:
        said = f"The tare of {reading.tare.shown} was entered by hand; tolerances do not apply to net values with it."
        return [Flag("tare-entered", said, {"tare": reading.tare.shown})]
    try:
        top = capacity_in(scale, reading.indication.unit).max_kg + scale.additive_tare_kg
    except Refusal as refusal:
        return [flag_of(refusal)]
    gross = net_kg + reading.tare.kg
    if gross <= top:
        return []
    said = f"Tare and net load together are {gross:f} kg, above the capacity of {top:f} kg."
    return [Flag(OverCapacity.code, said, {"load": f"{gross:f} kg", "capacity": f"{top:f} kg"})]
