"""A label as a drawing: what was typed stays text, and fits."""

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import get_args
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.exchange.label_svg import HEIGHT_MM, WIDTH_MM, label_svg
from api.metrology.mass import mass
from api.metrology.visit_label import LabelSays
from api.records.label import LabelRead, OldLabel

SVG = "{http://www.w3.org/2000/svg}"
NOON = datetime(2026, 11, 24, 12, tzinfo=UTC)
LABEL = LabelRead(
    "M2M0-1MJN-YYPC", "QG", "A-04", "0193f0aa-0000-7000-8000-000000000002", "calibrated", date(2026, 11, 24), "T-01", NOON,
    OldLabel("removed"), "d/a-04/", True, (), (), (), NOON, "APP-07", 1, "sha256:0", date(2027, 11, 24),
)  # fmt: skip


def texts(label: LabelRead) -> list[str | None]:
    return [element.text for element in ElementTree.fromstring(label_svg(label)).iter(f"{SVG}text")]


def test_a_label_says_the_scale_the_day_by_whom_until_when_and_where_its_page_is() -> None:
    assert texts(LABEL) == [
        "Calibrated", "A-04", "Tested 24 Nov 2026 by T-01", "Due 24 Nov 2027",
        "Not if it was moved, dropped or repaired since.", "M2M0-1MJN-YYPC  d/a-04/",
    ]  # fmt: skip


def test_a_limit_stands_first_and_a_label_without_a_date_promises_none() -> None:
    said = texts(replace(LABEL, says="use within limits", up_to=mass("150", "kg"), due=None))

    assert said[0] == "Use up to 150 kg only"
    assert not any("Due" in (text or "") for text in said)


@pytest.mark.parametrize("says", get_args(LabelSays))
def test_every_line_lies_within_the_label(says: LabelSays) -> None:
    long = replace(LABEL, says=says, device="W" * 40, by="M" * 40, address=f"d/{'w' * 40}/", up_to=mass("150", "kg"))

    for element in ElementTree.fromstring(label_svg(long)).iter(f"{SVG}text"):
        assert float(element.attrib["y"]) < HEIGHT_MM
        assert len(element.text or "") * float(element.attrib["font-size"]) * 0.55 < WIDTH_MM - 5


@given(st.text(min_size=1, max_size=40), st.text(min_size=1, max_size=40))
def test_whatever_was_typed_stays_text(tag: str, by: str) -> None:
    drawn = label_svg(replace(LABEL, device=tag, by=by))

    elements = {element.tag.removeprefix(SVG) for element in ElementTree.fromstring(drawn).iter()}
    assert elements == {"svg", "rect", "path", "text"}
