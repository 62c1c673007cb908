"""What is noted where a field beside the body could not be read. What stood there is not repeated: it is looked through
for a person's text nowhere."""

from typing import Final

from api.metrology.judgement import Flag

CLOCK_NOT_READ: Final = Flag(
    "sent-at-not-read",
    "The moment of sending (Steelyard-Sent-At) could not be read, so that the app's clock was not compared with the "
    "service's. Everything is kept. Accepted: a moment with its offset, for example 2026-10-14T09:00:00-06:00 (RFC 3339).",
)
SENDER_NOT_READ: Final = Flag(
    "sent-by-not-read",
    "Who acts (Steelyard-By) could not be read; the log has it as unnamed. Everything is kept. Accepted: a code of 1 to "
    "40 printable characters of ASCII, for example T-02.",
)
