"""What goes offline says what the answers say one by one: on the invented network, with two years of visits on record."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from sqlalchemy import Connection

from api.answers.bundle import bundle_for
from api.answers.due import due_list, due_of
from api.answers.may_i_use import use_of
from api.answers.plan import plan_for
from api.answers.scales_offline import scales_offline
from api.database import in_sight_of, make_engine, reading
from api.demo.between_visits import told_between
from api.demo.history import visits
from api.queries.calibrations import history_of
from api.queries.devices import devices_in_force
from api.queries.log import head, moment_of
from api.queries.register import all_in_force, find_in_force
from api.queries.weights import pieces_on
from api.records.bundle import Bundle, BundleAsked
from api.records.cautions import CAUTIONS
from api.records.documents import read_mass
from api.records.plan import PlanAsked
from api.records.problems import NotOnRecord
from api.settings import Settings
from tests.filled_record import TODAY, copy_of, door_to
from tests.record.visits_kept import keep

DAYS = [TODAY, date(2026, 6, 1), date(2025, 8, 15)]


@pytest.fixture(scope="module")
def filled(registered: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Settings]:
    with copy_of(registered, tmp_path_factory.mktemp("filled")) as settings:
        engine = make_engine(settings.database_url)
        keep(engine, visits(TODAY))
        engine.dispose()
        with door_to(settings) as client:
            assert {client.put(path, json=body).status_code for path, body in told_between(TODAY)} == {201}
        yield settings


@pytest.fixture
def world(filled: Settings) -> Iterator[Connection]:
    engine = make_engine(filled.database_url)
    with reading(engine) as connection:
        yield connection
    engine.dispose()


def bundle(world: Connection, site: str = "QG", on: date = TODAY, **asked: Any) -> Bundle:
    return bundle_for(world, BundleAsked(site, on, **asked))


@pytest.mark.parametrize("on", DAYS)
def test_what_it_says_of_every_scale_is_what_the_answers_say(world: Connection, on: date) -> None:
    devices = [device for device in devices_in_force(world, on=on) if device.record.state != "retired"]
    assert len(devices) > 10

    told, _ = scales_offline(world, devices, BundleAsked("QG", on))

    for scale in told:
        assert scale.use == use_of(world, scale.device, on=on), scale.device
        assert scale.due == due_of(world, scale.device, on=on), scale.device
        plan = plan_for(world, scale.device, PlanAsked(on))
        assert (scale.plan, scale.plan_digest, scale.why_no_plan) == (plan.plan, plan.digest, None)


@pytest.mark.parametrize("site", ["QG", "HM"])
def test_the_scales_are_the_due_list_of_the_site(world: Connection, site: str) -> None:
    assert [scale.due for scale in bundle(world, site).devices] == due_list(world, on=TODAY, site=site)


def test_how_each_was_left_is_what_its_newest_judged_visit_shows(world: Connection) -> None:
    left = {scale.device: scale.last_left for scale in bundle(world).devices}

    found = [tag for tag, last in left.items() if last is not None]
    assert len(found) > 8
    for tag in found:
        last = left[tag]
        assert last is not None
        device = find_in_force(world, "device", tag, on=TODAY)
        assert device is not None
        newest = next(c for c in history_of(world, *device.record.tags) if c.as_left is not None)
        assert (last.calibration, last.verdict, last.standing) == (newest.calibration, newest.as_left, newest.standing)
        phase = newest.working["as_left" if last.rests_on == "as left" else "as_found"]
        said = [(p["test"], read_mass(p["indication"]).kg, p["verdict"], p.get("printed_kg")) for p in phase["points"]]
        assert said
        printed = [(p.test, p.indication_kg, p.verdict, p.expanded_kg and str(p.expanded_kg)) for p in last.points]
        assert printed == said


def test_the_open_flags_are_those_of_visits_that_nobody_has_reviewed(world: Connection) -> None:
    for site in ("QG", "HM"):
        for scale in bundle(world, site).devices:
            history = history_of(world, *scale.record.tags)
            expected = [(c.calibration, f.code) for c in history if c.standing == "provisional" for f in c.flags]
            assert [(flag.calibration, flag.code) for flag in scale.open_flags] == expected


def test_the_set_that_is_taken_along_stands_in_the_plans_with_its_pieces(world: Connection) -> None:
    found = bundle(world, weight_set="FS-1")

    pieces = pieces_on(world, tuple(weight.code for weight in found.weights), TODAY)
    assert [held.code for held in found.weight_sets] == ["FS-1"]
    for weight in found.weights:
        said = pieces[weight.code].certificate
        assert weight.held is None
        assert (weight.certificate, weight.valid_to) == ((said.number, said.valid_to) if said else (None, None))
    for scale in found.devices:
        assert scale.plan == plan_for(world, scale.device, PlanAsked(TODAY, "FS-1")).plan


def test_where_the_set_does_not_do_the_plan_is_without_pieces_and_says_why(world: Connection) -> None:
    late = date(2035, 1, 1)

    found = bundle(world, on=late, weight_set="FS-1")

    for scale in found.devices:
        assert scale.plan == plan_for(world, scale.device, PlanAsked(late)).plan
        assert "certificate in force" in (scale.why_no_pieces or "")
    assert all(weight.certificate is None and weight.lapsed for weight in found.weights)


def test_everything_that_a_scale_names_is_in_it(world: Connection) -> None:
    for site in ("QG", "HM"):
        found = bundle(world, site)
        assert {scale.record.model for scale in found.devices} == {model.code for model in found.models}
        assert {scale.record.ward for scale in found.devices} <= {ward.code for ward in found.wards}
        rules = {scale.record.tolerance.house_rule for scale in found.devices} - {None}
        assert rules == {rule.code for rule in found.house_rules}
        planned = {code for scale in found.devices if scale.plan for code in scale.plan.cautions}
        assert planned <= {caution.code for caution in found.cautions}
        assert all(caution.text == CAUTIONS[caution.code] for caution in found.cautions)
        assert {"C-14", "C-17"} <= {caution.code for caution in found.cautions}
        numbers = {d.key: d.number for d in all_in_force(world, "device", on=TODAY)}
        assert all(scale.revision == numbers[scale.device] for scale in found.devices)


def test_a_ward_has_its_own_scales_only_and_the_technician_who_goes(world: Connection) -> None:
    found = bundle(world, ward="QG-CDU", technician="T-01")

    assert {scale.record.ward for scale in found.devices} == {"QG-CDU"}
    assert [ward.code for ward in found.wards] == ["QG-CDU"]
    assert [who.code for who in found.technicians] == ["T-01"]


def test_it_rests_on_the_newest_entry_of_what_it_holds(world: Connection) -> None:
    found = {site: bundle(world, site) for site in ("QG", "HM")}

    newest = head(world).number
    assert all(0 < one.log_number <= newest for one in found.values())
    assert newest in {one.log_number for one in found.values()}
    assert all(one.log_moment == moment_of(world, one.log_number) for one in found.values())


@pytest.mark.parametrize("asked", [{"site": "NOWHERE"}, {"ward": "NOWHERE"}, {"ward": "HM-ICU"}, {"weight_set": "X"},
                                   {"technician": "X"}])  # fmt: skip
def test_what_is_not_there_is_refused(world: Connection, asked: dict[str, str]) -> None:
    with pytest.raises(NotOnRecord):
        bundle(world, **asked)


def test_another_site_is_refused_like_one_that_there_is_not(filled: Settings) -> None:
    engine = make_engine(filled.database_url)
    with reading(in_sight_of(engine, frozenset({"HM"}))) as connection:
        assert bundle(connection, "HM").devices
        with pytest.raises(NotOnRecord, match="QG"):
            bundle(connection, "QG")
    engine.dispose()
