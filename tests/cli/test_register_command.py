"""`steelyard register`: entities from JSON or CSV, all of a file or none of it."""

import json
from pathlib import Path
from typing import Any

import pytest

from api.settings import Settings
from tests.cli.conftest import Run
from tests.filled_record import rows

SITE = {"code": "S-1", "name": "Testing House", "latitude_deg": "40.0", "height_m": "120", "time_zone": "UTC"}
WARD = {
    "code": "W-1", "site": "S-1", "name": "Day ward", "use_tier": "monitoring", "call_role": "nurse in charge",
    "call_number": "extension 1",
}  # fmt: skip
WEIGHTS = """\
code,site,nominal,weight_class,state,custodian,has_cavity,valid_from
P-20,S-1,20 kg,M1,active,store,true,2026-01-01
P-10,S-1,10.0 kg,M1,active,store,,2026-02-01
"""


@pytest.fixture
def at_site(steelyard: Run, tmp_path: Path) -> Run:
    """Run commands on a record that holds one site, which wards and weights name."""
    done = steelyard("register", "site", a_file(tmp_path, "s.json", {"valid_from": "2026-01-01", "record": SITE}))
    assert done.exit_code == 0, done.output
    return steelyard


def a_file(folder: Path, name: str, content: Any) -> str:
    file = folder / name
    file.write_text(content if isinstance(content, str) else json.dumps(content), "utf-8")
    return str(file)


def shown(steelyard: Run, *asked: str) -> Any:
    said = steelyard("show", *asked)
    assert said.exit_code == 0, said.output
    return json.loads(said.output)


def test_a_json_file_with_one_entity_puts_it_on_the_register(steelyard: Run, tmp_path: Path) -> None:
    file = a_file(tmp_path, "site.json", {"valid_from": "2026-01-01", "record": SITE})

    said = steelyard("register", "site", file, "--by", "T-07")

    assert (said.exit_code, said.output) == (0, "1 new revisions, 0 already so.\n")
    found = shown(steelyard, "site", "S-1", "--on", "2026-01-01")
    assert (found["number"], found["recorded_by"], found["valid_from"]) == (1, "T-07", "2026-01-01")
    assert found["record"]["height_m"] == "120"


def test_a_json_list_is_put_on_the_register_and_what_it_says_already_is_left_alone(
    at_site: Run, tmp_path: Path
) -> None:
    items = [{"valid_from": "2026-01-01", "record": WARD | {"code": f"W-{n}"}} for n in range(3)]
    at_site("register", "ward", a_file(tmp_path, "one.json", items[:1]))

    said = at_site("register", "ward", a_file(tmp_path, "all.json", items))

    assert said.output == "2 new revisions, 1 already so.\n"


def test_the_day_may_be_told_beside_the_file_and_the_file_goes_before(at_site: Run, tmp_path: Path) -> None:
    items = [{"record": WARD | {"code": "W-A"}}, {"valid_from": "2026-03-01", "record": WARD | {"code": "W-B"}}]

    at_site("register", "ward", a_file(tmp_path, "wards.json", items), "--valid-from", "2026-02-01")

    found = {item["key"]: item["valid_from"] for item in shown(at_site, "ward", "--on", "2026-12-01")}
    assert found == {"W-A": "2026-02-01", "W-B": "2026-03-01"}


def test_a_csv_row_is_an_entity_with_its_masses_zeros_and_yes_or_no(at_site: Run, tmp_path: Path) -> None:
    said = at_site("register", "weight", a_file(tmp_path, "weights.csv", WEIGHTS))

    assert (said.exit_code, said.output) == (0, "2 new revisions, 0 already so.\n")
    found = {item["key"]: item for item in shown(at_site, "weight", "--on", "2026-12-01")}
    assert found["P-10"]["record"]["nominal"] == {"value": "10.0", "unit": "kg"}
    assert found["P-20"]["record"]["has_cavity"] is True
    assert "has_cavity" not in found["P-10"]["record"]
    assert found["P-10"]["valid_from"] == "2026-02-01"


