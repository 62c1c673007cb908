"""What the pages say: the answer first, four statuses, cautions, arithmetic, flags, history. Read from written pages."""

import json
import re
from copy import deepcopy
from dataclasses import replace
from html import unescape
from typing import Any

import pytest

from api.records.cautions import CAUTIONS
from api.records.working import read_working, working_of
from site_builder.fleet import HeldWeight
from site_builder.page import Touch
from site_builder.pages.arithmetic import arithmetic
from site_builder.pages.certificate import certificate_page
from site_builder.pages.device import device_page
from site_builder.pages.home import home_page
from site_builder.pages.measurement import clinical
from site_builder.pages.measurement import tests_table as table_of_tests
from site_builder.pages.use_answer import sentence, span_words
from site_builder.text import escaped
from site_builder.whole_site import TwoPagesOneAddress, every_page, page_count
from site_builder.withheld import NOTICE, withheld
from tests.metrology.loads_placed import a_visit_by_a_prior, a_visit_in_measured_air
from tests.site_builder.conftest import Site
from tests.site_builder.samples import (
    CODES,
    MODELS,
    TWENTY,
    a_04,
    a_certificate,
    a_device,
    a_fleet,
    a_scale,
    a_submission,
    b_02,
    e_06,
    judged,
    kg,
    pieces,
    readings,
)  # fmt: skip


def words(page: str) -> str:
    """Return what a reader sees of a page's main part, without markup, spaces of every kind made plain."""
    body = page[page.index("<main") : page.index("</main>")] if "<main" in page else page
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_the_answer_is_a_sentence_with_its_own_end() -> None:
    usable = {"may": "may use", "until": "2027-10-14", "why": []}
    limited = {"may": "may use within limits", "from_kg": "2", "up_to_kg": "120", "why": []}

    assert sentence(usable) == (
        "You may use this scale until 14 October 2027, unless it is tagged, was moved, dropped or repaired."
    )
    assert span_words(limited) == "from 2 to 120\u00a0kg"
    assert sentence(limited).startswith("Use it only from 2 to 120\u00a0kg, unless")
    assert sentence({"may": "do not use", "why": []}) == "Do not use this scale."
    assert sentence({"may": "not proven", "why": []}).startswith("Not proven.")


def test_the_answer_comes_before_everything_else_on_a_scales_page(site: Site) -> None:
    page = site.page("d/a-04")

    assert page.index('class="answer pass"') < page.index('class="statuses"') < page.index("Error against load")
    assert "You may use this scale until 2 March 2027, unless it is tagged" in words(page)


def test_a_scale_that_must_not_be_used_names_the_nearest_and_whom_to_call(site: Site) -> None:
    said = words(site.page("d/b-02"))

    assert "Do not use this scale." in said
    assert said.index("Use instead, nearest first:") < said.index("A-04 , Stand-on scale, column, Emergency department")
    assert said.index("A-04 ,") < said.index("C-05 ,")
    assert "Medical physics desk extension 4410" in said


def test_the_same_ward_is_nearer_than_the_same_kind_and_the_same_kind_nearer_within_it() -> None:
    fleet = a_fleet()
    b_02_ = next(s for s in fleet.scales if s.tag == "B-02")

    near = [s.tag for s in fleet.near(b_02_)]

    assert near == ["A-04", "C-05", "E-06"]


def test_four_statuses_stand_apart_and_none_is_called_verified(site: Site) -> None:
    page = site.page("d/a-04")
    names = re.findall(r"<dt>([^<]+)</dt>", page[page.index('class="statuses"') :])[:4]

    assert names == ["Measurement", "On time", "Electrical safety", "Legal verification"]
    assert "verified" not in words(page)


def test_a_provisional_pass_is_not_reviewed_and_has_no_certificate(site: Site) -> None:
    said = words(site.page("d/e-06"))

    assert "Measured within tolerance, not yet reviewed." in said
    assert "This record is provisional and has no certificate: one is made when a reviewer releases it." in said


def test_a_provisional_fail_counts_at_once(site: Site) -> None:
    assert "measured out of tolerance, not yet reviewed: it counts at once" in words(site.page("d/b-02"))


