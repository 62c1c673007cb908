"""The one place where a float leaves as decimal text: two significant digits, half to even.

GUM (JCGM 100:2008) 7.2.6 asks for at most two significant digits of an uncertainty; half-even is a house rule
(`decision` compares with exactly what is printed, so the choice is printed too).
"""

from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Context, Decimal

ROUNDING = Context(prec=40, rounding=ROUND_HALF_EVEN)
UPWARD = Context(prec=40, rounding=ROUND_CEILING)


def printed_uncertainty(value: float, digits: int = 2) -> Decimal:
    """Return an uncertainty as it is printed: that many significant digits, half to even, trailing zeros kept.

    >>> printed_uncertainty(0.0996)
    Decimal('0.10')
    >>> printed_uncertainty(193.986764)
    Decimal('190')
    >>> printed_uncertainty(0.0)
    Decimal('0')
    """
    exact = Decimal(repr(value))
    if not exact:
        return Decimal(0)
    return _significant(exact, digits, ROUNDING)


def _significant(exact: Decimal, digits: int, context: Context) -> Decimal:
    rounded = exact.quantize(Decimal(1).scaleb(exact.adjusted() - digits + 1), context=context)
    if rounded.adjusted() != exact.adjusted():
        # 0.0996 becomes 0.100 at three places: one carry, so one place fewer (0.10).
        rounded = rounded.quantize(Decimal(1).scaleb(rounded.adjusted() - digits + 1), context=context)
    # 1.9E+2 is written 190
    return rounded if rounded.adjusted() < digits else Decimal(f"{rounded:f}")


def printed_least(value: float, digits: int = 3) -> Decimal:
    """Return a least value as it is printed: that many significant digits, rounded up, so that it stays enough.

    >>> printed_least(0.8163265), printed_least(99.91)
    (Decimal('0.817'), Decimal('100'))
    """
    exact = Decimal(repr(value))
    if not exact:
        return Decimal(0)
    return _significant(exact, digits, UPWARD)


def printed_probability(value: float) -> str:
    """Return a probability as it is printed: four decimals, never a 1 or 0 that the value does not reach.

    >>> printed_probability(0.99999)
    '>0.9999'
    >>> printed_probability(0.9772499)
    '0.9772'
    """
    if 0.9999 < value < 1:
        return ">0.9999"
    if 0 < value < 0.0001:
        return "<0.0001"
    return f"{value:.4f}"


def rounded_like(value: float, printed: Decimal) -> Decimal:
    """Return a float with as many decimals as an uncertainty printed beside it, half to even (GUM 7.2.6).

    >>> rounded_like(-0.04449, Decimal("0.10"))
    Decimal('-0.04')
    >>> rounded_like(-0.001, Decimal("0.10"))
    Decimal('0.00')
    """
    places = Decimal(1).scaleb(min(int(printed.as_tuple().exponent), 0))
    return Decimal(repr(value)).quantize(places, context=ROUNDING) + Decimal(0)


def on_the_wire(value: Decimal) -> Decimal:
    """Return a printed number with at most nine decimals, which is what the wire carries: a microgram's thousandth.

    >>> on_the_wire(Decimal("0.00000012345")), on_the_wire(Decimal("0.20"))
    (Decimal('1.23E-7'), Decimal('0.20'))
    """
    exponent = value.as_tuple().exponent
    return value if isinstance(exponent, int) and exponent >= -9 else value.quantize(Decimal("1E-9"), context=ROUNDING)