def test_a_csv_from_a_spreadsheet_with_a_mark_at_its_start_and_dotted_columns_is_read(
    steelyard: Run, tmp_path: Path
) -> None:
    text = (
        "\ufeffcode,name,latitude_deg,height_m,time_zone,gravity.g_m_s2,gravity.standard_uncertainty_m_s2,"
        "gravity.source\r\nS-2,Hill House,39.7,1650,UTC,9.796340,0.00057,by latitude and height\r\n,,,,,,,\r\n"
    )

    said = steelyard("register", "site", a_file(tmp_path, "sites.CSV", text), "--valid-from", "2026-01-01")

    assert said.output == "1 new revisions, 0 already so.\n"
    gravity = shown(steelyard, "site", "S-2", "--on", "2026-01-01")["record"]["gravity"]
    assert gravity == {
        "g_m_s2": "9.796340", "standard_uncertainty_m_s2": "0.00057", "source": "by latitude and height",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("bad.csv", WEIGHTS.replace("10.0 kg", "ten kg"), ["line 3 #/record/nominal/value"]),
        ("bad.csv", WEIGHTS.replace("10.0 kg", "10.0 lb"), ["line 3 #/record/nominal", "[lb_av]"]),
        (
            "bad.csv",
            WEIGHTS.replace("custodian", "keeper"),
            ["line 2 #/record/keeper:", "line 2 #/record: custodian: Missing"],
        ),
        ("bad.csv", WEIGHTS.replace("2026-02-01", "1 Feb 2026"), ["line 3 #/valid_from"]),
        ("bad.json", '{"record": {"code": "P-1", "code": "P-2"}}', ["#: The name 'code' stands twice"]),
        ("bad.json", '[{"valid_from": "2026-01-01"}]', ["item 1 #: record: Missing"]),
        ("bad.json", "[", ["#"]),
        ("bad.json", '[{"valid_from": "2026-01-01", "record": NaN}]', ["NaN"]),
    ],
)
def test_a_bad_file_is_told_with_its_place_and_nothing_of_it_is_kept(
    at_site: Run, settings: Settings, tmp_path: Path, name: str, content: str, told: list[str]
) -> None:
    before = rows(settings)

    said = at_site("register", "weight", a_file(tmp_path, name, content))

    assert said.exit_code == 1
    for words in told:
        assert words in said.output
    assert "Traceback" not in said.output
    assert rows(settings) == before


def test_the_faults_of_every_row_are_told_at_once_up_to_a_hundred(at_site: Run, tmp_path: Path) -> None:
    first, *_ = WEIGHTS.splitlines()
    lines = [f"P-{n},S-1,{'ten' if n % 2 else n} kg,M1,active,store,,2026-01-01" for n in range(1, 401)]

    few = at_site("register", "weight", a_file(tmp_path, "few.csv", "\n".join([first, *lines[:6]])))
    many = at_site("register", "weight", a_file(tmp_path, "many.csv", "\n".join([first, *lines])))

    told = [line.split("#")[0].strip() for line in few.output.splitlines()[1:]]
    assert (few.exit_code, many.exit_code) == (1, 1)
    assert told == ["line 2", "line 4", "line 6"]
    assert len(many.output.splitlines()) == 102
    assert many.output.endswith("  and more\n")


def test_a_refused_entity_takes_the_whole_file_with_it(at_site: Run, settings: Settings, tmp_path: Path) -> None:
    """Two keys that fold to one label address: the second is refused, so that the first is not kept either."""
    items = [{"valid_from": "2026-01-01", "record": WARD | {"code": code}} for code in ("W-1", "w-1")]
    before = rows(settings)

    said = at_site("register", "ward", a_file(tmp_path, "twins.json", items))

    assert said.exit_code == 1
    assert "belongs to 'W-1' for good" in said.output
    assert "Nothing of the file was kept." in said.output
    assert rows(settings) == before


def test_an_unknown_kind_names_the_kinds_there_are(steelyard: Run, tmp_path: Path) -> None:
    said = steelyard("register", "scale", a_file(tmp_path, "site.json", {}))

    assert said.exit_code == 2
    assert "'device'" in said.output
