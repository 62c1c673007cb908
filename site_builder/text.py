"""How words, numbers and dates are written on a page, and the one function that makes typed text harmless.

Everything typed in the field passes `escaped` before it stands in a page. Numbers keep every digit they came with;
nothing here rounds a Decimal. Rounding of an uncertainty for reading is `three_digits`, and says so by its name.
"""

import re
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

THIN: Final = "\u202f"  # narrow no-break space: between groups of three digits
UNIT_SPACE: Final = "\u00a0"  # no-break space: between a number and its unit
MINUS: Final = "\u2212"
_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_FACTOR: Final = {"kg": Decimal(1), "g": Decimal(1000), "mg": Decimal(1_000_000)}
_PLACES: Final = {"kg": 0, "g": 3, "mg": 6}
_UNIT_WORDS: Final = {"[lb_av]": "lb", "[oz_av]": "oz", "[stone_av]": "st", "kg/m3": "kg/m³", "m3": "m³"}

# A hyphen before a figure, and not after a letter or a figure as in the number of a document.
_SIGN: Final = re.compile(r"(?<![\w.-])-(?=\d)")
_DAY: Final = re.compile(r"\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b", re.ASCII)
_MARKUP: Final = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}


def _unprintable() -> Iterable[int]:
    """Control characters, the marks that turn the direction of writing, lone surrogates: never meant, never harmless."""
    yield from (n for n in range(0x20) if n not in (0x09, 0x0A, 0x0D))
    yield from range(0x7F, 0xA0)
    yield from (0x061C, 0x200E, 0x200F, 0xFEFF, 0xFFFE, 0xFFFF)
    yield from range(0x202A, 0x202F)
    yield from range(0x2066, 0x206A)
    yield from range(0xD800, 0xE000)


_HARMLESS: Final = str.maketrans(_MARKUP | {chr(n): f"[U+{n:04X}]" for n in _unprintable()})


def escaped(text: str) -> str:
    """Return a text as it may stand in a page, inside an element or an attribute in double quotes.

    Markup loses its force; characters that cannot be seen, or that turn the direction of what follows, are written out.

    >>> escaped('<b>"5 & 6"</b>')
    '&lt;b&gt;&quot;5 &amp; 6&quot;&lt;/b&gt;'
    """
    return text.translate(_HARMLESS)


def number(value: str | Decimal | int, places: int | None = None, signed: bool = False) -> str:
    """Return a number with a true minus sign and thin spaces between thousands, every digit kept.

    `places` adds zeros up to that many decimals and never takes any away; `signed` writes a plus where it is above zero.
    """
    plain = value if isinstance(value, Decimal) else Decimal(value)
    whole, _, fraction = f"{plain.copy_abs():f}".partition(".")
    fraction = fraction.ljust(places or 0, "0")
    sign = MINUS if plain < 0 else "+" if signed and plain > 0 else ""
    return sign + _grouped(whole) + (f".{fraction}" if fraction else "")


def _grouped(digits: str) -> str:
    return f"{int(digits):,}".replace(",", THIN)


def places_of(values: Iterable[str | Decimal]) -> int:
    """Return how many decimals the longest of several numbers has, trailing zeros not counted."""
    exponents = [Decimal(value).normalize().as_tuple().exponent for value in values]
    return max((-e for e in exponents if isinstance(e, int)), default=0) if exponents else 0


def in_unit(kilograms: str | Decimal, unit: str) -> Decimal:
    """Return a mass given in kilograms in the unit a page is written in, exactly, without trailing zeros."""
    value = Decimal(kilograms) * _FACTOR[unit]
    return value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()


def as_printed(kilograms_: str, unit: str) -> str:
    """Return a mass given in kilograms in the unit of a page with the digits it was printed with: U 0.20 stays 0.20."""
    return number(Decimal(kilograms_).scaleb(_PLACES[unit]))


def kilograms(value: str | Decimal, unit: str = "kg", places: int | None = None, signed: bool = False) -> str:
    """Return a mass given in kilograms as a number with its unit, in the unit a page is written in."""
    return f"{number(in_unit(value, unit), places, signed)}{UNIT_SPACE}{unit}"


def three_digits(kilograms_: float, unit: str = "kg") -> str:
    """Return a standard uncertainty for reading: three significant digits. The full value stays in the record."""
    value = kilograms_ * float(_FACTOR[unit])
    if value == 0:
        return "0"
    return number(f"{Decimal(f'{value:.3g}'):f}")


def as_shown(mass: dict[str, Any]) -> str:
    """Return a mass as the display showed it or as it was stated, every digit kept: `10.10 kg`, `7 lb 4.5 oz`."""
    parts = mass.get("parts") or [mass]
    return UNIT_SPACE.join(f"{number(p['value'])}{UNIT_SPACE}{unit_word(p['unit'])}" for p in parts)


def unit_word(code: str) -> str:
    """Return a unit as people read it: `lb` for the code `[lb_av]`."""
    return _UNIT_WORDS.get(code, code)


def day(text: str) -> str:
    """Return a date, or the date of a moment, as it is said: `14 October 2026`."""
    when = date.fromisoformat(text[:10])
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"


def with_days(sentence: str) -> str:
    """Return a sentence with every date in it said in words."""
    return _DAY.sub(lambda found: day(found[0]), sentence)


def month(text: str) -> str:
    """Return the month of a date: `October 2026`."""
    return f"{_MONTHS[int(text[5:7]) - 1]} {text[:4]}"


def clock(text: str) -> str:
    """Return the time of day of a moment with its offset from UTC: `09:30 UTC-05:00`, the minus a true one."""
    when = datetime.fromisoformat(text)
    offset = when.strftime("%z")
    if offset in ("", "+0000"):
        return f"{when:%H:%M} UTC"
    return f"{when:%H:%M} UTC{offset[0].replace('-', MINUS)}{offset[1:3]}:{offset[3:5]}"


def moment(text: str) -> str:
    """Return a moment as it is said, with its offset: `14 October 2026, 09:30 UTC`."""
    return f"{day(text)}, {clock(text)}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """Return words as a list in a sentence: `a, b and c`."""
    all_words = list(words)
    if len(all_words) < 2:
        return "".join(all_words)
    return f"{', '.join(all_words[:-1])} {last} {all_words[-1]}"


def counted(count: int, one: str, many: str | None = None) -> str:
    """Return a count with its noun: `1 scale`, `4 scales`."""
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def capital(sentence: str) -> str:
    """Return a sentence with its first letter capital."""
    return sentence[:1].upper() + sentence[1:]


def told(sentence: str) -> str:
    """Return a sentence of the service as a page tells it: its first letter capital, every minus a true one.

    >>> told("at 0.5 kg: -0.2 kg, OIML R 76-1") == "At 0.5 kg: \u22120.2 kg, OIML R 76-1"
    True
    """
    return _SIGN.sub(MINUS, capital(sentence))
