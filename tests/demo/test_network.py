"""The demonstration's register: complete, in order of dependence, its weights within their classes."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from api.demo.days import REGISTER_BEGINS, moment, working_day
from api.demo.entry import wire_of
from api.demo.network import register_entries
from api.demo.weights import LATE_PIECE, SETS
from api.metrology.mass import mass
from api.metrology.weight_classes import class_limit
from api.records.documents import read_mass, record_from
from api.records.register import KINDS

# In which collection each field names an entry of the register.
NAMED_IN = {
    "site": "sites", "ward": "wards", "model": "models", "house_rule": "house-rules", "piece": "weights",
    "decided_by": "technicians", "authorised_by": "technicians",
}  # fmt: skip


def names_in(value: Any) -> list[tuple[str, str]]:
    """Every (collection, key) that a record names, at any depth."""
    if isinstance(value, list):
        return [name for item in value for name in names_in(item)]
    if not isinstance(value, dict):
        return []
    own = [(NAMED_IN[k], v) for k, v in value.items() if k in NAMED_IN and isinstance(v, str)]
    return own + [name for item in value.values() for name in names_in(item)]


def test_every_entry_is_a_record_of_its_collection(world: Any) -> None:
    kinds = {kind.collection: kind for kind in KINDS}

    read = [(entry, record_from(kinds[entry.collection].record, entry.record)) for entry in world.entries]

    assert all(wire_of(record) == entry.record for entry, record in read)
    assert all(getattr(record, kinds[entry.collection].key_field) == entry.key for entry, record in read)


def test_every_entry_names_only_entries_before_it(world: Any) -> None:
    known: set[tuple[str, str]] = set()

    for entry in world.entries:
        assert set(names_in(entry.record)) <= known | {(entry.collection, entry.key)}
        known.add((entry.collection, entry.key))


def test_the_same_day_gives_the_same_register(world: Any) -> None:
    again = register_entries(date(2026, 11, 25))

    assert again == world.entries


def test_twenty_three_scales_of_eight_kinds_stand_at_two_sites(world: Any) -> None:
    models = {e.key: e.record["kind"] for e in world.entries if e.collection == "models"}
    scales = [e.record for e in world.entries if e.collection == "devices"]

    assert len({s["tag"] for s in scales}) == 23
    assert {models[s["model"]] for s in scales} == {
        "stand-on", "chair", "bed", "infant", "wheelchair platform", "dialysis platform", "bed pads", "pharmacy balance",
    }  # fmt: skip
    assert {s["site"] for s in scales} == world.keys("sites") == {"QG", "HM"}


def test_the_revisions_of_one_entry_begin_one_after_the_other(world: Any) -> None:
    begins: dict[tuple[str, str], list[date]] = {}

    for entry in world.entries:
        begins.setdefault((entry.collection, entry.key), []).append(entry.valid_from)

    assert all(days == sorted(set(days)) for days in begins.values())
    assert max(days[-1] for days in begins.values()) <= date(2026, 11, 25)


@pytest.mark.parametrize("plan", SETS, ids=lambda plan: plan.code)
def test_every_piece_lies_within_its_class_with_its_uncertainty(world: Any, plan: Any) -> None:
    # OIML R 111-1:2004 5.3: |m - nominal| <= limit - U, with U at most a third of the limit (5.2); from memory.
    certified = [
        (read_mass(p["as_left"]).kg, read_mass(p["expanded_uncertainty"]).kg, p["piece"])
        for e in world.entries if e.collection == "weight-certificates" for p in e.record["pieces"]
    ]  # fmt: skip

    for code, nominal in plan.pieces:
        limit = class_limit(plan.weight_class, nominal).kg
        own = [(value, u) for value, u, piece in certified if piece == code]
        assert own
        assert all(abs(value - nominal.kg) <= limit - u for value, u in own)
        assert all(u <= limit / 3 * Decimal("1.02") for _, u in own)


def test_every_piece_but_one_has_one_certificate_in_force_on_every_day(world: Any) -> None:
    days = [date(2026, 11, 25) - timedelta(days=n) for n in range(-400, REGISTER_BEGINS, 7)]
    in_force: dict[str, list[tuple[str, str]]] = {}

    for entry in world.entries:
        if entry.collection == "weight-certificates":
            for certified in entry.record["pieces"]:
                window = (entry.record["valid_from"], entry.record["valid_to"])
                in_force.setdefault(certified["piece"], []).append(window)

    for piece in world.keys("weights"):
        counts = {sum(first <= day.isoformat() <= last for first, last in in_force[piece]) for day in days}
        assert counts == ({0, 1} if piece == LATE_PIECE else {1})


def test_each_heavy_set_makes_220_kg_and_the_fine_ones_21_kg_and_4_110_g(world: Any) -> None:
    sets = {e.key: e.record["members"] for e in world.entries if e.collection == "weight-sets"}

    sums = {code: sum(world.nominal_kg(m["piece"]) for m in members) for code, members in sets.items()}

    assert sums == {
        "FS-1": mass("220", "kg").kg, "FS-2": mass("220", "kg").kg, "IN-1": mass("21", "kg").kg,
        "PH-1": mass("4110", "g").kg,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("days", "expected"), [(0, "2026-11-25"), (2, "2026-11-23"), (3, "2026-11-20"), (4, "2026-11-20")]
)
def test_a_day_at_the_weekend_goes_back_to_its_friday(days: int, expected: str) -> None:
    assert working_day(date(2026, 11, 25), days).isoformat() == expected


def test_moments_carry_the_offset_of_the_season() -> None:
    # Mountain Time: UTC-6 in daylight time, UTC-7 in standard time (15 U.S.C. 260a, 261).
    assert moment(date(2026, 10, 14), 540).isoformat() == "2026-10-14T09:00:00-06:00"
    assert moment(date(2026, 11, 24), 540).isoformat() == "2026-11-24T09:00:00-07:00"