@pytest.mark.parametrize(
    ("address", "code", "text"),
    [
        ("d/a-04", "C-01", CAUTIONS["C-01"]),
        ("d/a-04", "C-04", CAUTIONS["C-04"]),
        ("d/a-04", "C-10", CAUTIONS["C-10"]),
        ("d/b-02", "C-03", CAUTIONS["C-03"]),
        ("d/b-02", "C-17", "Failed: tag it, take it away, tell a person: Medical physics desk, extension 4410."),
        ("d/e-06", "C-06", "Proven to 200 kg of 250 kg. Do not rely on it above."),
        ("d/e-06", "C-19", "with mattress, one sheet, two pillows: weights before and after are not comparable."),
        ("d/a-11", "C-18", CAUTIONS["C-18"]),
        ("d/h-01", "C-13", CAUTIONS["C-13"]),
        ("w/qg-mri", "C-18", CAUTIONS["C-18"]),
        ("w/qg-ed", "C-03", "The unit is not known to be locked on B-02. " + CAUTIONS["C-03"]),
        ("s/qg", "C-13", CAUTIONS["C-13"]),
        ("c/qg-2026-0012", "C-01", CAUTIONS["C-01"]),
        ("c/qg-2026-0012", "C-04", CAUTIONS["C-04"]),
        ("c/qg-2026-0012", "C-05", CAUTIONS["C-05"]),
        ("", "C-15", CAUTIONS["C-15"]),
        ("", "C-16", CAUTIONS["C-16"]),
    ],
)
def test_each_caution_stands_where_it_belongs(site: Site, address: str, code: str, text: str) -> None:
    said = words(site.page(address))

    assert code in said
    assert text in said


def test_every_page_names_the_log_entry_that_last_touched_it(site: Site) -> None:
    for name, page in site.pages().items():
        head = page[page.index('class="copy"') : page.index("<main")]
        assert "C-16" in head
        assert ("Log entry" in head) != (name.startswith("problems/") or name == "404.html")
    assert "Log entry 410 of" in site.page("d/a-04")


def test_only_the_home_page_prints_the_builds_log_number(site: Site) -> None:
    holding = [name for name, page in site.pages().items() if "4\u202f812" in page]

    assert holding == ["index.html"]


def test_a_scale_locked_to_kilograms_carries_no_caution_on_units(site: Site) -> None:
    assert "C-03" not in words(site.page("d/a-04"))


def test_a_number_can_be_followed_from_its_verdict_to_the_reading(site: Site) -> None:
    page = site.page("d/a-04")

    assert 'href="#as-left-point-7"' in page
    arithmetic = page[page.index('id="as-left-point-7"') :]
    arithmetic = arithmetic[: arithmetic.index("</details>")]
    assert 'href="#as-left-reading-7"' in arithmetic
    assert 'id="as-left-reading-7"' in page
    said = words(arithmetic)
    assert "W-01 20.0004 kg" in said
    assert "certificate LB-2026-31" in said
    assert "indication − reference, exact −0.004 kg" in said
    assert "NIST HB 44 (2026) section 2.20 Table 6" in said


def test_the_arithmetic_names_every_contribution_with_its_source(site: Site) -> None:
    scale = a_04()
    judged = scale.history[0]["working"]
    point = next(p for p in judged["as_left"]["points"] if p["seq"] == 7)
    page = site.page("d/a-04")
    arithmetic = page[page.index('id="as-left-point-7"') :]
    said = words(arithmetic[: arithmetic.index("</details>")])

    for index in point["contributions"]:
        line = judged["contributions"][index]
        assert line["name"] in said
        assert line["source"] in said


def arithmetic_words(judged: dict[str, Any]) -> str:
    """Return what a reader sees of the arithmetic of a visit."""
    return words(arithmetic(judged, "kg"))


