"""Archives that readers of the format read, the same for the same files, also beyond 4 GiB. ZIP: APPNOTE 6.3, ZIP64."""

import io
import zipfile
import zlib
from pathlib import Path

import pytest

from api.exchange.export_segments import ENDED, packed, unpacked_segments
from api.exchange.zip_layout import Placed, archive_size, directory, local_header, placed
from api.records.export import FileExported

TEXT = b'{"a": 1}\n' * 1000


def a_file(path: str, packed_size: int) -> FileExported:
    return FileExported(path, 1, len(TEXT), packed_size, zlib.crc32(TEXT), "")


def test_segments_one_behind_the_other_are_one_stream() -> None:
    pieces = [packed(TEXT[:4000]), packed(b""), packed(TEXT[4000:]), ENDED]

    assert b"".join(unpacked_segments(pieces)) == TEXT
    assert zlib.decompress(b"".join(pieces), -zlib.MAX_WBITS) == TEXT


@pytest.mark.parametrize("names", [[], ["one"], ["one", "a/ä.csv"]])
def test_the_standard_library_reads_what_is_laid_out(names: list[str]) -> None:
    content = packed(TEXT) + ENDED
    files = [a_file(name, len(content)) for name in names]

    archive = b"".join(local_header(file) + content for file in files) + directory(placed(files))

    assert len(archive) == archive_size(files)
    with zipfile.ZipFile(io.BytesIO(archive)) as found:
        assert found.testzip() is None
        assert found.namelist() == names
        assert [found.read(name) for name in names] == [TEXT] * len(names)
        assert {info.date_time for info in found.infolist()} <= {(1980, 1, 1, 0, 0, 0)}


def test_what_stands_beyond_4_gib_is_found(tmp_path: Path) -> None:
    content, begins = packed(TEXT) + ENDED, 5 * 2**30
    file = a_file("far", len(content))
    header = local_header(file)
    far = Placed(file, begins, begins + len(header), begins + len(header) + len(content))
    path = tmp_path / "far.zip"
    with path.open("wb") as opened:  # a hole of 5 GiB, which takes no room
        opened.seek(begins)
        opened.write(header + content + directory([far]))

    with zipfile.ZipFile(path) as found:
        assert found.read("far") == TEXT
