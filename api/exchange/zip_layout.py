"""A ZIP archive of files that are packed already: which bytes stand before, between and behind them.

After the ZIP file format specification (APPNOTE 6.3): deflated entries, names in UTF-8, every entry of one fixed moment, so
that the same files make the same archive. Beyond 4 GiB the directory has the ZIP64 records; no single entry is that large.
"""

import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from api.records.export import FileExported

_LOCAL, _CENTRAL, _END = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"
_END_64, _LOCATOR_64 = b"PK\x06\x06", b"PK\x06\x07"
_DEFLATED: Final = 8
_UTF_8: Final = 1 << 11
# 1 January 1980, midnight: the first moment that the format can say.
_TIME, _DAY = 0, (1 << 5) | 1
_MADE_ON_UNIX: Final = 3 << 8
_PLAIN_FILE: Final = 0o100644 << 16
_MOST_32, _MOST_16 = 0xFFFFFFFF, 0xFFFF


@dataclass(frozen=True, slots=True)
class Placed:
    """A file in the archive: where its header stands, where its packed bytes begin, and where they end."""

    file: FileExported
    begins: int
    content: int
    ends: int


def placed(files: Sequence[FileExported]) -> list[Placed]:
    """Return where each file stands in the archive of some files."""
    found, at = [], 0
    for file in files:
        content = at + len(local_header(file))
        found.append(Placed(file, at, content, content + file.packed_size))
        at = content + file.packed_size
    return found


def local_header(file: FileExported) -> bytes:
    """Return what stands before a file's packed bytes."""
    name = file.path.encode()
    fields = (
        20, _UTF_8, _DEFLATED, _TIME, _DAY, file.crc32, file.packed_size, file.size, len(name), 0,
    )  # fmt: skip
    return _LOCAL + struct.pack("<5H3L2H", *fields) + name


def archive_size(files: Sequence[FileExported]) -> int:
    """Return how many bytes the archive of some files has."""
    stand = placed(files)
    return (stand[-1].ends if stand else 0) + len(directory(stand))


def directory(files: Sequence[Placed]) -> bytes:
    """Return what stands behind all files: where each of them is."""
    entries = b"".join(map(_entry, files))
    at = files[-1].ends if files else 0
    return entries + b"".join(_end(len(files), len(entries), at))


def _entry(placed_file: Placed) -> bytes:
    file, name = placed_file.file, placed_file.file.path.encode()
    far = placed_file.begins >= _MOST_32
    extra = struct.pack("<2HQ", 1, 8, placed_file.begins) if far else b""
    version = 45 if far else 20
    fields = (
        _MADE_ON_UNIX | version, version, _UTF_8, _DEFLATED, _TIME, _DAY, file.crc32, file.packed_size, file.size,
        len(name), len(extra), 0, 0, 0, _PLAIN_FILE, _MOST_32 if far else placed_file.begins,
    )  # fmt: skip
    return _CENTRAL + struct.pack("<6H3L5H2L", *fields) + name + extra


def _end(count: int, size: int, at: int) -> Iterator[bytes]:
    if at >= _MOST_32 or count >= _MOST_16:
        yield _END_64 + struct.pack("<Q2H2L4Q", 44, _MADE_ON_UNIX | 45, 45, 0, 0, count, count, size, at)
        yield _LOCATOR_64 + struct.pack("<LQL", 0, at + size, 1)
    shown = min(count, _MOST_16)
    yield _END + struct.pack("<4H2LH", 0, 0, shown, shown, min(size, _MOST_32), min(at, _MOST_32), 0)
