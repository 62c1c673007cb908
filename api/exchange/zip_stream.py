"""An archive as a stream of bytes, out of files whose packed segments are kept elsewhere."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from api.exchange.export_segments import ENDED
from api.exchange.zip_layout import directory, local_header, placed
from api.records.export import FileExported

Segments = Callable[[int], Iterable[bytes]]


def archive_of(files: Sequence[FileExported], segments: Segments) -> Iterator[bytes]:
    """Give the archive of some files; `segments` gives the packed segments of a file by its place."""
    for place, file in enumerate(files):
        yield local_header(file)
        yield from segments(place)
        yield ENDED
    yield directory(placed(files))
