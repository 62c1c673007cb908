"""An export's files cut into segments: what is written, and gone on with, at once. The same rows give the same segments.

A segment ends with the row that fills it, and is packed for itself, so that an export that was cut off goes on with the next
one and comes to the same bytes.
"""

import hashlib
import zlib
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from typing import Any, Final

from api.records.export import FileExported

FILLED: Final = 1024 * 1024
# Imports over the web take files of 256 MiB; a part is far below what a ZIP entry without extensions holds (4 GiB).
FILLED_PART: Final = 128 * FILLED
# Measured: level 6 makes a third less than level 1, for a tenth more of the time that an export takes.
LEVEL: Final = 6
# The last, empty block of a deflate stream (RFC 1951 section 3.2.6: final, fixed codes, end of block).
ENDED: Final = b"\x03\x00"

Key = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Written:
    """What one row of the record becomes in a file: its key, its text, and how many rows of the file that makes."""

    key: Key
    text: bytes
    rows: int = 1


@dataclass(frozen=True, slots=True)
class Source:
    """One file of an export: its path, what stands at its beginning, and its rows after a key.

    What may grow beyond a part is cut into parts, numbered from 1 (`in_parts`).
    """

    path: str
    rows: Callable[[Key | None], Generator[Written, None, None]]
    head: bytes = b""
    in_parts: bool = False

    def named(self, part: int) -> str:
        """Return the path of one of its parts."""
        if not self.in_parts:
            return self.path
        stem, dot, ending = self.path.rpartition(".")
        return f"{stem}-{part:04}{dot}{ending}"


def no_rows(after: Key | None) -> Generator[Written, None, None]:
    """Give no row: for a file that is all head."""
    yield from ()


@dataclass(frozen=True, slots=True)
class Segment:
    """Some rows of a file as text: where they end, and whether the file's source has no more."""

    text: bytes
    rows: int
    after: Key | None
    is_last: bool


def next_segment(source: Source, after: Key | None, *, begins: bool) -> Segment:
    """Return the rows after a key that fill a segment; with the file's head where the file begins with them."""
    parts, size, rows = ([source.head], len(source.head), 0) if begins else ([], 0, 0)
    with closing(source.rows(after)) as listed:
        for written in listed:
            parts.append(written.text)
            size += len(written.text)
            rows += written.rows
            after = written.key
            if size >= FILLED:
                return Segment(b"".join(parts), rows, after, False)
    return Segment(b"".join(parts), rows, after, True)


@dataclass(frozen=True, slots=True)
class Place:
    """How far an export is: in which source, in which part of it, after which key, and how large that part is by now."""

    source: int = 0
    part: int = 1
    after: Key | None = None
    size: int = 0


@dataclass(frozen=True, slots=True)
class Cut:
    """The next segment of an export: to which file it belongs, whether it ends it, and where the next one begins."""

    path: str
    segment: Segment
    ends_file: bool
    next: Place


def next_cut(sources: Sequence[Source], place: Place) -> Cut:
    """Return the segment at a place of an export."""
    source = sources[place.source]
    segment = next_segment(source, place.after, begins=place.size == 0)
    size = place.size + len(segment.text)
    is_full = source.in_parts and size >= FILLED_PART
    if segment.is_last:
        following = Place(place.source + 1)
    elif is_full:
        following = Place(place.source, place.part + 1, segment.after)
    else:
        following = Place(place.source, place.part, segment.after, size)
    return Cut(source.named(place.part), segment, segment.is_last or is_full, following)


def packed(text: bytes) -> bytes:
    """Return a segment deflated, so that segments can stand one behind the other."""
    deflate = zlib.compressobj(LEVEL, zlib.DEFLATED, -zlib.MAX_WBITS)
    return deflate.compress(text) + deflate.flush(zlib.Z_FULL_FLUSH)


def unpacked_segments(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Give the text of packed segments that stand one behind the other."""
    inflate = zlib.decompressobj(-zlib.MAX_WBITS)
    for piece in pieces:
        if text := inflate.decompress(piece):
            yield text


@dataclass(slots=True)
class FileInTheMaking:
    """The sums over a file while its segments come."""

    path: str
    rows: int = 0
    size: int = 0
    packed_size: int = 0
    crc32: int = 0
    _sha256: Any = field(default_factory=hashlib.sha256)

    def add(self, segment: Segment, packed_size: int) -> None:
        """Take a segment in."""
        self.rows += segment.rows
        self.again(segment.text)
        self.packed_size += packed_size

    def again(self, text: bytes) -> None:
        """Take text in whose rows and packed size are known."""
        self.size += len(text)
        self.crc32 = zlib.crc32(text, self.crc32)
        self._sha256.update(text)

    def whole(self) -> FileExported:
        """Return the file with its sums; the end of the packed stream is counted."""
        return FileExported(
            self.path, self.rows, self.size, self.packed_size + len(ENDED), self.crc32,
            f"sha256:{self._sha256.hexdigest()}",
        )  # fmt: skip
