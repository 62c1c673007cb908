"""The working of a judgement: every number on the way is in it once, and can be read back."""

import json
import math
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from api.metrology.clinical_need import ClinicalNeed
from api.metrology.judgement import Judgement, PhaseJudgement, PointJudgement
from api.metrology.judging import judge
from api.metrology.policy import STARTING
from api.metrology.rounding import printed_probability
from api.metrology.submission import Adjustment
from api.records.documents import read_mass
from api.records.working import flag_document, read_working, working_of
from tests.metrology.a_case import a_dual_unit_scale
from tests.metrology.loads_placed import (
    FINE,
    a_case,
    a_reading,
    a_submission,
    a_visit_by_a_prior,
    a_visit_in_measured_air,
    increasing,
    kg,
    sound_readings,
)  # fmt: skip

JUDGED_WITH = {"program": "0.1.0", "device_revision": 3, "policy": "network"}
SPAN = Adjustment("span", kg("300.0"), ("300.0",))
SHARED = ("ranges", "loads", "tolerances", "budgets", "weights_checks")


def an_adjusted_judgement() -> Judgement:
    """Return a visit that failed as found, with a reading off the grid and one above capacity, and passed as left."""
    found = [
        *sound_readings(), *increasing("150.0", off_by="4.0"), a_reading("increasing", "250.0", "250.04"),
        a_reading("increasing", "340.0", "340.0"), a_reading("discrimination", "100.0", "100.2", before=kg("100.0"),
                                                             added=kg("0.14")),
    ]  # fmt: skip
    return judge(a_case(a_submission(found, sound_readings(), [SPAN])))


def stored(judgement: Judgement) -> dict[str, Any]:
    """Return the working as it comes back from the record, through JSON text."""
    kept: dict[str, Any] = json.loads(json.dumps(working_of(judgement, JUDGED_WITH)))
    return kept


def phases(judgement: Judgement, working: dict[str, Any]) -> list[tuple[PhaseJudgement, dict[str, Any]]]:
    assert judgement.as_found is not None
    assert judgement.as_left is not None
    return [(judgement.as_found, working["as_found"]), (judgement.as_left, working["as_left"])]


def pairs(judgement: Judgement) -> list[tuple[PointJudgement, dict[str, Any]]]:
    """Return every point beside what is read back of it."""
    together = phases(judgement, read_working(stored(judgement)))
    return [pair for phase, read in together for pair in zip(phase.points, read["points"], strict=True)]


def degrees_read(of: dict[str, Any]) -> float:
    """Return degrees of freedom as a number again."""
    return math.inf if of["degrees_of_freedom"] == "infinite" else float(of["degrees_of_freedom"])


def a_visit_of_every_test() -> Judgement:
    """Return a visit with change-over points, tare, creep, zero after the load, a substitute load and a difference."""
    pieces = ("100.0", "20.0")
    special = [
        a_reading("increasing", "100.0", "100.0", change_over_added=kg("0.04")),
        a_reading("increasing", "100.0", "200.1", substitution=13, before=kg("100.1")),
        a_reading("tare", "100.0", "100.1", tare=kg("20.0")),
        *(a_reading("creep", "200.0", "200.0", minutes=minutes) for minutes in (0, 15, 30)),
        a_reading("return to zero", "0", "0.1", minutes=30),
        a_reading("difference", "100.0", "100.0"),
        replace(a_reading("difference", "100.0", "120.1", base=20), pieces=pieces),
    ]
    need = ClinicalNeed("QG-DIA", Decimal("0.05"), None, "ward agreement")
    return judge(replace(a_case(a_submission([*sound_readings(), *special])), clinical=need))


VISITS = {
    "every test": a_visit_of_every_test(),
    "adjusted": an_adjusted_judgement(),
    "fine display by R 76": judge(a_case(a_submission(sound_readings()), "r76", FINE)),
    "four zones": judge(
        a_case(a_submission(sound_readings()), policy=replace(STARTING, decision_rule="four zones")),
    ),
    "two units": judge(a_case(a_submission(sound_readings()), scale=a_dual_unit_scale())),
}
every_visit = pytest.mark.parametrize("judgement", VISITS.values(), ids=VISITS.keys())


@every_visit
def test_every_point_reads_back_its_reading_load_error_and_verdict(judgement: Judgement) -> None:
    for point, read in pairs(judgement):
        assert (read["seq"], read["test"], read["verdict"]) == (point.reading.seq, point.reading.test, point.verdict)
        assert Decimal(read["nominal_kg"]) == point.nominal_kg
        assert read_mass(read["indication"]) == point.reading.indication
        assert read.get("position") == point.reading.position
        assert read["pieces"] == list(point.reading.pieces) or point.load is None
        assert [reason["code"] for reason in read["reasons"]] == [reason.code for reason in point.reasons]


