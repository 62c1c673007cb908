"""Escaping and the writing of numbers, masses and dates.

The reference for escaping is Python's own `html` module and its HTML parser; for dates and signs, the sentences of the
design (true minus sign U+2212, narrow no-break space U+202F between thousands: ISO 80000-1:2022 7.3.1, from memory).
"""

import doctest
import html
from html.parser import HTMLParser

import pytest

import site_builder.markup
import site_builder.text
from site_builder.markup import join, tag
from site_builder.text import (
    as_printed,
    as_shown,
    clock,
    day,
    escaped,
    in_unit,
    kilograms,
    moment,
    number,
    places_of,
    three_digits,
)

HOSTILE = (
    "<script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "</p></main><style>*{display:none}</style>",
    "&lt;b&gt; & &#60;b&#62;",
    "<!-- <svg/onload=alert(1)>",
    "' style='color:red' x='",
    ']]><a href="javascript:alert(1)">',
)


class Elements(HTMLParser):
    """Collects the elements, attributes and text that a parser makes of a piece of HTML."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def parsed(text: str) -> Elements:
    elements = Elements()
    elements.feed(text)
    elements.close()
    return elements


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_text_in_an_element_and_in_an_attribute(text: str) -> None:
    written = tag("p", text, title=text)

    found = parsed(written)

    assert found.elements == [("p", {"title": text})]
    assert found.text == text


@pytest.mark.parametrize("text", [*HOSTILE, "plain", "5 < 6 & 7 > 6", "Ünïcödé … 体重"])
def test_escaped_text_unescapes_to_itself(text: str) -> None:
    assert html.unescape(escaped(text)) == text


@pytest.mark.parametrize(
    ("text", "written"),
    [("a\u202eb", "a[U+202E]b"), ("a\x00b", "a[U+0000]b"), ("a\u2066b", "a[U+2066]b"),
     ("\ud800", "[U+D800]"), ("\x9b", "[U+009B]")],
)  # fmt: skip
def test_what_cannot_be_seen_or_turns_the_writing_is_written_out(text: str, written: str) -> None:
    assert escaped(text) == written


def test_markup_in_markup_is_not_escaped_twice() -> None:
    inner = tag("b", "5 & 6")

    assert tag("p", inner, " < 7") == "<p><b>5 &amp; 6</b> &lt; 7</p>"
    assert join([inner, None, "&"]) == "<b>5 &amp; 6</b>&amp;"


@pytest.mark.parametrize(
    ("value", "written"),
    [("-0.10", "\u22120.10"), ("10.10", "10.10"), ("4812", "4\u202f812"),
     ("1234567.5", "1\u202f234\u202f567.5"), ("0", "0"), ("-0.0", "0.0")],
)  # fmt: skip
def test_a_number_keeps_every_digit_and_gets_a_true_minus(value: str, written: str) -> None:
    assert number(value) == written


def test_a_plus_stands_only_above_zero() -> None:
    assert [number(value, signed=True) for value in ("0.1", "0", "-0.1")] == ["+0.1", "0", "\u22120.1"]


def test_places_add_zeros_and_take_none_away() -> None:
    assert number("0.1", places=3) == "0.100"
    assert number("0.1234", places=2) == "0.1234"
    assert places_of(["0.10", "2", "0.0040"]) == 3


def test_kilograms_become_grams_exactly() -> None:
    assert str(in_unit("0.00002", "g")) == "0.02"
    assert kilograms("2.2", "g") == "2\u202f200\u00a0g"
    assert str(in_unit("200.0", "kg")) == "200"


def test_a_printed_uncertainty_keeps_its_last_zero_in_every_unit() -> None:
    assert as_printed("0.20", "kg") == "0.20"
    assert as_printed("0.00020", "g") == "0.20"
    assert as_printed("1.3", "g") == "1\u202f300"


def test_a_display_is_written_as_it_was_shown() -> None:
    shown = {"parts": [{"value": "7", "unit": "[lb_av]"}, {"value": "4.50", "unit": "[oz_av]"}]}

    assert as_shown({"value": "10.10", "unit": "kg"}) == "10.10\u00a0kg"
    assert as_shown(shown) == "7\u00a0lb\u00a04.50\u00a0oz"


def test_a_standard_uncertainty_is_read_with_three_digits() -> None:
    assert three_digits(0.0288675) == "0.0289"
    assert three_digits(0.0288675, "g") == "28.9"
    assert three_digits(0.0) == "0"


def test_days_and_moments_are_said_in_words_with_their_offset() -> None:
    assert day("2026-10-14") == "14 October 2026"
    assert moment("2026-10-14T09:05:00-04:00") == "14 October 2026, 09:05 UTC\u221204:00"
    assert clock("2026-10-14T13:05:00+00:00") == "13:05 UTC"


def test_the_examples_in_the_docstrings_hold() -> None:
    results = [doctest.testmod(module) for module in (site_builder.text, site_builder.markup)]

    assert [result.failed for result in results] == [0, 0]
    assert sum(result.attempted for result in results) == 3
