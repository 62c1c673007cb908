"""Which tables an export takes along, and which it leaves out and why. A table that is in neither list fails a test.

Whoever adds a table whose rows are kept adds one line here: how its rows are tied to the log by the moment they carry, which
is the moment of the entry that they were written with.
"""

from dataclasses import dataclass
from typing import Final

from sqlalchemy import Table

from api.models.access_key import ACCESS_KEY, KEY_REVOKED
from api.models.attachment import ATTACHMENT
from api.models.device_event import DEVICE_EVENT, DEVICE_EVENT_ARRIVAL, DEVICE_EVENT_CLOSING
from api.models.file_import import IMPORTED
from api.models.label import LABEL, LABEL_EVENT
from api.models.log import LOG_ENTRY
from api.models.quarantine import QUARANTINE
from api.models.record import ARRIVAL, CERTIFICATE, CONTENT, FLAG, FLAG_ANSWER, JUDGEMENT, LINK, REMARK, STANDING
from api.models.register import ADDRESS, REVISIONS
from api.models.weight_event import WEIGHT_EVENT


@dataclass(frozen=True, slots=True)
class Exported:
    """One table of an export: a line a row, in the order of its key.

    `moment` is the column with the moment of the row's log entry; it is the column of another table where the row came
    together with a row of that (`came_with`), whose key is part of its own. `without` are columns that stay here.
    What is `network_only` belongs to no site, and is left out of an export of some sites.
    """

    table: Table
    moment: str
    came_with: Table | None = None
    without: frozenset[str] = frozenset()
    network_only: bool = False

    @property
    def path(self) -> str:
        """The file it is in."""
        room = "register" if self.table in REVISIONS.values() else "record"
        return f"{room}/{self.table.name}.ndjson"


EXPORTED: Final[tuple[Exported, ...]] = (
    *(Exported(table, "recorded_at") for table in REVISIONS.values()),
    Exported(ADDRESS, "claimed_at", network_only=True),
    Exported(CONTENT, "recorded_at"),
    Exported(JUDGEMENT, "judged_at"),
    Exported(FLAG, "judged_at", came_with=JUDGEMENT),
    Exported(STANDING, "moment"),
    Exported(REMARK, "moment"),
    Exported(FLAG_ANSWER, "moment"),
    Exported(LINK, "moment"),
    Exported(ARRIVAL, "received_at"),
    Exported(CERTIFICATE, "issued_at"),
    Exported(IMPORTED, "recorded_at", came_with=CONTENT),
    Exported(QUARANTINE, "received_at"),
    Exported(ATTACHMENT, "received_at"),
    Exported(DEVICE_EVENT, "received_at"),
    Exported(DEVICE_EVENT_ARRIVAL, "received_at"),
    Exported(DEVICE_EVENT_CLOSING, "closed_at"),
    Exported(WEIGHT_EVENT, "received_at"),
    Exported(LABEL, "received_at"),
    Exported(LABEL_EVENT, "received_at"),
    Exported(ACCESS_KEY, "made_at", without=frozenset({"digest"}), network_only=True),
    Exported(KEY_REVOKED, "revoked_at", network_only=True),
    Exported(LOG_ENTRY, "moment"),
)

LEFT_OUT: Final[dict[str, str]] = {
    "certified_piece": "An index: it follows from the weight certificates.",
    "reading_piece": "An index: it follows from the contents.",
    "attachment_named": "An index: it follows from the contents.",
    "judged_point": "An index: it follows from the judgements' workings.",
    "weight_event_piece": "An index: it follows from the weight events.",
    "log_touch": "An index: it stands in the log's entries.",
    "log_head": "It follows from the log's entries; the manifest names number and hash.",
    "sealed": "Its bytes stand with the rows that name them.",
    "certificate_serial": "A counter: it follows from the certificates.",
    "person_name": "Names of persons stay here, where a redaction reaches them; records know codes.",
    "key_used": "No record: when a key was last used is written over.",
    "job": "No record: what workers are asked to do, and how far they are.",
    "file_import": "No record: files on their way in. Where an imported record comes from is in the table imported.",
    "import_piece": "No record: files on their way in.",
    "import_row": "No record: files on their way in.",
    "file_export": "No record: exports.",
    "export_piece": "No record: exports.",
}
