"""The cautions as they stand on published pages, each under its number, with what this scale or ward adds to the words.

The texts are the record's; the pages choose the place. They defer to law, local code and licensed practice.
"""

from typing import Any

from api.records.cautions import CAUTIONS
from site_builder.markup import Child, Html, tag
from site_builder.text import capital, clock, day, kilograms

_SCHEMES = {"hb44": "NIST Handbook 44", "r76": "OIML R 76-1", "house": "house rule"}


def caution(code: str, *before: Child, text: str | None = None) -> Html:
    """Return a caution: quiet, always there, with its number to be cited by, and what comes before its text."""
    return tag("p", tag("span", code, class_="code"), " ", before, text or CAUTIONS[code], class_="caution")


def scheme_words(phase: dict[str, Any]) -> str:
    """Return the scheme of a judgement in words: `NIST Handbook 44, edition 2026, maintenance tolerance`."""
    scheme = phase["scheme"]
    if scheme["name"] == "house":
        return f"house rule {scheme.get('house_rule') or scheme['edition']}"
    return f"{_SCHEMES[scheme['name']]}, edition {scheme['edition']}, {scheme['stage']} tolerance"


def below_capacity(to_kg: str, capacity_kg: str, unit: str) -> Html:
    """Return C-06 with the loads: tested to so much of so much."""
    said = f"Proven to {kilograms(to_kg, unit)} of {kilograms(capacity_kg, unit)}. Do not rely on it above."
    return tag("p", tag("span", "C-06", class_="code"), " ", tag("strong", said), class_="caution")


def failed(role: str, call_number: str) -> Html:
    """Return C-17 with the person to tell."""
    return caution("C-17", text=f"{CAUTIONS['C-17'].rstrip('.')}: {role}, {call_number}.")


def bed_zeroed(zeroed_at: str | None, with_what: str | None, informed: dict[str, Any] | None) -> Html:
    """Return C-19 with when the bed was zeroed, with what on it, and who was told; `Tell` where nobody was."""
    when = f"on {day(zeroed_at)} at {clock(zeroed_at)}" if zeroed_at else "during the last visit"
    load = f" with {with_what}" if with_what else ""
    told = (
        f"{capital(informed['role'])} was told on {day(informed['at'])} at {clock(informed['at'])}."
        if informed
        else "Tell the nurse in charge."
    )
    text = f"The bed was zeroed {when}{load}: weights before and after are not comparable. {told}"
    return caution("C-19", text=text)
