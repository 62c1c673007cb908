"""Packed files unpacked within bounds: a small file that grows without end is refused while it grows."""

import zlib
from collections.abc import Iterable, Iterator
from typing import Final

from api.records.import_faults import file_refused

# A house choice, no source: 20,000 visits of 30 readings are about 200 MB of NDJSON, and text seldom packs better than 50:1.
MOST_BYTES: Final = 256 * 1024 * 1024
MOST_RATIO: Final = 100
_SURE_BYTES: Final = 1024 * 1024


def unpacked(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """Give a file's bytes, unpacked where it is gzip; refuses what grows beyond the bounds (`FileRefused`)."""
    gzip, taken, given = None, 0, 0
    for number, piece in enumerate(pieces):
        taken += len(piece)
        if number == 0 and piece.startswith(b"\x1f\x8b"):
            gzip = zlib.decompressobj(wbits=31)
        for part in _inflated(gzip, piece) if gzip else (piece,):
            given += len(part)
            if given > MOST_BYTES:
                raise file_refused("file-too-large", f"The file has more than {MOST_BYTES} bytes.", "Split it.")
            if gzip and given > max(_SURE_BYTES, taken * MOST_RATIO):
                raise file_refused(
                    "file-swells", f"It unpacks to more than {MOST_RATIO} times its size.", "Send it unpacked."
                )
            yield part
    if gzip and not gzip.eof:
        raise file_refused("file-cut", "The packed file ends before its end.", "Send it again, whole.")


def _inflated(gzip: "zlib._Decompress", piece: bytes) -> Iterator[bytes]:
    rest = piece
    while rest and not gzip.eof:
        try:
            yield gzip.decompress(rest, _SURE_BYTES)
        except zlib.error as error:
            raise file_refused(
                "file-cut", f"The packed file cannot be unpacked: {error}.", "Send it again, whole."
            ) from None
        rest = gzip.unconsumed_tail