def test_the_span_load_is_held_against_the_least_and_the_advised_load_in_numbers(site: Site) -> None:
    for address in ("d/a-04", "c/qg-2026-0012"):
        said = words(site.page(address))

        assert "share span load / capacity = 200 / 200 100 %" in said
        assert (
            "least load 50 % of 200: span adjusted with at least half the capacity: common practice, no source" in said
        )
        assert "advised load 70 % of 200: span adjusted with 70 to 100 % of capacity" in said
        assert "200 ≥ 140 140 kg" in said


def test_under_a_guarded_rule_the_limits_are_printed_beside_the_error() -> None:
    working = deepcopy(a_04().history[0]["working"])
    point = next(p for p in working["as_left"]["points"] if p["seq"] == 7)
    working["as_left"]["rule"]["guard_ratio"] = "1"
    point["limits"] = {"guard_kg": "0.060", "accepted_kg": "-0.01", "rejected_kg": "0.110"}
    point["error_kg"] = "-0.11"

    said = arithmetic_words(working)

    assert "guard band, w 1 × U, as printed 0.060 kg" in said
    assert "accepted up to tolerance − w; |error| 0.11 > tolerance − w −0.01 −0.01 kg" in said
    assert "rejected beyond tolerance + w; |error| 0.11 = tolerance + w 0.11 0.11 kg" in said


def test_the_air_of_a_visit_the_densities_and_the_correction_are_printed() -> None:
    working = read_working(working_of(a_visit_in_measured_air(), {}))

    said = arithmetic_words(working)

    assert "temperature read at the visit 21.50 °C, ± 1.00 °C" in said
    assert "density of the air CIPM-2007" in said
    assert "7 100 600 assumed: OIML R 111-1:2004 Table B.7, from memory" in said
    assert re.search(r"cg-18 7\.1\.2\.4 rho_a = 1\.17\d+ kg/m³; u\(rho_a\) = 0\.00\d+ kg/m³; rho_0 = 1\.2 kg/m³", said)
    assert re.search(r"V = 0\.00\d+ m³; u\(V\) = 0\.00\d+ m³; correction = 0\.000\d+ kg", said)


def test_the_risks_by_a_prior_are_printed_with_what_they_are_from() -> None:
    said = arithmetic_words(read_working(working_of(a_visit_by_a_prior(), {})))

    assert "risk of this decision, consumer’s true error beyond the tolerance, known as" in said
    assert "from the prior 0.02 ± 0.1 kg and this reading; JCGM 106:2012 section 9.3" in said
    assert "risk of the rule, consumer’s of all scales by the prior" in said
    assert "standard deviation of the prior errors found by the owner over four years 0.5 of the tolerance" in said


def test_what_goes_into_drift_and_buoyancy_is_printed_as_values(site: Site) -> None:
    for address in ("d/a-04", "c/qg-2026-0012"):
        said = words(site.page(address))

        assert re.search(r"k_D x sum of U / sqrt 3, cg-18 7\.1\.2\.3 k_D = 1; sum of U = 0\.0006 kg", said)
        assert re.search(
            r"cg-18 7\.1\.2\.4: the air was not measured rho_0 = 1\.2 kg/m³; rho_c = 8 000 kg/m³; m = 20 kg; "
            r"sum of mpe = \S+ kg",
            said,
        )
        assert "k_D, for the drift of the weights drift at most k_D x U with k_D 1 to 3: EURAMET cg-18 v4.0" in said
        assert "NIST Handbook 105-1 (1990, 2019) class F" in said


def test_every_loaded_point_prints_how_its_weights_were_held_against_the_tolerance(site: Site) -> None:
    for address in ("d/a-04", "c/qg-2026-0012"):
        page = site.page(address)
        said = words(page[page.index('id="as-left-point-7"') :].partition("</dl>")[0])

        assert "errors of the weights their errors × 3 = " in said
        assert "OIML R 76-1:2006 3.7.1; NIST HB 44 Appendix A 3.2, from memory: good enough" in said


