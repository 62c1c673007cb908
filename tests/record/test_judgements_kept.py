"""What was judged is what is kept: the working read back, the points and pieces by row, the certificate by its digest."""

import hashlib
import json
from collections import defaultdict
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Engine, select

from api.answers.check import check
from api.database import reading
from api.demo.history import visits
from api.ledger.digests import digest_of
from api.models.record import CONTENT, FLAG, JUDGED_POINT, JUDGEMENT, READING_PIECE, STANDING
from api.queries.calibrations import calibration
from api.queries.certificates import every_certificate
from api.records.documents import read_mass
from api.records.working import read_working
from schemas.submission import submission_of
from tests.doors import an_id, example, reading_of
from tests.filled_record import NOON, TODAY
from tests.record.visits_kept import keep

VISITS = dict(visits(TODAY))


def as_stored(value: Any) -> Any:
    return json.loads(json.dumps(value))


def test_the_working_read_back_is_what_the_judgement_said(world: Connection) -> None:
    for name, body in VISITS.items():
        checked = check(world, submission_of(body | {"id": name}), body, at=NOON)

        kept = calibration(world, name)

        assert kept.working == as_stored(checked.working)
        assert (kept.as_found, kept.as_left) == (checked.as_found, checked.as_left)


def test_the_content_read_back_is_what_was_sent(world: Connection) -> None:
    for name, body in VISITS.items():
        kept = calibration(world, name)

        assert kept.content == body
        assert kept.digest == f"sha256:{hashlib.sha256(json.dumps(body).encode()).hexdigest()}"


def test_every_working_fits_its_digest(world: Connection) -> None:
    rows = world.execute(select(JUDGEMENT)).all()

    assert len(rows) == len(VISITS)
    assert all(digest_of(row.working.encode()) == row.working_digest for row in rows)
    assert {row.working_version for row in rows} == {"judgement/2"}
    assert all(row.number == 1 and row.program for row in rows)


def test_every_judged_point_is_a_row_with_the_figures_of_the_working(world: Connection) -> None:
    rows: dict[str, dict[tuple[str, int], Any]] = defaultdict(dict)
    for row in world.execute(select(JUDGED_POINT)):
        rows[row.calibration][row.phase, row.seq] = row

    for name in VISITS:
        kept = calibration(world, name)
        points = {(phase, p["seq"]): p for phase in ("as_found", "as_left") for p in own_points(kept, phase)}
        assert set(rows[name]) == set(points)
        for place, point in points.items():
            assert_row_of(rows[name][place], point)


def own_points(kept: Any, phase: str) -> list[dict[str, Any]]:
    if phase == "as_left" and kept.working.get("as_left_rests_on") != "own readings":
        return []
    points: list[dict[str, Any]] = kept.working.get(phase, {}).get("points", [])
    return points


def assert_row_of(row: Any, point: dict[str, Any]) -> None:
    assert (row.test, row.verdict) == (point["test"], point["verdict"])
    assert Decimal(row.indication_kg) == read_mass(point["indication"]).kg
    figures = {
        "load_kg": "nominal_kg",
        "error_kg": "error_kg",
        "tolerance_kg": "tolerance_kg",
        "expanded_kg": "printed_kg",
    }
    for column, name in figures.items():
        kept, said = getattr(row, column), point.get(name)
        assert (None if kept is None else Decimal(kept)) == (None if said is None else Decimal(said)), column


def test_every_piece_in_a_reading_is_found_by_piece_and_day(world: Connection) -> None:
    found: dict[tuple[str, str, str], tuple[list[int], str]] = {}
    for row in world.execute(select(READING_PIECE)):
        seqs = [int(seq) for seq in row.readings.split(",")]
        found[row.calibration, row.phase, row.piece] = (seqs, row.performed_on)

    sent: dict[tuple[str, str, str], tuple[list[int], str]] = {}
    for name, body in VISITS.items():
        for phase in ("as_found", "as_left"):
            for taken in body.get(phase, {}).get("readings", ()):
                for piece in taken.get("pieces", ()):
                    place = (name, phase, piece)
                    sent.setdefault(place, ([], body["performed"]["start"][:10]))[0].append(taken["seq"])
    assert found == sent


def test_a_piece_placed_twice_in_one_reading_is_found_once(engine: Engine) -> None:
    body = example()
    reading_of(body, "increasing", load="50")["pieces"] = ["FS1-20-01", "FS1-20-01", "FS1-10"]
    keep(engine, [(an_id(), body)])

    with reading(engine) as connection:
        kept = connection.execute(select(READING_PIECE).where(READING_PIECE.c.piece == "FS1-20-01")).all()

    assert [row.readings.split(",").count("5") for row in kept] == [1]


def test_every_certificate_is_bytes_that_fit_their_digest_and_hold_what_was_sent_and_judged(world: Connection) -> None:
    certificates = every_certificate(world)
    assert certificates

    for stored in certificates:
        document = json.loads(stored.document)
        kept = calibration(world, stored.calibration)
        assert digest_of(stored.document) == stored.digest
        assert (document["number"], document["calibration"]) == (stored.number, kept.calibration)
        assert (document["content"], document["content_digest"]) == (kept.content, kept.digest)
        assert read_working(document["judgement"]) == kept.working
        assert kept.standing == "released"


def test_what_is_flagged_has_no_certificate_and_what_is_measured_and_unflagged_has_one(world: Connection) -> None:
    flagged = set(world.scalars(select(FLAG.c.calibration)))
    standing = {row.calibration: row.standing for row in world.execute(select(STANDING))}

    for name, body in VISITS.items():
        kept = calibration(world, name)
        assert standing[name] == ("provisional" if name in flagged else "released")
        measured = "as_found" in body or "as_left" in body
        assert (kept.certificate is not None) is (measured and name not in flagged)


def test_the_verdict_the_app_sent_is_kept_beside_ours(world: Connection) -> None:
    rows = {row.calibration: row for row in world.execute(select(JUDGEMENT))}

    for name, body in VISITS.items():
        app = body.get("app_verdict", {})
        assert (rows[name].app_as_found, rows[name].app_as_left) == (app.get("as_found"), app.get("as_left"))


def test_register_keys_are_kept_beside_what_was_sent_and_empty_where_unknown(engine: Engine) -> None:
    keep(engine, [(an_id(), example() | {"device": "Z-99", "technicians": ["T-99"], "ward": "QG-NOWHERE"})])

    with reading(engine) as connection:
        row = connection.execute(select(CONTENT)).one()

    assert (row.device_as_sent, row.technician_as_sent, row.ward_as_sent) == ("Z-99", "T-99", "QG-NOWHERE")
    assert (row.device, row.technician, row.ward) == (None, None, None)