@every_visit
def test_every_point_reads_back_its_range_reference_and_tolerance(judgement: Judgement) -> None:
    for point, read in pairs(judgement):
        if point.in_use is not None:
            r = read["range"]
            assert (r["unit"], Decimal(r["max"]), Decimal(r["d"]), Decimal(r["e"])) == (
                point.in_use.unit, point.in_use.max, point.in_use.d, point.in_use.e,
            )  # fmt: skip
        if point.load is not None:
            assert Decimal(read["reference_kg"]) == point.load.reference_kg
            assert Decimal(read["error_bound_kg"]) == point.load.error_bound_kg
            assert read["pieces"] == list(point.load.pieces)
        if point.tolerance is not None:
            assert Decimal(read["tolerance_kg"]) == point.tolerance.kg
            assert read["tolerance_counted"] == point.tolerance.counted
            assert read["tolerance_source"] == point.tolerance.source


@every_visit
def test_every_loaded_point_reads_back_how_its_weights_were_held_against_the_tolerance(judgement: Judgement) -> None:
    loaded = [(point, read) for point, read in pairs(judgement) if point.weights_check is not None]

    assert len(loaded) > 10
    for point, read in loaded:
        assert point.load is not None
        check = read["weights_check"]
        assert Decimal(check["divisor"]) == STARTING.weights_divisor
        assert Decimal(check["times_divisor_kg"]) == 3 * Decimal(read["error_bound_kg"])
        assert check["allowed_kg"] == pytest.approx(float(read["tolerance_kg"]) / 3, rel=1e-15)
        assert check["outcome"] == "good enough"


def test_under_a_guarded_rule_every_point_reads_back_its_guard_band_and_limits() -> None:
    judged = [(p, read) for p, read in pairs(VISITS["four zones"]) if p.budget is not None]

    assert len(judged) > 10
    for point, read in judged:
        tolerance, u = Decimal(read["tolerance_kg"]), Decimal(read["printed_kg"])
        assert {name: Decimal(kg_) for name, kg_ in read["limits"].items()} == {
            "guard_kg": u, "accepted_kg": tolerance - u, "rejected_kg": tolerance + u,
        }  # fmt: skip
        if point.verdict == "pass":
            assert abs(Decimal(read["error_kg"])) <= Decimal(read["limits"]["accepted_kg"])


def test_under_a_guarded_rule_of_two_words_nothing_is_rejected_apart() -> None:
    policy = replace(STARTING, decision_rule="guarded acceptance")

    read = read_working(stored(judge(a_case(a_submission(sound_readings()), policy=policy))))

    assert {tuple(p["limits"]) for p in read["as_found"]["points"]} == {("guard_kg", "accepted_kg")}


def test_without_a_guard_band_the_tolerance_is_the_only_limit() -> None:
    assert not any("limits" in read for _, read in pairs(VISITS["adjusted"]))


@every_visit
def test_the_policy_numbers_that_a_verdict_hangs_on_are_kept_with_their_sources(judgement: Judgement) -> None:
    numbers = read_working(stored(judgement))["policy_numbers"]

    assert {name: number["value"] for name, number in numbers.items()} == {
        "weights_divisor": "3", "drift_factor": "1", "least_eccentric_share": "0.3", "least_loads": "3",
    }  # fmt: skip
    assert "R 76-1:2006 3.7.1" in numbers["weights_divisor"]["source"]


@every_visit
def test_every_point_reads_back_its_whole_budget(judgement: Judgement) -> None:
    contributions = read_working(stored(judgement))["contributions"]
    judged = [(point, read) for point, read in pairs(judgement) if point.budget is not None]

    assert len(judged) > 10
    for point, read in judged:
        budget = point.budget
        assert budget is not None
        assert Decimal(read["error_kg"]) == point.error_kg
        assert (read["u_kg"], read["k"], read["coverage_probability"], read["expanded_kg"]) == (
            budget.combined, budget.k, budget.probability, budget.expanded,
        )  # fmt: skip
        assert Decimal(read["printed_kg"]) == budget.printed
        assert degrees_read(read) == budget.effective_degrees_of_freedom
        told = [contributions[place] for place in read["contributions"]]
        assert [
            (c["name"], c["standard_uncertainty_kg"], c["distribution"], c["source"], degrees_read(c))
            for c in told
        ] == [
            (c.name, c.standard_uncertainty, c.distribution, c.source, c.degrees_of_freedom)
            for c in budget.contributions
        ]  # fmt: skip
        if point.probability is not None:
            assert read["probability"] == printed_probability(point.probability)