def test_every_test_prints_its_limit_with_its_source_and_the_range_of_each_load(site: Site) -> None:
    for address in ("d/a-04", "c/qg-2026-0012"):
        said = words(site.page(address))

        assert "Limit: the tolerance at no load, 0.5 e: NIST HB 44 (2026) section 2.20 Table 6, T.N.3.1" in said
        assert "NIST HB 44 section 2.20 T.N.4.4: the range of the results is at most the maintenance tolerance" in said
        assert "NIST HB 44 section 2.20 T.N.5: weighings of one load agree within the maintenance tolerance" in said
        assert "range at 160 kg 3 results, largest − smallest = 160 − 160; 0 ≤ limit 0.2, 2 x 1 e, since" in said


def test_what_the_ward_needs_stands_beside_the_verdict_where_the_ward_has_a_need(site: Site) -> None:
    stated = {"ward": "QG-ED", "answer": "cannot say", "words": "The limit is 0.5 kg.", "source": "agreement <12>"}

    shown = clinical({"clinical": stated})

    assert shown is not None
    assert words(shown) == (
        "What ward QG-ED needs: it cannot be said. The limit is 0.5 kg. Source: agreement <12>. "
        "It stands beside the tolerance and changes no verdict."
    )
    assert "<12>" not in shown
    assert clinical({}) is None
    assert "What ward" not in site.page("d/a-04")


def test_a_range_beyond_its_limit_is_seen_to_be() -> None:
    working = b_02().history[0]["working"]

    said = arithmetic_words(working)

    test = next(t for t in working["as_found"]["tests"] if t["test"] == "eccentricity")
    assert test["verdict"] == "fail"
    assert "5 results, largest − smallest = 60 − 59.4; 0.6 > limit 0.2, 2 e 0.6 kg" in said


def test_a_discrimination_reading_is_followed_from_the_load_added_to_its_verdict() -> None:
    device, model = a_device("A-04"), MODELS["M-COL"]
    changed = {
        "seq": 90, "test": "discrimination", "pieces": ["W-01"], "before": kg("20.0"), "added": {"value": "140", "unit": "g"},
        "indication": kg("20.2"),
    }  # fmt: skip
    sent = a_submission(device, "2026-10-14", [*readings(model, 0, CODES, TWENTY), changed])
    working = judged(sent, model, pieces())

    said = arithmetic_words(working)

    assert "before displayed with the balance load alone 20.0 kg" in said
    assert "added at most 1.4 d; 0.14 ≤ 0.14 140 g" in said
    assert "change indication − before, exact +0.2 kg" in said
    assert "NIST HB 44 section 2.20 T.N.7.2 and N.1.5" in said
    assert "change 0.2 ≥ required 0.2 0.2 kg" in said
    tests = words(table_of_tests(working["as_found"], "kg"))
    assert "Discrimination 0.2 kg at least 0.2 kg pass" in tests


def test_a_working_of_the_first_version_is_still_shown_with_infinite_degrees_of_freedom() -> None:
    judged = deepcopy(a_04().history[0]["working"])
    for contribution in judged["contributions"]:
        if contribution["degrees_of_freedom"] == "infinite":
            del contribution["degrees_of_freedom"]
    judged["span"] = {name: judged["span"][name] for name in ("load_kg", "capacity_kg", "heavy_enough", "sentence")}

    said = arithmetic_words(judged)

    assert "rectangular ∞ d / (2 sqrt 3)" in said
    assert "span load sum of the marked values" in said


def test_every_visit_and_attempt_is_on_the_time_line(site: Site) -> None:
    page = site.page("d/a-04")
    line = page[page.index('class="line"') :]
    said = words(line[: line.index("</ol>")])

    days = [
        "15 October 2026",
        "14 October 2026",
        "11 October 2025",
        "10 October 2024",
        "9 October 2024",
        "10 October 2023",
    ]
    assert [said.index(day) for day in days] == sorted(said.index(day) for day in days)
    assert "Scheduled calibration: not tested, not found." in said
    assert "Certificate QG-2026-0012 was issued again as revision 2." in said


def test_verdicts_are_always_a_word_beside_a_beam(site: Site) -> None:
    for page in site.pages().values():
        for said in re.findall(r'<span class="v \w+">(.*?)</span>', page):
            assert said.startswith('<svg class="beam"')
            assert re.sub(r"<[^>]+>", "", said).strip()


