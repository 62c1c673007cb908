"""What a scale's page says of the worth of a weighing and of its supports: the service's answer, no more."""

import re
from dataclasses import replace
from html import unescape
from xml.etree import ElementTree

import pytest

from site_builder.charts.worth_over_load import worth_over_load
from site_builder.fleet import Scale
from site_builder.markup import Html
from site_builder.pages.device import device_page
from site_builder.pages.weighing_worth import corners_said, weighing_worth
from site_builder.text import number
from tests.site_builder.conftest import Site
from tests.site_builder.samples import a_04, a_device, a_fleet, a_scale, b_02, c_05, e_06, h_01

HERE = "d/a-04/"


def words(markup: Html | str | None) -> str:
    assert markup is not None
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", markup)).replace("\u00a0", " ").split())


def drawings(scale: Scale) -> list[ElementTree.Element]:
    assert scale.weighing is not None
    drawn = worth_over_load(scale.weighing, scale.history[0]["working"], scale.unit)
    return list(ElementTree.fromstring(f"<div>{drawn}</div>"))


def places(drawing: ElementTree.Element, class_: str) -> list[list[tuple[float, float]]]:
    """The places through which the paths of a class go."""
    found = [e.get("d", "") for e in drawing.iter() if e.get("class") == class_]
    return [[(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", d)] for d in found]


def test_the_page_says_how_far_a_typical_weighing_may_be_off() -> None:
    scale = a_04()
    assert scale.weighing is not None
    row = next(r for r in scale.weighing["readings"] if r["reading_kg"] == "60")

    said = words(weighing_worth(HERE, scale))

    assert f"off by at most {row['uncorrected_kg']} kg at 60 kg ({row['percent']} %)" in said


def test_every_proven_row_of_the_answer_is_a_row_of_the_table() -> None:
    scale = a_04()
    assert scale.weighing is not None

    page = weighing_worth(HERE, scale)

    rows = [r for r in scale.weighing["readings"] if r["where"] == "proven"]
    assert page is not None
    assert page.count("<tr") == len(rows) + 1
    assert all(row["claim"] in page for row in rows)


def test_the_section_stands_on_the_page_and_is_led_to(site: Site) -> None:
    page = site.page("d/a-04")

    assert 'href="#worth"' in page
    assert page.index('id="corners"') < page.index('id="worth"') < page.index('id="history"')


def test_the_drawing_ends_its_band_at_the_proven_range_and_hatches_the_rest() -> None:
    for drawing in drawings(e_06()):  # tested to 200 of 250 kg
        (band,) = places(drawing, "worth")
        ends = sorted({x for path in places(drawing, "ends") for x, _ in path})
        hatched = [x for path in places(drawing, "hatch") for x, _ in path]

        assert max(x for x, _ in band) == pytest.approx(ends[-1], abs=0.2)
        assert all(x <= ends[0] + 0.2 or x >= ends[-1] - 0.2 for x in hatched)
        assert max(hatched) > ends[-1] + 20  # fifty kilograms of it


def test_a_drawing_stays_in_its_frame() -> None:
    for scale in (a_04(), c_05(), h_01()):
        for drawing in drawings(scale):
            width, height = (float(n) for n in drawing.get("viewBox", "").split()[2:])
            for class_ in ("worth", "hatch", "limit", "line-left"):
                for path in places(drawing, class_):
                    assert all(0 <= x <= width and 0 <= y <= height for x, y in path), (scale.tag, class_)


def test_a_balance_is_told_in_grams() -> None:
    said = words(weighing_worth("d/h-01/", h_01()))

    assert " g at " in said
    assert " kg" not in said.split("What these numbers rest on")[0]


def test_a_visit_that_waits_for_its_review_claims_nothing_good() -> None:
    said = words(weighing_worth("d/e-06/", e_06()))

    assert "The visit waits for its review" in said
    assert "can be said to be within tolerance" not in said


def test_a_scale_with_no_proven_load_says_so_once_and_draws_nothing() -> None:
    page = weighing_worth("d/b-02/", b_02())

    assert "Nothing can be said of a weighing. No load is proven" in words(page)
    assert page is not None
    assert "<svg" not in page


def test_a_scale_never_measured_says_what_would_help_and_a_retired_one_says_nothing() -> None:
    new = a_scale(a_device("A-11"), ())
    retired = a_scale(a_device("A-13", state="retired"), (), due_state="retired")

    assert "measured after the last adjustment, would" in words(weighing_worth(HERE, new))
    assert weighing_worth(HERE, retired) is None


def test_the_numbers_lead_to_the_certificate_they_rest_on() -> None:
    page = weighing_worth(HERE, a_04())

    assert page is not None
    assert 'href="../../c/qg-2026-0012/"' in page


def test_the_sentence_on_the_supports_is_the_service_s_own() -> None:
    scale = b_02()
    assert scale.corners is not None

    said = words(corners_said(scale))

    assert scale.corners["sentence"] in said
    assert "Predicted beyond the same load in the middle" in said
    assert "C-12" in said


def test_every_support_stands_in_the_table_with_its_uncertainty() -> None:
    scale = b_02()
    assert scale.corners is not None

    page = corners_said(scale)

    assert page is not None
    for support in scale.corners["supports"]:
        assert support["support"].capitalize() in page
        assert number(support["deviation_ppm"], signed=True) in page
        assert number(support["expanded_ppm"]) in page


def test_a_page_without_answers_has_no_section() -> None:
    scale = replace(a_04(), weighing=None, corners=None)

    page = device_page(a_fleet(), scale).body

    assert 'id="worth"' not in page
    assert "The supports, solved" not in page
