"""Bytes to physical lines: what kind of file it is, in which encoding, and what its text betrays.

UTF-8 is tried first and strictly, because nothing else reads as UTF-8 by chance; any other encoding is declared by a person.
"""

import codecs
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Final

from api.records.import_faults import FileRefused, Question, file_refused
from api.records.import_profile import Encoding

# The longest first: the mark of UTF-16 in little order begins the one of UTF-32, which nobody writes.
_MARKS: Final[tuple[tuple[bytes, Encoding], ...]] = (
    (codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"),
)  # fmt: skip
# What files of other kinds begin with (their own specifications).
_KINDS: Final = {
    b"PK\x03\x04": ("file-is-archive", "a spreadsheet or another archive (ZIP)"),
    b"\xd0\xcf\x11\xe0": ("file-is-archive", "an old spreadsheet or document (compound file)"),
    b"%PDF": ("file-is-archive", "a PDF"),
    b"\x1f\x8b": ("file-is-packed", "packed (gzip)"),
}
# UTF-8 read as one byte a character: a capital A or C with a mark, then what no word has there.
_MOJIBAKE = re.compile(
    "[\u00c2\u00c3][\u0080-\u00bf\u0152\u0153\u0160\u0161\u0178\u017d\u017e\u0192\u02c6\u02dc\u2013-\u2122\u20ac]"
)
_REPLACED = "\ufffd"
_NEWLINE = re.compile("\r\n|\n|\r")


@dataclass(frozen=True, slots=True)
class Encoded:
    """In which encoding a file is read, and whether it begins with a byte order mark."""

    encoding: Encoding
    marked: bool


def encoding_of(head: bytes, declared: Encoding | None) -> Encoded | None:
    """Return in which encoding a file is read, from its first bytes; None where neither mark nor profile says it.

    Refuses what is no text, and a declared encoding that the mark contradicts (`FileRefused`).
    """
    for start, (code, name) in _KINDS.items():
        if head.startswith(start):
            raise file_refused(code, f"The file is {name}; accepted: CSV or NDJSON.", "Save the table as CSV in UTF-8.")
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            if declared not in (None, encoding):
                said = f"The file begins with the mark of {encoding}; the profile says {declared}."
                raise file_refused("encoding-differs", said, "Leave the encoding out of the profile: the mark says it.")
            return Encoded(encoding, True)
    if b"\x00" in head and declared not in ("utf-16-le", "utf-16-be"):
        raise _nul(head[: head.index(b"\x00")].count(b"\n") + 1)
    return Encoded(declared, False) if declared else None


def _nul(line: int) -> FileRefused:
    said = "The file holds NUL characters: it is no text, or UTF-16 without its mark."
    return file_refused(
        "nul-character", said, "Save the table as CSV in UTF-8, or declare utf-16-le or utf-16-be.", line
    )


class UndeclaredEncoding(Exception):
    """The bytes are not UTF-8, and no encoding was declared: a question, because guessing would change names in silence."""

    def __init__(self, question: Question) -> None:
        super().__init__(question.message)
        self.question = question


def lines_of(pieces: Iterable[bytes], encoded: Encoded | None) -> Iterator[str]:
    """Give the physical lines of a file, each with its end, without the byte order mark.

    Refuses bytes that are no text in the encoding (`UndeclaredEncoding` where none was declared), and NUL characters.
    """
    decoder = codecs.getincrementaldecoder(encoded.encoding if encoded else "utf-8")("strict")
    marked, rest, line = bool(encoded and encoded.marked), "", 0
    for piece in chain(pieces, (b"",)):
        try:
            text = decoder.decode(piece, not piece)
        except UnicodeDecodeError as error:
            raise _undecodable(error, line + 1, rest, encoded) from None
        if marked and text:
            text, marked = text.removeprefix("\ufeff"), False
        if "\x00" in text:
            raise _nul(line + 1)
        whole, rest = _cut(rest + text, last=not piece)
        line += len(whole)
        yield from whole


def _cut(text: str, *, last: bool) -> tuple[list[str], str]:
    """The whole lines of a text, and what is left of it; a carriage return at the very end may be half of an end."""
    ends = [found.end() for found in _NEWLINE.finditer(text)]
    if ends and not last and text.endswith("\r"):
        ends.pop()
    starts = [0, *ends]
    whole = [text[start:end] for start, end in zip(starts, ends, strict=False)]
    rest = text[starts[-1] :]
    return ([*whole, rest], "") if last and rest else (whole, rest)


def _undecodable(
    error: UnicodeDecodeError, line: int, rest: str, encoded: Encoded | None
) -> FileRefused | UndeclaredEncoding:
    before, byte = error.object[: error.start], error.object[error.start]
    at = line + len(_NEWLINE.findall(rest + before.decode("latin-1")))
    if encoded is None:
        seen = ", ".join(f"{name}: {_as_read(error, name)!r}" for name in ("windows-1252", "iso-8859-1"))
        said = f"Line {at} is not UTF-8 (byte {byte:#04x}). It would read, in {seen}."
        return UndeclaredEncoding(Question("encoding", "encoding", said, (at,)))
    said = f"Line {at} cannot be read as {encoded.encoding}, byte {byte:#04x}."
    return file_refused("encoding-differs", said, "Declare the encoding it was saved in, or save it as UTF-8.", at)


def _as_read(error: UnicodeDecodeError, encoding: str) -> str:
    """What stands around the byte on its own line, as an encoding has it."""
    before = error.object[max(0, error.start - 12) : error.start].decode(encoding, "replace")
    after = error.object[error.start : error.start + 12].decode(encoding, "replace")
    return _NEWLINE.split(before)[-1] + _NEWLINE.split(after)[0]


def reads_as_utf8(pieces: Iterable[bytes]) -> bool:
    """Return whether bytes that hold more than ASCII read as UTF-8 from end to end: then they are UTF-8."""
    decoder, more = codecs.getincrementaldecoder("utf-8")("strict"), False
    try:
        for piece in chain(pieces, (b"",)):
            decoder.decode(piece, not piece)
            more = more or not piece.isascii()
    except UnicodeDecodeError:
        return False
    return more


def looks_misread(text: str) -> bool:
    """Return whether a text looks like UTF-8 that was once read in another encoding: `Ã¼` where a `ü` was.

    >>> looks_misread("M\u00c3\u00bcller")
    True
    """
    return _MOJIBAKE.search(text) is not None


def was_replaced(text: str) -> bool:
    """Return whether a character was lost before: U+FFFD stands where it was."""
    return _REPLACED in text
