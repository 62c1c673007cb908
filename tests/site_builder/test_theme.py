"""The stylesheet's tokens: every text colour reads at 4.5:1 on every ground it stands on, light, dark and printed.

The formula is WCAG 2.1 "contrast ratio" and "relative luminance" (W3C, success criterion 1.4.3, level AA).
"""

import re
from pathlib import Path

import pytest

import site_builder

CSS = (Path(site_builder.__file__).parent / "theme" / "css" / "steelyard.css").read_text(encoding="utf-8")
TEXTS = ("ink", "soft", "steel", "brass", "oxide", "ash")
GROUNDS = ("paper", "sheet")
# An answer on use and the list of scales to use instead stand on these.
WASHES = ("steel-wash", "brass-wash", "oxide-wash", "ash-wash")


def tokens() -> dict[str, dict[str, str]]:
    """Return the colour tokens of each scheme; dark and print change those of light."""
    blocks = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
    light, dark, printed = (dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})", block)) for block in blocks)
    return {"light": light, "dark": light | dark, "print": light | printed}


def luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(c * 2 for c in colour[1:])
    channels = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_what_the_standard_says_for_black_on_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
@pytest.mark.parametrize("text", TEXTS)
def test_every_text_colour_reads_on_every_ground(scheme: str, text: str) -> None:
    found = tokens()[scheme]

    ratios = {ground: contrast(found[text], found[ground]) for ground in (*GROUNDS, *WASHES)}

    assert {ground: ratio for ground, ratio in ratios.items() if ratio < 4.5} == {}


def test_colours_are_named_once_and_used_by_name() -> None:
    rules = re.sub(r":root \{.*?\}", "", CSS, flags=re.DOTALL)

    assert re.findall(r"#[0-9a-fA-F]{3,6}\b", rules) == []


def test_each_meaning_has_a_shape_of_its_own_beside_its_colour() -> None:
    from site_builder.beam import use_word, verdict

    shapes = {word: re.sub(r"</?span[^>]*>", "", verdict(word)).replace(word, "") for word in
              ("pass", "conditional pass", "conditional fail", "fail", "undecided")}  # fmt: skip
    uses = {word: use_word(word).split(">", 1)[1].replace(word, "") for word in
            ("may use", "may use within limits", "do not use", "not proven")}  # fmt: skip

    assert len(set(shapes.values())) == 5
    assert len(set(uses.values())) == 4