def test_a_changed_tag_leaves_a_page_that_points_on(site: Site) -> None:
    page = site.page("d/a-1")

    assert 'href="../../d/a-11/"' in page


def test_the_front_page_counts_and_puts_what_doses_hang_on_first(site: Site) -> None:
    said = words(site.page(""))

    assert "On 25 November 2026, 3 of 6 scales in service may be used. 1 more is retired." in said
    assert "Calibration: 1 overdue, 2 never calibrated and 3 not yet due" in said
    attention = said[said.index("What needs attention first") : said.index("Every site and ward")]
    assert attention.index("B-02") < attention.index("H-01") < attention.index("A-11")
    assert "A-13" not in attention


def test_the_due_list_begins_with_what_is_overdue(site: Site) -> None:
    said = words(site.page("due"))

    assert said.index("Overdue · 1") < said.index("H-01") < said.index("October 2027 · 3") < said.index("A-04")


def test_every_scale_can_be_found_by_tag_serial_and_former_tag(site: Site) -> None:
    said = words(site.page("find"))

    assert all(scale.tag in said and scale.device["serial"] in said for scale in a_fleet().scales)
    assert "was A-1" in said


def test_a_balance_is_written_in_grams(site: Site) -> None:
    said = words(site.page("d/h-01"))

    assert "Error, g" in said
    assert "Proven to 2 000 g of 2 200 g." in said
    assert "1 000 g, increasing" in said


def test_a_certificate_says_what_the_standard_asks_for(site: Site) -> None:
    """The items of ISO/IEC 17025:2017 7.8.2 to 7.8.6, numbering from memory."""
    said = words(site.page("c/qg-2026-0012"))

    asked = {
        "title": "Calibration certificate", "number and revision": "Certificate QG-2026-0012, revision 2",
        "issuer": "Issued by Quillhaven General", "customer": "For Emergency department",
        "place": "Where in its place: bay 3",
        "method": "Procedure WI-07, revision 4", "item": "Serial SN-A-04-2004", "dates": "Calibrated 14 October 2026, 09:05",
        "issue": "Issued 15 October 2026", "conditions": "21.4 °C, 45 % relative humidity", "units": "Error, kg",
        "uncertainty": "coverage factor k =", "probability": "coverage probability of 95.45 %",
        "before adjustment": "Results: as found", "after adjustment": "Results: as left", "adjustment": "Span 200 kg (W-01",
        "conformity": "As left: judged against NIST Handbook 44, edition 2026, acceptance tolerance",
        "applies to": "The statement applies to the tests required:", "rule": "Decision rule: simple acceptance",
        "traceability": "LB-2026-31 Quillhaven weights laboratory", "seals": "Seal S-118 S-119",
        "counters": "Adjustment counter 4 5", "settings": "Unit locked yes yes", "technician": "technician T-02",
        "whole": "Copy this certificate whole or not at all", "only this item": "These results belong to this one scale",
        "end": "End of certificate QG-2026-0012, revision 2.", "digest": "sha256:bbbb", "log": "Log entry 415",
    }  # fmt: skip
    assert {name: text for name, text in asked.items() if " ".join(text.split()) not in said.replace(" : ", ": ")} == {}


def test_attachments_stand_on_certificate_and_scale_by_what_they_show_and_their_digest() -> None:
    scale = a_04()
    newest = deepcopy(dict(scale.history[0]))
    newest["content"]["attachments"] = [{"digest": f"sha256:{64 * 'e'}", "what": "the label on the column"}]
    stored = a_certificate(newest, scale.device)

    pages = (
        certificate_page(stored, [1], "kg", None),
        device_page(a_fleet(), replace(scale, history=(newest, *scale.history[1:]))),
    )

    for page in pages:
        assert f"the label on the column sha256:{64 * 'e'}" in words(page.body)


def test_a_certificate_shows_no_due_date_unless_the_policy_says_so() -> None:
    scale = a_04()
    stored = a_certificate(scale.history[0], scale.device)

    assert "due" not in words(certificate_page(stored, [1], "kg", None).body).lower().split()
    assert "Next calibration due 14 October 2027" in words(certificate_page(stored, [1], "kg", "2027-10-14").body)


