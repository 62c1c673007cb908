"""A file into the record: tried out without a trace, kept whole or not at all, the same however often, undone by a word."""

import json
import uuid
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine, select

from api.actions.amend_calibration import amend_calibration
from api.actions.commit_import import commit_import
from api.actions.end_import import give_up_import, undo_import
from api.actions.receive_import import FileReceived, receive_import
from api.actions.release_calibration import release_calibration
from api.actions.void_calibration import void_calibration
from api.answers.as_left import visits_that_stand
from api.cli import import_work
from api.database import reading, unit_of_work
from api.demo.entry import Entry
from api.keeping.content import Arrived
from api.keeping.record_in_hand import Act
from api.keeping.standing import Word
from api.ledger.chain import first_break
from api.ledger.digests import digest_of
from api.metrology.policy import STARTING
from api.models.log import LOG_ENTRY
from api.queries.calibrations import history_of
from api.records.calibration import Calibration
from api.records.documents import document_of
from api.records.life import AmendmentAsked, FlagAnswer, ReleaseAsked, VoidAsked
from api.records.problems import ImportNotReady, TooManyRejected, TriedOtherwise
from api.settings import Settings
from schemas.submission import submission_of
from tests.doors import example, without
from tests.filled_record import NOON, TODAY, kept_tables, put_register, rows
from tests.imports.importing import A_PROFILE, LINES, committed, imported, profile_from, rows_of, told_of, tried

HEAD = b"Tag;Day;Found;Left;Note\n"
TWO = HEAD + b"A-04;2024-03-14;100.0;;\nA-05;2024-03-14;100.0;100.1;\n"
ONE_WRONG = TWO + b"A-06;2024-03-14;100,0;;\n"
PROFILE = profile_from(A_PROFILE)
LINE = json.dumps(example()).encode() + b"\n"
WORD = Word("T-09", NOON, "the wrong file")


def history(engine: Engine, tag: str) -> tuple[Calibration, ...]:
    with reading(engine) as connection:
        return history_of(connection, tag)


def kept(settings: Settings) -> dict[str, int]:
    """How many rows there are in the tables that are kept for ever."""
    counted = rows(settings)
    return {table: counted[table] for table in (*kept_tables(), "sealed")}


def test_a_trial_leaves_no_trace_on_the_record_and_says_what_the_commit_then_does(
    engine: Engine, settings: Settings
) -> None:
    before = kept(settings)

    told = tried(engine, TWO, PROFILE)
    after, done = kept(settings), committed(engine, told)

    assert after == before
    assert told.state == "tried out"
    assert done.kept == told.tried
    assert kept(settings)["content"] == before["content"] + 2


@pytest.mark.parametrize("content", [TWO, ONE_WRONG, HEAD + b";;;;\nTotal;;;;\n", TWO + TWO])
def test_the_totals_add_up(engine: Engine, content: bytes) -> None:
    told = tried(engine, content, PROFILE)

    assert told.tried is not None
    r, v = told.tried.rows, told.tried.visits
    assert r.read == r.created + r.replayed + r.noted + r.rejected + r.skipped == content.count(b"\n")
    listed = rows_of(engine, told.file_import)
    assert sum(row.rows for row in listed) == r.read
    assert v.created + v.replayed + v.noted + v.rejected == sum(row.status != "skipped" for row in listed)


def test_an_imported_record_says_where_it_comes_from_and_has_no_certificate(engine: Engine) -> None:
    imported(engine, TWO, PROFILE)

    (found,) = history(engine, "A-05")
    origin = found.imported
    assert origin is not None
    assert found.certificate is None
    assert (origin.line, origin.file_digest, origin.profile) == (3, digest_of(TWO), "old-system")
    assert "weights" in origin.lacks
    assert origin.partial


def test_a_full_old_record_is_released_without_a_certificate_and_is_not_partial(engine: Engine) -> None:
    imported(engine, json.dumps(example()).encode() + b"\n", profile_from(LINES))

    (found,) = history(engine, "A-04")
    assert (found.standing, found.as_found, found.certificate) == ("released", "pass", None)
    assert found.imported is not None
    assert not found.imported.partial
    assert found.digest == digest_of(json.dumps(example()).encode())


