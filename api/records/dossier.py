"""A calibration in one piece, for tables that people read: the rows as they are stored, and what was sent, parsed."""

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Dossier:
    """A calibration's newest content with its newest judgement, where it stands, its certificate, its flags by code.

    `points` are the judged points by phase and number; a row is as it is stored.
    """

    content: Any
    sent: dict[str, Any]
    text: str
    judgement: Any
    standing: Any
    received_at: str
    certificate: str | None
    flags: tuple[str, ...]
    points: dict[tuple[str, int], Any]
    imported: bool

    @property
    def key(self) -> tuple[str, str]:
        """Its site and id."""
        return self.content.site, self.content.calibration


@dataclass(frozen=True, slots=True)
class CertificateIssued:
    """A revision of a certificate as it is stored, and the day of the visit that it states."""

    row: Any
    performed_on: str