def test_the_due_date_is_printed_only_where_the_policy_of_the_certificate_turns_it_on() -> None:
    scale = a_04()
    stored = a_certificate(scale.history[0], scale.device)
    stored["document"]["policy"]["due_date_on_certificate"] = True
    fleet = replace(a_fleet(), certificates=(stored,))

    page = next(p for p in every_page(replace(fleet, scales=(scale,))) if p.address == "c/qg-2026-0012/")

    assert "Next calibration due" in words(page.body)


def test_an_earlier_revision_says_that_it_is_superseded(site: Site) -> None:
    said = words(site.page("c/qg-2026-0012/1"))
    assert "Do not use: superseded by revision 2: a slip" in said
    assert "See revision 2" in said


def test_an_amended_certificate_names_what_it_replaces_why_and_who_released_it(site: Site) -> None:
    said = words(site.page("c/qg-2026-0012"))

    assert "Replaces what came before it: revision 1" in said
    assert "Amendment: it replaces certificate QG-2026-0012, revision 1, whose digest is sha256:bbb" in said
    assert "Why: a slip (amended by T-02)." in said
    assert "by S-01, 16 October 2026" in said
    assert "off-grid: Read again." in said
    assert "Do not use:" not in said


def test_a_certificate_names_the_rule_that_released_it_and_who_is_responsible(site: Site) -> None:
    said = words(site.page("c/qg-2025-0012"))

    assert "by rule, since nothing was flagged: policy network, revision 1; S-01 is responsible" in said


def test_a_withdrawn_certificate_says_so_with_the_reason() -> None:
    scale = a_04()
    stored = a_certificate(scale.history[0], scale.device, state="withdrawn") | {"because": "it was of another scale"}
    fleet = replace(a_fleet(), scales=(scale,), certificates=(stored,))

    pages = {page.address: words(page.body) for page in every_page(fleet)}

    assert "Withdrawn, do not use: it was of another scale" in pages["c/qg-2026-0012/"]
    assert "revision 1 withdrawn" in pages["c/"]


def test_every_revision_of_a_visit_is_on_the_time_line_with_why_it_ended() -> None:
    device, (newest, *others) = a_04().device, a_04().history
    old = newest | {"standing": "superseded"}
    old["stands"] = newest["stands"] | {"because": "superseded by revision 2: a slip"}
    again = newest | {"revision": 2, "amended_because": "a slip", "certificate_revision": 2}
    gone = others[0] | {"standing": "void"}
    scale = a_scale(device, (again, old, gone, *others[1:]))
    issued = tuple(a_certificate(newest, device, n) for n in (1, 2))

    page = device_page(replace(a_fleet(), scales=(scale,), certificates=issued), scale)

    said = words(page.body)
    assert "superseded by revision 2: a slip" in said
    assert "revision 2: a slip" in said
    assert "void, by S-01: released, for a reason" in said
    assert [item["revision"] for item in scale.counted][:1] == [2]
    assert str(page.body).count('class="gone"') == 2
    assert 'href="../../c/qg-2026-0012/1/"' in str(page.body)


def test_what_a_reviewer_said_of_a_visit_that_waits_stands_on_its_page() -> None:
    scale = b_02()
    remark = {"words": "Where is the sheet?", "by_whom": "S-01", "moment": "2026-11-03T10:00:00+00:00"}
    held = a_scale(scale.device, tuple(item | {"remarks": [remark]} for item in scale.history))

    said = words(device_page(replace(a_fleet(), scales=(held,)), held).body)

    assert said.count("S-01, 3 November 2026: Where is the sheet?") == 1


