"""Charts: valid XML, a title and a description, and every value where its axis says. Places are computed here by hand."""

from dataclasses import replace
from decimal import Decimal
from typing import Any, get_args
from xml.etree import ElementTree

import pytest

from api.metrology.terms import Position
from site_builder.charts.axes import NARROW, Axis, round_steps
from site_builder.charts.eccentricity_plan import eccentricity_plan, place_of
from site_builder.charts.error_against_load import error_against_load, lies_beyond
from site_builder.charts.tolerance_steps import tolerance_steps
from site_builder.charts.years_at_span import visits_at_span, years_at_span
from site_builder.markup import Html
from tests.site_builder.samples import a_04, a_fleet, b_02, c_05, e_06


def drawings(markup: Html | None) -> list[ElementTree.Element]:
    """Return the drawings as parsed XML; refuses what is not well formed."""
    assert markup is not None
    return list(ElementTree.fromstring(f"<all>{markup}</all>"))


def of_class(drawing: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [element for element in drawing.iter() if element.get("class") == name]


def newest(scale: Any) -> dict[str, Any]:
    return scale.newest["working"]


def every_drawing() -> list[ElementTree.Element]:
    found = []
    for scale in a_fleet().scales:
        if scale.newest:
            found += drawings(error_against_load(newest(scale), scale.unit))
            found += drawings(eccentricity_plan(newest(scale)["as_found"], scale.unit))
            years = years_at_span(visits_at_span(scale.counted), scale.due["due"], scale.unit)
            found += drawings(years) if years else []
    return found


def test_every_drawing_is_an_image_with_a_title_and_a_description() -> None:
    found = every_drawing()

    assert len(found) > 10
    for drawing in found:
        named = {element.get("id"): element for element in drawing if element.tag in ("title", "desc")}
        assert drawing.get("role") == "img"
        assert (drawing.get("aria-labelledby") or "").split() == list(named)
        assert all(element.text for element in named.values())


def test_no_letter_of_a_drawing_is_smaller_than_13_units_and_the_narrow_one_fits_a_phone() -> None:
    sizes = {int(text.get("font-size") or 0) for drawing in every_drawing() for text in drawing.iter("text")}

    assert min(sizes) >= 13
    assert NARROW.width <= 358  # a phone of 390 units less two margins of 16: drawn at full size


def test_every_chart_is_drawn_wide_and_narrow() -> None:
    chart = drawings(error_against_load(newest(a_04()), "kg"))

    assert [drawing.get("class") for drawing in chart] == ["chart wide", "chart narrow"]


def test_an_axis_puts_its_ends_at_its_ends_and_the_middle_between() -> None:
    axis = Axis(-0.2, 0.2, 300, 20)

    assert [axis.at(value) for value in (-0.2, 0, Decimal("0.2"))] == [300, 160, 20]


@pytest.mark.parametrize(("low", "high"), [(-0.17, 0.2), (0, 200), (0, 2200), (-0.00003, 0.00003), (0, 1)])
def test_round_steps_are_even_and_cover_the_values(low: float, high: float) -> None:
    steps = round_steps(low, high, 5)
    gaps = {b - a for a, b in zip(steps, steps[1:], strict=False)}

    assert len(gaps) == 1
    assert float(steps[0]) <= low + 1e-12
    assert float(steps[-1]) >= high - 1e-12
    assert next(iter(gaps)).normalize().as_tuple().digits in ((1,), (2,), (2, 5), (5,))


def test_a_known_error_lies_where_its_axes_say() -> None:
    judged = newest(a_04())
    point = next(p for p in judged["as_found"]["points"] if p["test"] == "increasing" and p["nominal_kg"] == "200")

    wide = drawings(error_against_load(judged, "kg"))[0]

    marks = {t.text: float(t.get("y") or 0) - 4.5 for t in wide.iter("text") if t.get("text-anchor") == "end"}
    low, high = marks["\u22120.30"], marks["+0.30"]
    expected_y = low + (float(point["error_kg"]) + 0.30) / 0.60 * (high - low)
    loads = {t.text: float(t.get("x") or 0) for t in wide.iter("text") if t.get("text-anchor") == "middle"}
    places = [(float(c.get("cx") or 0), float(c.get("cy") or 0)) for c in of_class(wide, "dot-found")]
    assert any(abs(x - loads["200"]) < 0.11 and abs(y - expected_y) < 0.11 for x, y in places)


def test_as_left_is_filled_as_found_hollow_and_whiskers_belong_to_as_left() -> None:
    judged = newest(a_04())
    wide = drawings(error_against_load(judged, "kg"))[0]
    up = [p for p in judged["as_left"]["points"] if p["test"] in ("zero found", "zero set", "increasing")]

    assert len(of_class(wide, "dot-left")) == len(up) == len(of_class(wide, "whisker"))
    assert len(of_class(wide, "line-found")) == len(of_class(wide, "line-left")) == 1
    assert len(of_class(wide, "tolerance")) == len(of_class(wide, "tolerance-left")) == 1


def test_the_tolerance_steps_where_handbook_44_table_6_steps() -> None:
    """NIST HB 44 2.20 Table 6, class III: 1 d to 500 d, 2 d to 2000 d, 3 d to 4000 d; d = 0.1 kg."""
    steps = tolerance_steps(newest(e_06())["as_found"], "III")

    assert [(str(s.from_kg), str(s.to_kg), str(s.at_to)) for s in steps] == [
        ("0", "50.0", "0.1"), ("50.0", "200.0", "0.2"), ("200.0", "250", "0.3"),
    ]  # fmt: skip


def test_a_multi_interval_scale_steps_with_its_ranges_too() -> None:
    """d = 0.05 kg to 150 kg, then 0.1 kg: 500 d = 25 kg, 2000 d = 100 kg, 3 d of the finer range up to 150 kg."""
    steps = tolerance_steps(newest(c_05())["as_found"], "III")

    assert [(float(s.to_kg), float(s.at_to)) for s in steps] == [
        (25, 0.05),
        (100, 0.1),
        (150, 0.15),
        (200, 0.2),
        (250, 0.3),
    ]


def test_every_adjustment_is_a_dotted_drop_between_found_and_left() -> None:
    visits = visits_at_span(a_04().counted)

    wide = drawings(years_at_span(visits, "2027-10-14", "kg"))[0]

    assert [visit.adjusted for visit in visits] == [True, False, False, True]
    assert len(of_class(wide, "drop")) == 2
    assert len(of_class(wide, "dot-found")) == len(of_class(wide, "dot-left")) == 4
    assert len(of_class(wide, "due-line")) == 1


def test_one_visit_makes_no_chart_of_years() -> None:
    assert years_at_span(visits_at_span(b_02().counted), None, "kg") is None


def test_void_and_superseded_visits_are_not_drawn() -> None:
    history = tuple(item | {"standing": "void"} if number == 1 else item for number, item in enumerate(a_04().history))

    assert len(visits_at_span(replace(a_04(), history=history).counted)) == 3


def test_left_and_right_are_the_persons_own() -> None:
    """Facing up the drawing, the left hand is on its left; on the back with the head up, it is on its right."""
    standing = place_of("front left", lying=False)
    in_bed = place_of("head left", lying=True)

    assert standing == (0.2, 0.17)
    assert in_bed == (0.8, 0.17)


def test_every_position_that_a_reading_may_name_has_a_place_of_its_own_on_the_drawing() -> None:
    for lying in (False, True):
        drawn = {position: place_of(position, lying, six=True) for position in get_args(Position)}
        standing = [p for name, p in drawn.items() if not name.startswith(("support", "head", "foot ", "seat"))]
        assert None not in drawn.values()
        assert all(0 < share < 1 for place in drawn.values() for share in place or ())
        assert len({p for name, p in drawn.items() if name.startswith("support")}) == 6
        assert len(standing) == len(set(standing)) + 1  # foot lies where back stands


def test_a_corner_out_of_tolerance_has_a_second_ring_and_its_word() -> None:
    plan = drawings(eccentricity_plan(newest(b_02())["as_found"], "kg"))[0]

    assert len(of_class(plan, "spot")) == 5
    assert len(of_class(plan, "spot-out")) == 1
    assert "back right: fail" in [text.text for text in plan.iter("text")]


def test_the_drawings_fit_into_their_frames() -> None:
    for drawing in every_drawing():
        width, height = (float(v) for v in (drawing.get("viewBox") or "").split()[2:])
        for circle in [*drawing.iter("circle"), *drawing.iter("ellipse")]:
            assert 0 <= float(circle.get("cx") or -1) <= width
            assert 0 <= float(circle.get("cy") or -1) <= height


def with_an_outlier(error_kg: str) -> dict[str, Any]:
    """The newest visit of a scale of 200 kg, its highest point off by an error."""
    working = newest(a_04())
    points = [
        point | {"error_kg": error_kg} if point["test"] == "increasing" and point["nominal_kg"] == "200" else point
        for point in working["as_found"]["points"]
    ]
    return working | {"as_found": working["as_found"] | {"points": points}}


def test_a_result_far_out_is_marked_at_the_edge_and_does_not_flatten_the_others() -> None:
    far = with_an_outlier("5")
    (wide, _) = drawings(error_against_load(far, "kg"))

    (mark,) = of_class(wide, "outside")
    said = [text.text for text in of_class(wide, "value")]
    grid = {text.text for text in wide.iter("text")}

    assert lies_beyond(far, "kg")
    assert mark.get("d", "").split("h")[0].endswith("41.0")  # eleven below the upper edge of the plot, at 30
    assert said == ["+5"]
    assert "+5.0" not in grid


def test_a_result_within_three_tolerances_is_drawn_where_it_is() -> None:
    near = with_an_outlier("0.55")

    assert not lies_beyond(near, "kg")
    assert not of_class(drawings(error_against_load(near, "kg"))[0], "outside")


def test_four_pads_are_drawn_at_the_corners_and_six_in_three_rows() -> None:
    assert [place_of(pad, lying=False) for pad in ("support 1", "support 4")] == [(0.2, 0.17), (0.8, 0.83)]
    assert place_of("support 4", lying=False, six=True) == (0.8, 0.5)