def test_each_record_has_its_own_entry_in_a_log_that_holds(engine: Engine) -> None:
    imported(engine, TWO, PROFILE)

    with reading(engine) as connection:
        found = connection.execute(select(LOG_ENTRY).order_by(LOG_ENTRY.c.number)).mappings().all()
    entries = [{str(name): value for name, value in row.items()} for row in found]
    kinds = [entry["kind"] for entry in entries[-4:]]
    assert kinds == ["import begun", "calibration imported", "calibration imported", "import done"]
    assert first_break((entry, entry.pop("hash")) for entry in entries) is None


def test_the_same_file_again_adds_nothing(engine: Engine, settings: Settings) -> None:
    imported(engine, TWO, PROFILE)
    before = kept(settings)

    again = imported(engine, TWO, PROFILE)

    assert again.kept is not None
    assert (again.kept.rows.replayed, again.kept.rows.created, again.kept.rows.noted) == (2, 0, 0)
    # What was begun and done is in the log; nothing else is new.
    more = {table: count - before[table] for table, count in kept(settings).items() if count != before[table]}
    assert more == {"log_entry": 2, "log_touch": 2, "sealed": 2}


def test_the_same_rows_saved_by_another_program_add_nothing(engine: Engine) -> None:
    imported(engine, TWO, PROFILE)

    resaved = b"\xef\xbb\xbf" + TWO.replace(b"A-04", b'"A-04"').replace(b"\n", b"\r\n")
    again = imported(engine, resaved, PROFILE)

    assert again.kept is not None
    assert again.kept.visits.replayed == 2


def test_one_refused_row_keeps_a_whole_file_out(engine: Engine, settings: Settings) -> None:
    before = kept(settings)
    told = tried(engine, ONE_WRONG, PROFILE)

    with pytest.raises(TooManyRejected, match="1 visits are refused"):
        committed(engine, told)

    assert kept(settings) == before


@pytest.mark.parametrize(("limit", "is_kept"), [(0, False), (1, True)])
def test_each_row_for_itself_is_kept_up_to_the_reject_limit(engine: Engine, limit: int, is_kept: bool) -> None:
    told = tried(engine, ONE_WRONG, PROFILE, "each", limit)

    if not is_kept:
        with pytest.raises(TooManyRejected, match="at most 0"):
            committed(engine, told)
        return
    done = committed(engine, told)

    assert done.kept is not None
    assert (done.kept.visits.noted, done.kept.visits.rejected) == (2, 1)
    assert len(history(engine, "A-04")) == 1


def test_a_commit_is_bound_to_what_was_tried(engine: Engine) -> None:
    told = tried(engine, TWO, PROFILE)

    with pytest.raises(TriedOtherwise):
        committed(engine, replace(told, etag="another"))


def test_a_register_that_moved_has_to_be_tried_against_again(engine: Engine, settings: Settings) -> None:
    told = tried(engine, TWO, PROFILE)
    put_register(settings.database_url, [Entry("import-profiles", "another", TODAY, A_PROFILE | {"code": "another"})])

    with pytest.raises(TriedOtherwise, match="try it out again"):
        committed(engine, told)


def test_what_is_not_tried_out_cannot_be_committed(engine: Engine) -> None:
    told = tried(engine, TWO, profile_from(A_PROFILE | {"decimal": ","} | {"days": "year-month-day", "unit": "kg"}))
    open_ = tried(engine, TWO, profile_from({n: v for n, v in A_PROFILE.items() if n != "decimal"}))

    assert told.state == "tried out"
    assert open_.state == "profiled"
    with pytest.raises(ImportNotReady, match="profiled"):
        committed(engine, open_)


