"""The codec of records: what comes out of `document_of` is what `record_from` reads again, digit by digit."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.metrology.mass import Mass, compound
from api.metrology.submission import Submission
from api.records.device import Device, LimitOfUse, ToleranceChoice
from api.records.documents import document_of, read_mass, record_from
from api.records.people import Technician
from api.records.place import Gravity, Site
from api.records.register import KINDS
from tests.metrology.loads_placed import kg

# What the codec must carry: any value of any field of any record kind, digits and all. Texts and numbers are arbitrary
# here, because the codec trusts what the wire's shapes checked before.
DECIMALS = st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-(10**6), max_value=10**6)
MASSES = st.builds(Mass, DECIMALS, st.sampled_from(["kg", "g", "mg", "[lb_av]", "[oz_av]"]))
COMPOUNDS = st.builds(
    lambda pounds, ounces: compound(((Decimal(pounds), "[lb_av]"), (Decimal(ounces) / 10, "[oz_av]"))),
    st.integers(0, 600),
    st.integers(0, 159),
)
# Moments carry a fixed offset, as text does; a clock that shows one hour twice (`fold`) has no text of its own.
OFFSETS = st.sampled_from([UTC, timezone(timedelta(hours=2)), timezone(-timedelta(hours=3, minutes=30))])
WHEN = st.datetimes(timezones=OFFSETS).map(lambda moment: moment.replace(fold=0))
st.register_type_strategy(Decimal, DECIMALS)
st.register_type_strategy(Mass, MASSES | COMPOUNDS)
st.register_type_strategy(datetime, WHEN)
RECORDS = {kind.name: kind.record for kind in KINDS} | {"submission": Submission}


@pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS.keys())
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(data=st.data())
def test_every_kind_of_record_comes_back_as_it_was(record: type[Any], data: st.DataObject) -> None:
    value = data.draw(st.from_type(record))

    again = record_from(record, json.loads(json.dumps(document_of(value))))

    assert again == value
    assert repr(again) == repr(value)  # 10.10 and 10.1 are equal numbers, and not the same reading


A_SITE = Site(
    code="hill",
    name="Hill House",
    latitude_deg=Decimal("46.20"),
    height_m=Decimal(375),
    time_zone="Europe/Zurich",
    gravity=Gravity(Decimal("9.80"), Decimal("0.0010"), "computed"),
)


def test_decimals_travel_as_text_with_their_last_zero() -> None:
    document = document_of(A_SITE)

    assert document["latitude_deg"] == "46.20"
    assert document["gravity"] == {"g_m_s2": "9.80", "standard_uncertainty_m_s2": "0.0010", "source": "computed"}


def test_what_is_not_known_is_left_out_and_false_is_not() -> None:
    document = document_of(A_SITE)

    assert "local_code" not in document
    assert document["legal_verification_required"] is False


def test_a_compound_display_travels_as_its_parts() -> None:
    shown = compound(((Decimal(7), "[lb_av]"), (Decimal("4.50"), "[oz_av]")))

    document = document_of(shown)

    assert document == {"parts": [{"value": "7", "unit": "[lb_av]"}, {"value": "4.50", "unit": "[oz_av]"}]}
    assert (read_mass(document), read_mass(document).shown) == (shown, "7 lb 4.50 oz")
    # 116.5 oz of 0.028 349 523 125 kg each (NIST HB 44 Appendix C)
    assert read_mass(document).kg == Decimal("3.302719444062500").normalize()


def test_very_small_and_large_numbers_have_no_exponent() -> None:
    assert document_of(Mass(Decimal("0.0000001"), "mg")) == {"value": "0.0000001", "unit": "mg"}
    assert document_of(Decimal("1E+3")) == "1000"


def test_days_and_moments_travel_as_iso_text_with_their_offset() -> None:
    device = Device(
        tag="SC-0001",
        serial="A-77",
        model="STAND",
        site="hill",
        ward="W1",
        place="Room 4",
        in_place_since=date(2025, 3, 1),
        state="limited",
        tolerance=ToleranceChoice("hb44"),
        interval_months=12,
        on_register_since=date(2024, 1, 31),
        limit=LimitOfUse(kg("150.0"), "as left", "T-02", date(2026, 12, 31)),
    )

    document = document_of(device)

    assert (document["in_place_since"], document["limit"]["until"]) == ("2025-03-01", "2026-12-31")
    assert record_from(Device, document) == device
    assert document_of(datetime(2026, 3, 2, 9, 0, tzinfo=UTC)) == "2026-03-02T09:00:00+00:00"


def test_an_empty_list_comes_back_as_an_empty_list() -> None:
    technician = Technician("T-07", "hospital", True)

    assert record_from(Technician, document_of(technician)) == technician
