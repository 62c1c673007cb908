"""What an export says of itself: as of when, how much, and the digest of each file; what it leaves out and why."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

import orjson

from api.exchange.dialects import DIALECTS
from api.records.export import ExportAsked, FileExported
from api.records.log import LogEntry

PATH: Final = "manifest.json"
VERSION: Final = "export/1"
HOW_TO_READ: Final = (
    "calibrations-*.ndjson: a line a calibration that is not void, its newest content exactly as it came (`bytes`) and how "
    "it was judged; steelyard import reads these lines, after the register.",
    "register/ and record/: a line a row of the record, columns as they are stored. Bytes that a digest was made of are text "
    "in `bytes` (or base64 in `bytes_base64`), exactly; null where a redaction removed them. A salted digest is the SHA-256 "
    "of `salt` followed by the bytes.",
    "csv/: the same for people, in two dialects, a Table Schema beside each table. A text that a spreadsheet would run as a "
    "formula has one quote before it, and so has one that begins with such quotes; numbers have none.",
)


def manifest(
    asked: ExportAsked,
    last: LogEntry | None,
    files: Sequence[FileExported],
    left_out: Mapping[str, str],
    versions: Mapping[str, str],
) -> bytes:
    """Return the manifest of an export's files; `last` is the last entry of the log that is in it."""
    document: dict[str, Any] = {
        "version": VERSION,
        "log_number": asked.until,
        "log_hash": None if last is None else last.hash,
        "moment": None if last is None else last.moment.isoformat(),
        "since": asked.since,
        "sites": None if asked.sites is None else list(asked.sites),
        **versions,
        "dialects": {d.name: {"delimiter": d.delimiter, "decimal": d.decimal, "encoding": "utf-8"} for d in DIALECTS},
        "how_to_read": list(HOW_TO_READ),
        "left_out": dict(left_out),
        "files": [{"path": file.path, "rows": file.rows, "size": file.size, "digest": file.digest} for file in files],
    }
    return orjson.dumps(document, option=orjson.OPT_INDENT_2) + b"\n"