def test_a_discrimination_reading_reads_back_its_change_and_what_it_had_to_be() -> None:
    read = read_working(stored(VISITS["adjusted"]))["as_found"]

    point = next(p for p in read["points"] if p["test"] == "discrimination")
    source = point["change"].pop("source")
    assert point["change"] == {
        "before": {"value": "100.0", "unit": "kg"}, "added": {"value": "0.14", "unit": "kg"}, "most_added_kg": "0.14",
        "seen_kg": "0.2", "required_kg": "0.2",
    }  # fmt: skip
    test = next(t for t in read["tests"] if t["test"] == "discrimination")
    assert (test["measured"], test["limit"], test["limit_is"], test["limit_source"]) == (
        "0.2 kg", "0.2 kg", "at least", source,
    )  # fmt: skip


def by_hand(contribution: dict[str, Any], judged_after_adjustment: bool) -> float:
    """Work a contribution out again from its inputs alone, by the formula that its source names (cg-18 7.1)."""
    value = {symbol: float(said["value"]) for symbol, said in contribution["inputs"].items()}
    if contribution["name"].startswith("rounding"):
        return value["d"] / (2 * math.sqrt(3))
    if contribution["name"] == "eccentricity":
        return value["|dI|max"] / (2 * value["L_ecc"] * math.sqrt(3)) * value["I"]
    if contribution["name"] == "weights":
        return value["sum of U"] / 2  # k = 2 on every certificate here
    if contribution["name"] == "drift of the weights":
        return value["k_D"] * value["sum of U"] / math.sqrt(3)
    if judged_after_adjustment:
        return value["sum of mpe"] / (4 * math.sqrt(3))
    return (0.1 * value["rho_0"] / value["rho_c"] * value["m"] + value["sum of mpe"] / 4) / math.sqrt(3)


def test_every_contribution_can_be_worked_out_again_from_its_inputs() -> None:
    read = read_working(stored(VISITS["adjusted"]))
    names = set()

    for phase in ("as_found", "as_left"):
        for place in {place for point in read[phase]["points"] for place in point["contributions"]}:
            told = read["contributions"][place]
            if told["name"] != "repeatability":
                found = by_hand(told, "rho_0" not in told["inputs"])
                assert found == pytest.approx(told["standard_uncertainty_kg"], rel=1e-12), told
                names.add((told["name"], tuple(told["inputs"])))

    assert {name for name, _ in names} >= {
        "rounding at zero", "rounding at load", "eccentricity", "weights", "drift of the weights", "buoyancy bound",
    }  # fmt: skip
    # not adjusted as found, adjusted just before as left
    assert ("buoyancy bound", ("rho_0", "rho_c", "m", "sum of mpe")) in names
    assert ("buoyancy bound", ("sum of mpe",)) in names


def test_the_air_of_the_visit_and_the_densities_are_written_with_what_they_are_from() -> None:
    working = stored(a_visit_in_measured_air())

    air, told = working["air"], {c["name"]: c for c in working["contributions"]}
    assert air["density_kg_m3"] == told["buoyancy in measured air"]["inputs"]["rho_a"]["value"]
    assert air["pressure_hpa"] == {"value": 1000.0, "half_width": 2.0, "source": "read at the visit"}
    assert "CIPM-2007" in air["source"]
    assert {(w["density"]["kg_m3"], w["density"]["expanded_kg_m3"]) for w in working["weights"]} == {("7100", "600")}
    assert "buoyancy bound" not in told


def test_without_measured_air_none_is_written_and_the_bound_says_why() -> None:
    working = stored(VISITS["four zones"])

    bounds = [c for c in working["contributions"] if c["name"] == "buoyancy bound"]
    assert "air" not in working
    assert bounds
    assert all(c["source"].endswith("the air was not measured") for c in bounds)


def test_by_a_prior_every_point_that_decides_has_its_risks_and_the_policy_s_numbers_name_it() -> None:
    judgement = a_visit_by_a_prior()

    working = stored(judgement)

    assert judgement.as_found is not None
    for point, read in zip(judgement.as_found.points, working["as_found"]["points"], strict=True):
        assert ("risk" in read) is (point.error_kg is not None and point.verdict != "undecided")
        if point.risk is not None:
            assert read["risk"]["on"] == ("consumer" if point.verdict == "pass" else "producer")
            assert read["risk"]["specific"] == printed_probability(point.risk.specific.probability)
            assert read["risk"]["consumer"] == printed_probability(point.risk.consumer)
            assert read["risk"]["after"]["mean_kg"] == point.risk.after.mean
    numbers, source = working["policy_numbers"], "errors found by the owner over four years"
    assert numbers["prior_mean"] == {"value": "0.1", "counted_in": "tolerance", "source": source}
    assert numbers["prior_standard_deviation"]["value"] == "0.5"


