"""What waits for a person is shown where people look: on the scale's page, and elsewhere where there is no such page."""

from dataclasses import replace
from typing import Any

from site_builder.fleet import Fleet, Scale
from site_builder.page import Touch
from site_builder.pages.device import device_page
from site_builder.pages.home import MOST_ATTENTION, home_page
from site_builder.pages.readings import flags
from site_builder.pages.site import site_page
from site_builder.whole_site import every_page
from tests.site_builder.samples import SITES, a_04, a_certificate, a_fleet
from tests.site_builder.test_pages import words

DOUBT = {
    "code": "clock-off",
    "sentence": "The clock of the app was off by 400 s.",
    "facts": {},
    "pointer": "#/performed",
}


def with_first(scale: Scale, *others: dict[str, Any], **changed: Any) -> Scale:
    """The scale with its newest visit changed, and older ones after it."""
    return replace(scale, history=(*others, scale.history[0] | changed, *scale.history[1:]))


def alone(scale: Scale) -> Fleet:
    return replace(a_fleet(), scales=(scale,), certificates=())


def page_of(scale: Scale) -> str:
    return words(device_page(alone(scale), scale).body)


def test_a_flagged_visit_tells_its_flags_on_the_time_line_when_a_newer_one_stands_above() -> None:
    newest, older = a_04().history[:2]
    scale = replace(a_04(), history=(newest, older | {"standing": "provisional", "flags": [DOUBT]}))

    said = page_of(scale)

    assert DOUBT["sentence"] in said[said.rindex("Everything that happened") :]


def test_the_flags_of_the_newest_visit_stand_once_above_the_time_line() -> None:
    said = page_of(with_first(a_04(), standing="provisional", flags=[DOUBT]))

    assert said.count(DOUBT["sentence"]) == 1
    assert said.index("What was noticed") < said.index(DOUBT["sentence"]) < said.rindex("Everything that happened")


def test_a_visit_dated_after_its_arrival_is_not_the_last_result_until_somebody_has_looked() -> None:
    ahead = a_04().history[0] | {
        "calibration": "x", "performed_from": "2031-11-23T10:00:00+00:00", "performed_to": "2031-11-23T10:30:00+00:00",
        "standing": "provisional", "flags": [DOUBT], "log_number": 900,
    }  # fmt: skip
    scale = with_first(a_04(), ahead)

    said = page_of(scale)

    assert scale.newest == a_04().newest
    assert ahead not in scale.counted
    assert said.count("23 November 2031") == 1
    assert said.rindex("Everything that happened") < said.index("23 November 2031")
    assert with_first(a_04(), ahead | {"standing": "released"}).newest == ahead | {"standing": "released"}


def a_stray(number: int, site: str = "QG") -> dict[str, Any]:
    return a_04().history[0] | {
        "device": f"ZZ-{number}", "site": site, "standing": "provisional", "flags": [DOUBT], "log_number": 600 + number,
    }  # fmt: skip


def test_a_visit_of_a_scale_that_is_not_on_the_register_stands_on_the_front_page_and_its_sites() -> None:
    fleet = replace(a_fleet(), unlinked=(a_stray(100), a_stray(200, "HM")))

    front, site = words(home_page(fleet).body), words(site_page(fleet, SITES[0]).body)

    assert "ZZ-100" in front
    assert "ZZ-200" in front
    assert DOUBT["sentence"] in front
    assert "ZZ-100" in site
    assert "ZZ-200" not in site
    assert site_page(fleet, SITES[0]).touch == Touch(700, a_stray(100)["received_at"])
    assert "not on the register" not in words(home_page(a_fleet()).body)


def test_of_many_such_visits_the_front_page_shows_those_that_stand_nowhere_else() -> None:
    strays = (*(a_stray(n) for n in range(10, 10 + MOST_ATTENTION)), a_stray(99, "nowhere"))

    front = words(home_page(replace(a_fleet(), unlinked=strays)).body)

    assert "ZZ-99" in front
    assert "1 more on the pages of their sites." in front
    assert f"ZZ-{9 + MOST_ATTENTION}" not in front


def test_certificates_under_a_former_tag_stay_with_the_scale() -> None:
    scale = a_04()
    renamed = replace(scale, device=scale.device | {"tag": "N-04", "previous_tags": ["A-04"]})
    second = a_certificate(scale.history[0], scale.device, revision=2)
    fleet = replace(alone(renamed), certificates=(a_certificate(scale.history[0], scale.device), second))

    assert [c["document"]["revision"] for c in fleet.certificates_of(renamed)] == [1, 2]
    assert "was issued again as revision 2" in words(device_page(fleet, renamed).body)
    assert {"d/a-04/", "d/n-04/"} <= {page.address for page in every_page(fleet)}


def test_a_flag_shows_what_was_typed_where_it_points() -> None:
    content = {
        "checks": [{"item": "mains lead", "result": "not in order", "text": "frayed"}],
        "identity": [{"item": "serial", "matches": False}],
    }
    found = [
        {"code": "check-not-in-order", "sentence": "Something was not in order.", "pointer": "#/checks/0"},
        {"code": "identity-differs", "sentence": "It differs.", "pointer": "#/identity/0"},
        {"code": "other", "sentence": "It is elsewhere.", "pointer": "#/checks/7"},
        {"code": "other", "sentence": "It is nowhere."},
    ]

    said = words(str(flags(found, content, "To be looked at")))

    assert "Something was not in order. Mains lead: frayed." in said
    assert "It differs. Serial." in said
    assert "It is elsewhere. (checks)" in said
    assert said.endswith("It is nowhere.")