def test_an_amendment_that_waits_says_what_it_amends() -> None:
    device, (newest, *others) = a_04().device, a_04().history
    waits = {k: v for k, v in newest.items() if k != "certificate"}
    waits |= {"revision": 2, "standing": "provisional", "amended_because": "a slip"}
    scale = a_scale(device, (waits, newest, *others))

    fleet = replace(a_fleet(), scales=(scale,), certificates=(a_certificate(newest, device),))
    said = words(device_page(fleet, scale).body)

    certificate = next(words(p.body) for p in every_page(fleet) if p.address == "c/qg-2026-0012/")
    assert "An amendment of this record waits for its release: a slip. By it the scale was left: pass;" in certificate
    assert "It amends an earlier record of the visit (a slip) and waits for its release." in said


@pytest.mark.parametrize("hostile", ["<script>alert(1)</script>", '"><style>*{}</style>', "</main><b x='"])
def test_whatever_was_typed_stays_text_on_every_kind_of_page(hostile: str) -> None:
    typed = json.loads(json.dumps(_fleet_document(hostile)))
    device = a_device("A-04", place=hostile, state_reason=hostile, serial=hostile)
    history = tuple(item | {"content": item["content"] | typed} for item in a_04().history)
    scale = replace(a_scale(device, history), ward=a_04().ward | {"name": hostile, "call_role": hostile})
    fleet = replace(a_fleet(), scales=(scale,), wards=(scale.ward,), certificates=(a_certificate(history[0], device),))
    fleet = replace(fleet, sites=tuple(s | {"name": hostile, "local_code": hostile} for s in fleet.sites))

    pages = every_page(fleet)

    plain = {p.address: p for p in every_page(_same_shape(fleet, hostile, "plain"))}
    for page in pages:
        assert hostile not in page.body
        assert _structure(page.body) == _structure(plain[page.address].body)
    assert any(escaped(hostile) in page.body for page in pages)


def _fleet_document(text: str) -> dict[str, Any]:
    return {
        "remarks": text, "seals": {"before": text}, "setup": {"tested_at": text},
        "checks": [{"item": text, "result": "not in order", "text": text}],
    }  # fmt: skip


def _same_shape(fleet: Any, hostile: str, plain: str) -> Any:
    """The same fleet with the hostile text replaced wherever it stands."""
    return _replaced(fleet, hostile, plain)