def test_an_old_verdict_that_is_not_ours_is_noted_with_both(engine: Engine) -> None:
    claimed = example() | {"app_verdict": {"as_found": "fail"}}

    told = imported(engine, json.dumps(claimed).encode() + b"\n", profile_from(LINES))

    (row,) = rows_of(engine, told.file_import)
    (note,) = [fault for fault in row.faults if fault.code == "app-verdict-differs"]
    assert (row.status, row.as_found) == ("noted", "pass")
    assert "fail" in note.message
    assert "pass" in note.message


def test_what_was_performed_after_now_is_refused(engine: Engine) -> None:
    begins = datetime.now(UTC) + timedelta(hours=1)
    performed = {"start": begins.isoformat(), "end": begins.isoformat()}

    told = tried(engine, json.dumps(example() | {"performed": performed}).encode() + b"\n", profile_from(LINES))

    (row,) = rows_of(engine, told.file_import)
    assert [fault.code for fault in row.faults] == ["performed-in-future"]


def test_an_id_that_holds_another_record_is_refused_with_where_they_differ(engine: Engine) -> None:
    line = {"calibration": "0193f0aa-0000-7000-8000-000000000001", "content": example()}
    imported(engine, json.dumps(line).encode() + b"\n", profile_from(LINES))
    line["content"] = example() | {"purpose": "audit"}

    told = tried(engine, json.dumps(line).encode() + b"\n", profile_from(LINES))

    (row,) = rows_of(engine, told.file_import)
    assert [fault.code for fault in row.faults] == ["content-differs"]
    assert "#/purpose" in row.faults[0].message


def test_a_line_of_an_export_is_the_record_it_names(engine: Engine) -> None:
    line = {"calibration": "0193f0aa-0000-7000-8000-000000000001", "standing": "released", "content": example()}

    first = imported(engine, json.dumps(line).encode() + b"\n", profile_from(LINES))
    again = imported(engine, json.dumps(line | {"standing": "void"}).encode() + b"\n", profile_from(LINES))

    assert rows_of(engine, first.file_import)[0].calibration == line["calibration"]
    assert again.kept is not None
    assert again.kept.visits.replayed == 1


def test_an_import_that_is_undone_leaves_its_records_void_and_none_deleted(engine: Engine, settings: Settings) -> None:
    done = imported(engine, TWO, PROFILE)
    before = kept(settings)

    undone = unit_of_work(engine, lambda c: undo_import(c, done.file_import, WORD))

    assert undone.state == "undone"
    assert {found.standing for found in (*history(engine, "A-04"), *history(engine, "A-05"))} == {"void"}
    assert kept(settings)["content"] == before["content"]
    with pytest.raises(ImportNotReady):
        unit_of_work(engine, lambda c: undo_import(c, done.file_import, WORD))


def test_a_file_that_was_undone_comes_in_again_as_new_records(engine: Engine) -> None:
    done = imported(engine, TWO, PROFILE)
    unit_of_work(engine, lambda c: undo_import(c, done.file_import, WORD))

    again, third = imported(engine, TWO, PROFILE), imported(engine, TWO, PROFILE)

    assert again.kept is not None
    assert third.kept is not None
    assert (again.kept.visits.noted, third.kept.visits.replayed) == (2, 2)
    assert sorted(found.standing for found in history(engine, "A-04")) == ["provisional", "void"]


def test_what_a_person_made_void_is_not_brought_in_again_by_the_same_file(engine: Engine) -> None:
    imported(engine, TWO, PROFILE)
    (found,) = history(engine, "A-04")
    act = Act("QG", found.calibration, "S-01", NOON, b"{}")
    unit_of_work(engine, lambda c: void_calibration(c, act, VoidAsked("it was of another scale")))

    again = imported(engine, TWO, PROFILE)

    assert again.kept is not None
    assert again.kept.visits.replayed == 2
    assert [one.standing for one in history(engine, "A-04")] == ["void"]


