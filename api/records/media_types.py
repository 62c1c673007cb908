"""The kinds of file that an attachment may be, and by which bytes each is known."""

from typing import Final

# Signatures: PNG, RFC 2083 section 3.1; JPEG, ISO/IEC 10918-1 B.1.1.3 (SOI, then another marker); PDF, ISO 32000-1 7.5.2.
_BEGINS: Final = {
    "image/png": b"\x89PNG\r\n\x1a\n",
    "image/jpeg": b"\xff\xd8\xff",
    "application/pdf": b"%PDF-",
}
_TEXTS: Final = ("text/plain", "text/csv")
# What no text holds: control characters but tab, line ends and form feed.
_NOT_TEXT: Final = bytes({*range(32)} - set(b"\t\n\r\f")) + b"\x7f"
MEDIA_TYPES: Final = (*_BEGINS, *_TEXTS)
ENDINGS: Final = {
    "image/png": "png", "image/jpeg": "jpg", "application/pdf": "pdf", "text/plain": "txt", "text/csv": "csv",
}  # fmt: skip


def found_in(content: bytes) -> tuple[str, ...]:
    """Return the media types that bytes may be, judged by the bytes alone; none where they are nothing that is taken.

    >>> found_in(b"%PDF-1.7 ...")
    ('application/pdf',)
    >>> found_in(b"load;shown")
    ('text/plain', 'text/csv')
    """
    for media_type, signature in _BEGINS.items():
        if content.startswith(signature):
            return (media_type,)
    is_text = bool(content) and len(content.translate(None, _NOT_TEXT)) == len(content)
    return _TEXTS if is_text else ()
