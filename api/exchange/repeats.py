"""Rows that stand twice in one file: by the source's own key, else by their text."""

import hashlib

from api.records.import_faults import CellPlace, CellRefused, RowFault
from api.records.import_visit import VisitRead


class SeenInFile:
    """Keys and texts of a file so far, in its order, each with the line on which it first stood."""

    def __init__(self) -> None:
        self._times: dict[bytes, tuple[int, int]] = {}
        self._keys: dict[str, tuple[int, bytes]] = {}

    def name(self, visit: VisitRead) -> RowFault | None:
        """Give a visit its occurrence; return a note for a text that stood before, an error for a key that did.

        Rows that repeat both key and text are the same record: the first counts.
        """
        text = hashlib.sha256(visit.text.encode()).digest()
        if (key := visit.calibration or visit.key) is not None:
            first, text_there = self._keys.setdefault(key, (visit.line, text))
            visit.repeats = first != visit.line and text == text_there
            return None if visit.repeats or first == visit.line else _key_again(visit, key, first)
        first, times = self._times.get(text, (visit.line, 0))
        self._times[text] = (first, times + 1)
        visit.occurrence = times + 1
        return _text_again(visit, first) if times else None


def _text_again(visit: VisitRead, first: int) -> RowFault:
    said = f"These rows have the same text as those at line {first}; they are kept as another record."
    refused = CellRefused("row-repeated", said, "If it is one visit, leave it out here.")
    return refused.at(CellPlace(visit.line), "", "note")


def _key_again(visit: VisitRead, key: str, first: int) -> RowFault:
    said = f"The visit {key!r} stands at line {first} already, with other content."
    refused = CellRefused("key-repeated", said, "A visit has one key; leave one of them out.")
    return refused.at(CellPlace(visit.line, field="visit"), key)