def test_without_a_prior_nothing_is_said_of_risks() -> None:
    working = stored(VISITS["four zones"])

    assert not any("risk" in point for point in working["as_found"]["points"])
    assert not any(name.startswith("prior") for name in working["policy_numbers"])


def test_a_mass_among_the_inputs_has_its_unit_and_a_factor_has_none() -> None:
    told = {c["name"]: c["inputs"] for c in stored(VISITS["four zones"])["contributions"]}

    assert told["drift of the weights"]["k_D"] == {"value": "1", "unit": "1"}
    assert told["buoyancy bound"]["rho_0"] == {"value": "1.2", "unit": "kg/m3"}
    assert told["buoyancy bound"]["rho_c"] == {"value": "8000", "unit": "kg/m3"}
    assert told["buoyancy bound"]["m"]["unit"] == "kg"


def test_degrees_of_freedom_that_nothing_limits_are_written_as_infinite() -> None:
    working = stored(VISITS["adjusted"])

    told = {c["name"]: c["degrees_of_freedom"] for c in working["contributions"]}
    assert told["rounding at load"] == "infinite"
    assert told["repeatability"] == 2
    assert "Infinity" not in json.dumps(working)


@every_visit
def test_the_combined_uncertainty_can_be_worked_out_again_from_what_is_read(judgement: Judgement) -> None:
    # GUM (JCGM 100:2008) 5.1.2: the root of the sum of squares.
    contributions = read_working(stored(judgement))["contributions"]
    judged = [read for point, read in pairs(judgement) if point.budget is not None]

    for read in judged:
        parts = [contributions[place]["standard_uncertainty_kg"] for place in read["contributions"]]
        assert math.sqrt(sum(u * u for u in parts)) == pytest.approx(read["u_kg"], rel=1e-12)
        assert read["k"] * read["u_kg"] == pytest.approx(read["expanded_kg"], rel=1e-12)


@every_visit
def test_every_test_reads_back_what_was_measured_against_which_limit(judgement: Judgement) -> None:
    for phase, read in phases(judgement, read_working(stored(judgement))):
        told = [(t["test"], t["required"], t["verdict"], t["words"]) for t in read["tests"]]
        assert told == [(t.test, t.required, t.verdict, t.words) for t in phase.tests]
        for test, line in zip(phase.tests, read["tests"], strict=True):
            for value, name in ((test.measured_kg, "measured"), (test.limit_kg, "limit")):
                assert (Decimal(line[name].removesuffix(" kg")) if name in line else None) == value
            assert line.get("limit_source", "") == test.limit_source
            for load, one in zip(test.loads, line.get("loads", []), strict=True):
                assert (Decimal(one["nominal_kg"]), one["results"], one["verdict"]) == (
                    load.nominal_kg, load.results, load.verdict,
                )  # fmt: skip
                assert Decimal(one["largest_kg"]) - Decimal(one["smallest_kg"]) == Decimal(one["range_kg"])
                assert (Decimal(one["limit_kg"]) if "limit_kg" in one else None) == load.limit_kg


@every_visit
def test_every_phase_reads_back_its_scheme_rule_verdict_and_proven_range(judgement: Judgement) -> None:
    for phase, read in phases(judgement, read_working(stored(judgement))):
        assert (read["scheme"]["name"], read["scheme"]["edition"], read["scheme"]["stage"]) == (
            phase.scheme.name, phase.scheme.edition, phase.scheme.stage,
        )  # fmt: skip
        assert (read["rule"]["name"], Decimal(read["rule"]["guard_ratio"]), read["rule"]["zones"]) == (
            phase.rule.name, phase.rule.guard_ratio, phase.rule.zones,
        )  # fmt: skip
        assert (read["verdict"], read["reasons"], read["proven_words"]) == (
            phase.verdict, list(phase.reasons), phase.proven_words,
        )  # fmt: skip
        if phase.proven is None:
            assert "proven" not in read
        else:
            assert Decimal(read["proven"]["from_kg"]) == phase.proven.from_kg
            assert Decimal(read["proven"]["to_kg"]) == phase.proven.to_kg


