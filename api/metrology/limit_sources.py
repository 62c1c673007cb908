"""Which clause of which document each test's limit comes from, by scheme: the words that stand beside the limit."""

from typing import Final

from api.metrology.tolerance import Scheme

# Clauses as remembered, with high confidence unless said; none of the documents was read for these lines.
_HB44: Final[dict[str, str]] = {
    "creep": "T.N.4.5.1: 0.5 e in 30 minutes, of that 0.2 e from 15 to 30; else the tolerance in 4 hours",
    "tare": "T.N.2.1: tolerances apply from tare zero, to the net load",
    "rolling load": "T.N.3.1: each result within its own tolerance",
    "unit switch": "T.N.1.3: each result within the tolerance counted in its own unit's divisions",
}
_R76: Final[dict[str, str]] = {
    "creep": "3.9.4.1: 0.5 e in 30 minutes, of that 0.2 e from 15 to 30; else the maximum permissible error in 4 hours",
    "tare": "3.5.3.3: maximum permissible errors apply to the net load, a tare entered by hand excepted",
    "rolling load": "3.6.2.4: at most 0.8 of Max, each result within its own maximum permissible error",
    "unit switch": "3.5.1: each result within the error counted in its own unit's intervals",
}


def limit_source(test: str, scheme: Scheme) -> str:
    """Return document, edition and clause of a test's limit; empty where only the tolerance at each load limits it.

    A house rule speaks of errors alone: for the tests it says nothing of, R 76 stands in, and the words say so.
    """
    clauses = _HB44 if scheme.name == "hb44" else _R76
    if test not in clauses:
        return ""
    if scheme.name == "hb44":
        return f"NIST HB 44 ({scheme.edition}) section 2.20 {clauses[test]}"
    stands_in = "the house rule says nothing of it; as " if scheme.house is not None else ""
    edition = "2006" if scheme.house is not None else scheme.edition
    return f"{stands_in}OIML R 76-1:{edition} {clauses[test]}"