def test_an_import_that_is_undone_takes_amendments_of_its_records_with_it(engine: Engine) -> None:
    done = imported(engine, LINE, profile_from(LINES))
    (found,) = history(engine, "A-04")
    body = example() | {"remarks": "the sheet was found"}
    arrived = Arrived(found.calibration, json.dumps(body).encode(), body, "S-01", NOON)
    asked = AmendmentAsked(found.digest, "the sheet was found", submission_of(body))
    unit_of_work(engine, lambda c: amend_calibration(c, arrived, "QG", asked))

    unit_of_work(engine, lambda c: undo_import(c, done.file_import, WORD))

    assert [(one.revision, one.standing) for one in history(engine, "A-04")] == [(2, "void"), (1, "void")]


def test_a_person_releases_an_old_record_and_no_certificate_comes_of_it(engine: Engine) -> None:
    imported(engine, TWO, PROFILE)
    (found,) = history(engine, "A-04")
    assert found.standing == "provisional"
    codes = tuple(dict.fromkeys(flag.code for flag in found.flags))
    asked = ReleaseAsked(found.digest, 1, tuple(FlagAnswer(code, "as the old sheet has it") for code in codes))

    told = unit_of_work(
        engine, lambda c: release_calibration(c, Act("QG", found.calibration, "S-01", NOON, b"{}"), asked)
    )

    assert (told.standing, told.certificate) == ("released", None)


def test_where_a_person_releases_everything_old_records_wait_too(engine: Engine, settings: Settings) -> None:
    policy = document_of(replace(STARTING, release_unflagged=False))
    put_register(settings.database_url, [Entry("policies", "network", TODAY, policy)])

    imported(engine, LINE, profile_from(LINES))

    (found,) = history(engine, "A-04")
    assert (found.flags, found.standing) == ((), "provisional")


def test_of_a_whole_file_nothing_is_seen_before_its_last_row_is_kept(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(import_work, "CHUNK", 1)
    seen: list[int] = []
    told = tried(engine, TWO, PROFILE)

    unit_of_work(engine, lambda c: commit_import(c, told.file_import, told.etag, "T-01", NOON, None))
    chunks = import_work.HereAndNow(engine, lambda _: seen.append(len(history(engine, "A-04"))))
    import_work.work_on_import(chunks, told.file_import)

    assert seen == [0, 0, 0]
    assert len(history(engine, "A-04")) == 1


def test_an_import_that_is_given_up_half_way_leaves_nothing_that_stands(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(import_work, "CHUNK", 2)
    told = tried(engine, TWO, PROFILE)
    unit_of_work(engine, lambda c: commit_import(c, told.file_import, told.etag, "T-01", NOON, None))
    with pytest.raises(KeyboardInterrupt):
        import_work.work_on_import(import_work.HereAndNow(engine, stops), told.file_import)

    given_up = unit_of_work(engine, lambda c: give_up_import(c, told.file_import, WORD))

    assert given_up.state == "given up"
    assert [found.standing for found in history(engine, "A-04")] == ["void"]
    assert told_of(engine, told.file_import).because == "the wrong file"


def stops(progress: dict[str, Any]) -> None:
    raise KeyboardInterrupt


def test_a_row_of_another_site_than_the_import_may_write_to_is_refused(engine: Engine) -> None:
    name = str(uuid.uuid4())
    file = FileReceived(name, "old.csv", digest_of(TWO), len(TWO), PROFILE, None, "all", 0, ("HM",), "FIELD-HM", NOON)
    unit_of_work(engine, lambda connection: receive_import(connection, file, [TWO], None))
    import_work.work_on_import(import_work.HereAndNow(engine, lambda _: None), name)

    codes = {fault.code for row in rows_of(engine, name) for fault in row.faults}
    assert codes == {"site-not-yours"}


def test_a_partial_record_answers_nothing_about_weighings(engine: Engine) -> None:
    whole = json.dumps(example()).encode() + b"\n"
    part = json.dumps(without(example(), "as_found") | {"as_left": example()["as_found"]}).encode() + b"\n"
    imported(engine, whole, profile_from(LINES))
    imported(engine, part, profile_from(LINES))

    found = visits_that_stand(history(engine, "A-04"), TODAY)

    assert len(history(engine, "A-04")) == 2
    assert [left.visit.is_partial for left in found] == [False]