def test_the_visit_reads_back_its_span_load_flags_notes_and_weights() -> None:
    judgement = an_adjusted_judgement()

    read = read_working(stored(judgement))

    assert read["span"]["load_kg"] == "300.0"
    assert read["span"]["heavy_enough"] is True
    assert read["span"]["share"] == 1.0
    assert (read["span"]["least"]["share"], read["span"]["least"]["load_kg"]) == ("0.5", "150.0")
    assert (read["span"]["advised"]["share"], read["span"]["advised"]["load_kg"]) == ("0.7", "210.0")
    assert read["span"]["least"]["source"] == STARTING.source_of("least_span_share")
    assert read["flags"] == [flag_document(flag) for flag in judgement.flags] != []
    assert read["notes"] == [flag_document(note) for note in judgement.notes]
    assert [w["piece"] for w in read["weights"]] == [piece.code for piece in judgement.pieces]
    assert read["weights"][0] | {"nominal": None} == {
        "piece": "20.0", "nominal": None, "weight_class": "M1", "certificate": "W-2026-01", "conventional_kg": "20.0",
        "expanded_kg": "0.0003", "k": "2", "valid_from": "2026-01-01", "valid_to": "2026-12-31",
        "standard_uncertainty_kg": 0.00015, "limit_kg": "0.001000",
        "limit_source": "OIML R 111-1:2004 Table 1, from memory, high confidence",
    }  # fmt: skip


def test_it_says_what_it_was_judged_with() -> None:
    read = read_working(stored(an_adjusted_judgement()))

    assert read["version"] == "judgement/2"
    assert {name: read[name] for name in JUDGED_WITH} == JUDGED_WITH


@every_visit
def test_what_points_share_stands_once(judgement: Judgement) -> None:
    working = stored(judgement)

    for name in ("loads", "budgets", "ranges", "weights_checks"):
        told = [json.dumps(item, sort_keys=True) for item in working[name]]
        used = [p[name.removesuffix("s")] for phase in ("as_found", "as_left") if phase in working
                for p in working[phase]["points"] if name.removesuffix("s") in p]  # fmt: skip
        assert len(told) < len(used)
        assert set(used) == set(range(len(told)))


def test_the_lists_that_points_share_are_gone_once_read() -> None:
    read = read_working(stored(an_adjusted_judgement()))

    assert not set(SHARED) & set(read)


def test_left_unadjusted_the_phase_as_left_is_the_phase_as_found_and_is_kept_once() -> None:
    kept = stored(judge(a_case(a_submission(sound_readings()))))

    read = read_working(kept)

    assert "as_left" not in kept
    assert read["as_left"] == read["as_found"]


def test_adjusted_and_not_read_again_there_is_no_phase_as_left() -> None:
    read = read_working(stored(judge(a_case(a_submission(sound_readings(), None, [SPAN])))))

    assert "as_left" not in read
    assert read["as_left_rests_on"] == "nothing"


def test_a_point_without_a_reference_value_still_names_its_pieces() -> None:
    case = a_case(a_submission(sound_readings()))

    judgement = judge(replace(case, pieces={}))

    read = pairs(judgement)[1][1]
    assert (read["verdict"], read["pieces"], "reference_kg" in read, "u_kg" in read) == (
        "undecided",
        ["20.0"],
        False,
        False,
    )


def test_what_the_special_tests_measured_reads_back() -> None:
    working = read_working(stored(VISITS["every test"]))["as_found"]
    points = {p["seq"]: p for p in working["points"] if p["seq"] > 12}
    tests = {t["test"]: t for t in working["tests"]}

    assert points[13]["change_over"] == {
        "added": {"value": "0.04", "unit": "kg"}, "point_kg": "100.01", "error_kg": "0.01",
    }  # fmt: skip
    assert (points[14]["substitutions"], points[14]["reference_kg"], points[14]["unbalanced_kg"]) == (1, "200.1", "0.1")
    assert points[15]["tare"] == {"value": "20.0", "unit": "kg"}
    assert [points[seq]["minutes"] for seq in (16, 17, 18)] == [0, 15, 30]
    assert points[19]["zero_shift"]["kg"] == "0.1"
    assert points[19]["zero_shift"]["source"].endswith("T.N.4.5.3")
    (one,) = tests["difference"]["differences"]
    assert (one["base_seq"], one["seq"], one["added_kg"], one["error_kg"]) == (20, 21, "20.0", "0.1")
    assert (one["limit_kg"], one["answer"]) == ("0.05", "not met")
    assert one["contributions"]
    assert working["clinical"]["answer"] == "not met"
    assert tests["creep"]["limit_source"].startswith("NIST HB 44 (2026) section 2.20 T.N.4.5.1")
