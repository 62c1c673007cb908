"""Named refusals of the record: those of the trade are in `api.metrology.refusals`.

For each code `every_problem` says what happened and what to do; HTTP status codes are `routes/problems`'.
"""

from api.metrology.refusals import Refusal


class NotOnRecord(Refusal):
    """Nothing of that name is on the register or record."""

    code = "not-on-record"


class ContentDiffers(Refusal):
    """The same calibration was sent before with other content."""

    code = "content-differs"

    def __init__(self, sentence: str, pointers: tuple[str, ...], **facts: str) -> None:
        super().__init__(sentence, **facts)
        self.pointers = pointers


class AddressTaken(Refusal):
    """A label's address was claimed before by another key, and stays its own for good."""

    code = "address-taken"


class RevisionDiffers(Refusal):
    """The entity was changed since the revision that the request was made for."""

    code = "revision-differs"


class ReferenceMissing(Refusal):
    """An entity names others that are not on the register on the day from which it is to hold."""

    code = "reference-missing"


class KeyDiffers(Refusal):
    """The key in the address and the key in the record are not the same."""

    code = "key-differs"


class NoKey(Refusal):
    """No key came with a request that needs one."""

    code = "key-missing"


class KeyNotAccepted(Refusal):
    """The key that came is mistyped, unknown, revoked, or has expired."""

    code = "key-not-accepted"


class KeyInAddress(Refusal):
    """A key was written into the address, where logs and histories keep it."""

    code = "key-in-address"


class ScopeMissing(Refusal):
    """The key is not for what was asked."""

    code = "scope-missing"

    def __init__(self, sentence: str, scope: str, **facts: str) -> None:
        super().__init__(sentence, scope=scope, **facts)
        self.scope = scope


class PersonMissing(Refusal):
    """A person has to answer for what was asked, and none came with their own key."""

    code = "person-missing"


class SiteNotInKey(Refusal):
    """What was asked is to be done at a site that the key is not for."""

    code = "site-not-in-key"


class TooManyKeys(Refusal):
    """The holder has two active keys already."""

    code = "too-many-keys"


class ImportNotReady(Refusal):
    """The import is not in the state that the request is for."""

    code = "import-not-ready"


class ExportNotReady(Refusal):
    """The export is not made yet, or will not be."""

    code = "export-not-ready"


class TriedOtherwise(Refusal):
    """What is to be committed is not what was tried out."""

    code = "tried-otherwise"


class DigestDiffers(Refusal):
    """Bytes were sent under a digest that is not theirs."""

    code = "digest-differs"


class NotWhatItSays(Refusal):
    """Bytes were sent as another kind of file than they are."""

    code = "not-what-it-says"


class PreconditionRequired(Refusal):
    """The request changes what may have moved, and does not say what it was made for."""

    code = "precondition-required"


class TooManyRejected(Refusal):
    """More rows of a file are refused than its import allows."""

    code = "too-many-rejected"


class RecordVoid(Refusal):
    """The record was made void; nothing more is done to it."""

    code = "record-void"


class OwnWork(Refusal):
    """Who is to release a record was a technician of the visit."""

    code = "own-work"


class FlagsOpen(Refusal):
    """A flag was not closed in words, or something was closed that is not flagged."""

    code = "flags-open"


class CannotCertify(Refusal):
    """A certificate would have to name what the register did not hold."""

    code = "cannot-certify"


class NothingAmended(Refusal):
    """The amendment is the content that it would supersede."""

    code = "nothing-amended"


class NoDouble(Refusal):
    """What was named is not the other record of a visit that was sent twice."""

    code = "no-double"


class NotToLink(Refusal):
    """What is to be linked was not sent so, was known when it was judged, or is released already."""

    code = "not-to-link"


class NamesAPerson(Refusal):
    """Words that everybody would read look as if they named a person."""

    code = "names-a-person"


class NotYet(Refusal):
    """What is told of a device has not happened yet."""

    code = "not-yet"


class EventClosed(Refusal):
    """The event was closed before, in other words, or leaves nothing open."""

    code = "event-closed"


class DeviceRetired(Refusal):
    """The device is retired, which is for good."""

    code = "device-is-retired"


class LabelNotOfRecord(Refusal):
    """The id of a label is mistyped, or is not the one that its record and place make."""

    code = "label-not-of-record"


class LabelNotRight(Refusal):
    """A label that is not right is not printed."""

    code = "label-not-right"


class HoldStays(Refusal):
    """Nothing holds the piece, or what the release rests on does not lift what holds it."""

    code = "hold-stays"


class SiteNotNamed(Refusal):
    """The question is about one site, and neither it nor the key says which."""

    code = "site-not-named"


class LogBehind(Refusal):
    """The log ends before the entry that a reader has read already."""

    code = "log-behind"


class CursorNotAccepted(Refusal):
    """The cursor was not made for the list and the filters that it came with."""

    code = "cursor-not-accepted"