def _replaced(value: Any, old: str, new: str) -> Any:
    if isinstance(value, str):
        return new if value == old else value
    if isinstance(value, dict):
        return {key: _replaced(item, old, new) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(_replaced(item, old, new) for item in value)
    if isinstance(value, Touch) or not hasattr(value, "__dataclass_fields__"):
        return value
    return replace(value, **{name: _replaced(getattr(value, name), old, new) for name in value.__dataclass_fields__})


def _structure(markup: str) -> list[str]:
    return re.findall(r"</?([a-z0-9]+)", markup)


def test_text_that_looks_like_a_persons_is_hidden_from_the_page() -> None:
    sent = {"remarks": "Mr Somebody on it", "checks": [{"item": "x", "text": "patient 7"}], "weight_set": "FS-1"}
    flags = [
        {"code": "looks-like-a-person", "sentence": "…", "pointer": "#/remarks"},
        {"code": "looks-like-a-person", "sentence": "…", "pointer": "#/checks/0/text"},
        {"code": "off-grid", "sentence": "…", "pointer": "#/weight_set"},
    ]

    shown = withheld(sent, flags)

    assert shown == {"remarks": NOTICE, "checks": [{"item": "x", "text": NOTICE}], "weight_set": "FS-1"}
    assert sent["remarks"] == "Mr Somebody on it"


def test_the_flags_stand_in_words_with_the_reading_they_speak_of() -> None:
    scale = b_02()
    flag = {"code": "off-grid", "sentence": "this cannot be shown.", "facts": {}, "pointer": "#/as_found/readings/4"}
    flagged = replace(scale, history=(scale.history[0] | {"flags": [flag]},))

    said = words(device_page(a_fleet(), flagged).body)

    assert "To be looked at by a person This cannot be shown. ( as found, reading 5 )" in said


def test_a_scale_that_was_never_measured_still_has_its_page(site: Site) -> None:
    said = words(site.page("d/a-11"))

    assert "Not proven. Do not rely on this scale." in said
    assert "No measurement on record" in said


def test_a_visit_judged_without_a_register_entry_still_has_its_page() -> None:
    """The scale was not on the register that day: the working names no device and no tolerance was found."""
    scale = e_06()
    judged = {key: value for key, value in scale.history[0]["working"].items() if key != "device"}
    bare = replace(scale, history=(scale.history[0] | {"working": judged},))

    assert "Error against load" in device_page(a_fleet(), bare).body


def test_two_things_with_one_address_stop_the_build() -> None:
    twin = a_scale(a_device("a 04"), ())

    with pytest.raises(TwoPagesOneAddress):
        every_page(replace(a_fleet(), scales=(a_04(), twin)))


NOTE = {
    "code": "value-out-of-class", "sentence": "W-01 is 0.0015 kg off its nominal value.", "facts": {},
    "source": "OIML R 111-1:2004 5.3", "way_out": "The certificate shows class M2.",
}  # fmt: skip


def a_weight(code: str, site: str, *notes: dict[str, Any]) -> HeldWeight:
    record = {
        "code": code,
        "site": site,
        "nominal": {"value": "20", "unit": "kg"},
        "weight_class": "M1",
        "state": "active",
    }
    return HeldWeight(record, Touch(4001, "2026-11-01T08:00:00+00:00"), "LB-2026-31", "2027-03-31", notes)


def test_a_site_lists_its_weights_and_what_is_to_be_looked_at() -> None:
    kept = (a_weight("W-01", "QG", NOTE), a_weight("W-02", "QG"), a_weight("X-01", "HM"))
    pages = {page.address: page for page in every_page(replace(a_fleet(), weights=kept))}

    said = words(pages["s/qg/"].body)

    assert "2 pieces, 1 with something to be looked at, 0 not to be counted on" in said
    assert "W-01 is 0.0015 kg off its nominal value. The certificate shows class M2. OIML R 111-1:2004 5.3." in said
    assert "X-01" not in said
    assert pages["s/qg/"].touch == kept[0].touch
    assert "<details open>" in pages["s/qg/"].body
    assert "Weights kept here" not in words(next(p for p in every_page(a_fleet()) if p.address == "s/qg/").body)


def test_a_site_says_which_pieces_may_not_be_counted_on_and_what_happened_to_them() -> None:
    life = {
        "why": [{"code": "dropped", "sentence": "It was dropped on 2026-11-24."}],
        "events": [{"kind": "dropped", "counts_from": "2026-11-24T20:00:00+00:00", "content": {"remarks": "by <b>X</b>"}}],
    }  # fmt: skip
    out = {"why": [], "events": [], "out": {"by": "T-01", "round": "north wing"}}
    kept = (replace(a_weight("W-01", "QG"), life=life), replace(a_weight("W-02", "QG"), life=out))
    page = next(p for p in every_page(replace(a_fleet(), weights=kept)) if p.address == "s/qg/")

    said = words(page.body)

    assert "2 pieces, 0 with something to be looked at, 1 not to be counted on" in said
    assert "Do not count on it. It was dropped on 24 November 2026." in said
    assert "24 November 2026, 20:00 UTC: dropped" in said
    assert "active, out with T-01" in said
    assert "<details open>" in page.body
    assert "X" not in said.split("Weights kept here")[1].split("The place")[0]


def test_a_scale_shows_what_the_register_has_against_its_label() -> None:
    note = NOTE | {"sentence": "n = 1100 is above the 1000 that class IIII may have."}
    scale = replace(a_04(), notes=(note,))
    page = next(p for p in every_page(replace(a_fleet(), scales=(scale,))) if p.address == "d/a-04/")

    said = words(page.body)

    assert "To be looked at n = 1100 is above the 1000 that class IIII may have." in said


def test_pages_are_counted_before_they_are_drawn() -> None:
    assert page_count(a_fleet()) == len(every_page(a_fleet()))


def test_an_empty_network_has_its_pages_too() -> None:
    empty = replace(a_fleet(), sites=(), wards=(), scales=(), certificates=(), problems=(), place_touches={})

    assert len(every_page(empty)) == 6
    assert "0 of 0 scales in service may be used" in words(home_page(empty).body)
