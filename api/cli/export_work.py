"""The work on an export that a job asked for: a segment a chunk, committed with how far it is.

A worker that is killed loses one segment at most; whoever takes the job next goes on behind the last one that was kept, and
comes to the same bytes.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import asdict
from functools import partial
from typing import Any

from sqlalchemy import Connection

from api.actions.finish_export import finish_export
from api.actions.keep_export_segment import SegmentReady, keep_export_segment
from api.cli.export_begun import begun, files_of
from api.database import reading
from api.exchange.export_segments import FileInTheMaking, Place, Source, next_cut, packed, unpacked_segments
from api.exchange.zip_stream import archive_of
from api.keeping.job_at_work import JobAtWork
from api.queries.exports import export_run, pieces_of_file
from api.records.export import ExportAsked, FileExported


def work_on_export(at_work: JobAtWork, name: str) -> str:
    """Make what is still to be made of an export, and return the sentence that says what came of it."""
    with reading(at_work.engine) as connection:
        run = export_run(connection, name)
    work, told = _Work(at_work, name, list(run.files)), run.told
    sources = files_of(begun(at_work.engine, ExportAsked(told.since, told.log_number, told.sites)), lambda: work.files)
    while work.place.source < len(sources):
        work.one(sources)
    return _finished(at_work, name, work.files)


class _Work:
    """An export in the making, from where the job's progress says: the files that are whole, the place of what is next."""

    def __init__(self, at_work: JobAtWork, name: str, files: list[FileExported]) -> None:
        progress = at_work.progress
        self._at_work, self._name = at_work, name
        self._segments: int = progress.get("segments", 0)
        self.files, self.place = files, _place(progress)
        self._making = self._again(progress) if self._segments else None

    def _again(self, progress: dict[str, Any]) -> FileInTheMaking:
        """The sums over a file that was cut off, from its own segments."""
        making = FileInTheMaking(progress["file"], progress["rows"], 0, progress["packed"])
        for text in unpacked_segments(pieces_of_file(self._at_work.engine, self._name, len(self.files))):
            making.again(text)
        return making

    def one(self, sources: Sequence[Source]) -> None:
        """Make one segment: ready beside the write, kept in one transaction with the progress."""
        cut = next_cut(sources, self.place)
        making = self._making or FileInTheMaking(cut.path)
        content = packed(cut.segment.text)
        making.add(cut.segment, len(content))
        files = [*self.files, making.whole()] if cut.ends_file else self.files
        segments = 0 if cut.ends_file else self._segments + 1
        progress = {
            "done": cut.next.source, "of": len(sources), "file": cut.path, "rows": making.rows,
            "packed": making.packed_size, "segments": segments, "place": asdict(cut.next),
        }  # fmt: skip
        ready = SegmentReady(len(self.files), self._segments, content, files)
        self._at_work.chunk(partial(_kept, self._name, ready, progress))
        self.files, self.place, self._segments = files, cut.next, segments
        self._making = None if cut.ends_file else making


def _kept(name: str, ready: SegmentReady, progress: dict[str, Any], connection: Connection) -> dict[str, Any]:
    keep_export_segment(connection, name, ready)
    return progress


def _place(progress: dict[str, Any]) -> Place:
    found = progress.get("place")
    return Place() if found is None else Place(**found | {"after": found["after"] and tuple(found["after"])})


def _finished(at_work: JobAtWork, name: str, files: Sequence[FileExported]) -> str:
    """The archive's size and digest, over its bytes as they will be sent."""
    digest, size = hashlib.sha256(), 0
    for piece in archive_of(files, lambda place: pieces_of_file(at_work.engine, name, place)):
        digest.update(piece)
        size += len(piece)

    def keep(connection: Connection) -> dict[str, Any]:
        finish_export(connection, name, size, f"sha256:{digest.hexdigest()}")
        return at_work.progress

    at_work.chunk(keep)
    return f"Exported {sum(file.rows for file in files)} rows in {len(files)} files."
