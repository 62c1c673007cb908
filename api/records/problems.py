"""What the service answers when it cannot do what was asked: a code, and for each code a page that says what to do.

Named refusals of the record; those of the trade are in `api.metrology.refusals`. HTTP status codes are `routes/problems`'.
"""

from dataclasses import dataclass
from typing import Final

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


@dataclass(frozen=True, slots=True)
class Problem:
    """One kind of problem: its code, a title, what happened, and what to do."""

    code: str
    title: str
    what: str
    do: str


PROBLEMS: Final = (
    Problem(
        "not-json", "The body is not strict JSON",
        "The body could not be read: it is not UTF-8, not JSON, repeats a name, nests too deep, or holds a number with a "
        "fraction or an exponent outside text.",
        "Send one JSON object in UTF-8. Write every measured value as text with its unit, for example "
        '{"value": "10.10", "unit": "kg"}. Nothing was kept; keep your copy and send it again.',
    ),
    Problem(
        "wrong-shape", "The body does not have the right shape",
        "The body is JSON, but fields are missing, unknown, of the wrong type, or outside their bounds.",
        "Look at `errors`: each has a pointer into the body you sent, what was found, and what would be accepted. Mend all "
        "of them and send again under the same id. Nothing was kept.",
    ),
    Problem(
        "batch-cut", "Not all of the batch arrived",
        "A batch of lines ended before all of it was there, or nothing says that all of it is there: neither Content-Length "
        "nor a last line.",
        'Send the whole batch again, with Content-Length or with a last line {"end": true, "count": N}. Nothing was '
        "kept; what was kept earlier is only told so.",
    ),
    Problem(
        "batch-refused", "Some of the batch cannot be kept, so none was",
        "All or none was asked (`mode=all`), and at least one calibration has the wrong shape or conflicts with the record.",
        "Look at `errors`: each has a pointer into the batch, and its line. Mend them and send all again, or send with "
        "`mode=each`, which keeps what can be kept.",
    ),
    Problem(
        "content-differs", "This id was sent before with other content",
        "The record already holds a calibration, or an event, of this id at this site, and what was sent now is not the "
        "same.",
        "Nothing was changed. If this is another one, give it an id of its own. `pointers` names what differs. What was "
        "sent wrongly is corrected by an amendment: /v1/calibrations/{id}/amendments.",
    ),
    Problem(
        "not-yet", "It has not happened yet",
        "A move, a state, a limit or a repair is told with a moment that has not come yet.",
        "Tell it when it has happened. If it has, look at the clock of the device that sent it. Nothing was kept.",
    ),
    Problem(
        "event-closed", "There is nothing open to close",
        "The event was closed before by a person, in other words; or it leaves nothing open that somebody could close.",
        "Read the event: `closed` says who closed it, when and in which words. A new matter is an event of its own.",
    ),
    Problem(
        "device-is-retired", "The device is retired",
        "A device that is retired stays retired: its page and records stay, and it moves and changes no more.",
        "Look at the tag. If the device was retired by mistake, whoever administers the register puts it there again.",
    ),
    Problem(
        "label-not-of-record", "The label's id is not that of its record",
        "A label's id is made of the site, the record's id and which label of it it is. The one in the address is mistyped, "
        "or was made of another record.",
        "Make it again: `facts` has the right one. If a wrong one is stuck on the scale already, take it off and stick on "
        "one with the right id. Nothing was kept.",
    ),
    Problem(
        "label-not-right", "The label is not right, and is not printed",
        "What the label says is not, or no longer, what its record and the register say.",
        "Read the label (/v1/labels/{id}): `why` says what is wrong with it. Stick on a new one, with the next place, that "
        "says what holds now.",
    ),
    Problem(
        "hold-stays", "The hold on the piece stays",
        "A piece is released on a comparison that agreed, or on a certificate made, after the moment from which it is held. "
        "What the release names is neither, or nothing holds the piece.",
        "Read the piece's life (/v1/weights/{code}/life): `why` says what holds it and since when. Compare it with a "
        "standard, or send it to the laboratory, and release it on that.",
    ),
    Problem(
        "not-on-record", "Nothing of that name is on record",
        "The register or the record holds nothing of that kind and name on the day asked for.",
        "Check the spelling and the day (`on`). Lists show what is held.",
    ),
    Problem(
        "address-taken", "The label's address belongs to another",
        "Labels carry addresses that are given out once and for good; this one was claimed under another key, as its tag or "
        "code, or as a former tag.",
        "Choose a tag or code that differs in more than case and punctuation. Leave out a former tag that belongs to "
        "another device; a device that was labelled anew has the same serial under both tags.",
    ),
    Problem(
        "revision-differs", "It was changed in the meantime",
        "The revision in `If-Match` is not the newest, another revision holds than the one that was taken out, or the digest "
        "or judgement of a record is not the newest.",
        "Read it again, look at what changed, and send your change with the new ETag; for a record, with the digest and the "
        "judgement that `facts` names.",
    ),
    Problem(
        "key-differs", "Address and record name different things",
        "The key in the address and the key inside the record are not the same.",
        "Send the record to the address of its own key.",
    ),
    Problem(
        "reference-missing", "It names what is not on the register",
        "The entity names a site, ward, model, house rule or weight that is not on the register on the day from which it is "
        "to hold, or a ward of another site.",
        "Put what it names on the register first, valid from that day or earlier. Nothing was kept.",
    ),
    Problem(
        "nothing-to-compute-from", "Nothing on record to compute it from",
        "The record holds no calibration from which the answer could be worked out: none that shows how the scale was left, "
        "or one that lacks a part.",
        "`detail` and `facts` say what is missing. A visit with increasing loads, three weighings of one load and the corner "
        "readings gives all that answers about weighings need.",
    ),
    Problem(
        "geometry-cannot-tell", "The places cannot tell the supports apart",
        "The load stood at too few places, or at places that lie so that no calculation can tell which support reads what.",
        "`facts` names the places that were loaded and those that would do. On four supports: the same load on each quarter.",
    ),
    Problem(
        "no-address", "The code cannot be an address",
        "Labels carry addresses made of a code's letters and digits; this code leaves none, or more than 40.",
        "Choose a shorter code, with letters or digits of the plain alphabet.",
    ),
    Problem(
        "refused", "The rules of the trade give no answer",
        "The question has the right shape, and a rule of the trade forbids an answer to it: a table has no row for it, a "
        "guard band leaves nothing to accept, no load is good enough.",
        "Read `detail`: it says what was found and what would help. `errors` carries the refusal's own code, `facts` its "
        "numbers. Nothing was kept of the question.",
    ),
    Problem(
        "no-plan", "No plan can be made",
        "The weight set is not on the register that day, or none of its pieces has a certificate in force; or the device is "
        "retired.",
        "Look at `facts`. Name another set or day, or leave the set out: the plan then tells its loads without pieces.",
    ),
    Problem(
        "no-round", "The round names what is not on the register",
        "A device, a weight set or the technician is not on the register on that day.",
        "`facts` lists all of them at once. Correct the codes, or the day; nothing was worked out.",
    ),
    Problem(
        "file-refused", "The file cannot be read",
        "The file as a whole cannot be read as what its profile says: it is no text, of another encoding, split by another "
        "delimiter, cut, or too large.",
        "`detail` names the line, what was found there and what would do. Nothing was kept of the file.",
    ),
    Problem(
        "import-not-ready", "The import is not that far, or has ended",
        "Only an import that was tried out can be committed, only one that has not ended can be given up, and only one that "
        "is done can be undone.",
        "Read the import: `state` says how far it is, `questions` what is still to be declared.",
    ),
    Problem(
        "tried-otherwise", "What was tried out is not what would be committed",
        "Since the file was tried out its profile, the rules or the register have changed, or If-Match names another trial.",
        "Try it out again, look at what would come of it, and commit with the new ETag.",
    ),
    Problem(
        "too-many-rejected", "Too many rows of the file are refused",
        "An import of the whole file keeps nothing as long as one row is refused; an import of each row keeps the good ones "
        "as long as no more are refused than its limit.",
        "Mend the rows that the report names, and send the file again; or send it with the mode `each` and a reject limit.",
    ),
    Problem(
        "digest-differs", "The bytes have another digest than the address",
        "An attachment is kept under the SHA-256 of its bytes, and the bytes that arrived have another: they were cut or "
        "changed on the way, or the digest was made of something else.",
        "Make the digest of exactly the bytes that you send, and send them again. `facts` names both digests. Nothing was "
        "kept; keep your copy.",
    ),
    Problem(
        "not-what-it-says", "The file is of another kind than it was sent as",
        "The Content-Type names one kind of file, the bytes begin like another, or like none that is taken.",
        "Send it with the Content-Type of what it is: a PNG or JPEG picture, a PDF, plain text or CSV. Nothing was kept.",
    ),
    Problem(
        "export-not-ready", "The export cannot be fetched",
        "An export is made by a job, which has not ended yet, or has failed or been cancelled.",
        "Read the export: `state` says how far its job is, and `because` why it failed. Wait as long as Retry-After says; or "
        "ask for a new one.",
    ),
    Problem(
        "precondition-required", "The request has to say what it was made for",
        "The request changes something that may have moved, and says nothing of what it was made for.",
        "Read it first, and send its ETag in If-Match.",
    ),
    Problem(
        "record-void", "The record is void",
        "Somebody made the record void; it is shown with the reason, and nothing more is done to it.",
        "`facts` says who and why. If the visit took place all the same, send it again under an id of its own.",
    ),
    Problem(
        "own-work", "Somebody else has to release it",
        "A record is reviewed and released by a person who was not a technician of the visit, in none of its revisions.",
        "`facts` names the technicians. Ask a person with a key of their own and the scope `release` who is none of them.",
    ),
    Problem(
        "flags-open", "Not every flag is closed",
        "A record is released when each of its flags has been closed by its code, in words: what was looked at, and why the "
        "result holds all the same.",
        "`facts` lists the codes that are open, and those that were answered and are not flagged. Read the record, look at "
        "each flag, and send `answers` with the code and a sentence for each. If a flag shows a mistake in what was sent, "
        "amend the record instead; if the device, a person or a weight was not known, link it.",
    ),
    Problem(
        "cannot-certify", "A certificate could not name what it is for",
        "The site or the scale was not on the register when this was judged, so that a certificate could not name it.",
        "Put it on the register, valid from the day of the visit or earlier; link the code to it "
        "(/v1/calibrations/{id}/links); then release the judgement that follows.",
    ),
    Problem(
        "nothing-amended", "The amendment changes nothing",
        "The content of the amendment is the content that it would supersede.",
        "Nothing was kept. Send the whole content as it should have been.",
    ),
    Problem(
        "no-double", "That is not the other record of this visit",
        "A possible duplicate is closed against the record that it was flagged with, and one of the two has to stand.",
        "`facts` names what was asked. The flag `possible-duplicate` of the record names the other one. A record that "
        "is void for another reason is made void as such: /v1/calibrations/{id}/void.",
    ),
    Problem(
        "not-to-link", "There is nothing to link",
        "The content does not name that code, or the register knew it when this was judged, or the record is released.",
        "Only a code that was not known is linked, and only before the release. What was sent wrongly, or is released, is "
        "amended: /v1/calibrations/{id}/amendments.",
    ),
    Problem(
        "names-a-person", "These words look as if they named a person",
        "Words that are kept beside a record are shown to everybody, and hold no names and no numbers of persons (C-11).",
        "Say it without the name or number; persons who work on scales are named by their code. Nothing was kept.",
    ),
    Problem(
        "bad-question", "The question cannot be answered as asked",
        "A query parameter is unknown, or its value is not of the right form.",
        "Look at `errors`: each names the parameter and what would be accepted.",
    ),
    Problem(
        "cursor-not-accepted", "The cursor is not of this list",
        "A cursor is good for the list and the filters that it was given for, at this service. This one was given for "
        "another list, with other filters, by another service, or was written by hand.",
        "Begin again without the cursor. Then follow `next`, or the Link field, and change nothing but the cursor.",
    ),
    Problem(
        "site-not-named", "Which site is meant?",
        "The question is about one site. It names none, and the key is for several or for all of them.",
        "Say which with `site`.",
    ),
    Problem(
        "log-behind", "The log ends before the entry you have read",
        "You asked for what came after an entry that this log does not have. It is another record than the one you read "
        "before, or one that was brought back from an older backup.",
        "Tell whoever runs the service. Then read the log again from its beginning (`after=0`), and hold what you have "
        "against it: what you kept of later entries may not be on this record.",
    ),
    Problem(
        "not-found", "There is nothing at this address",
        "No resource of the service has this address, or what stands in it for an id is not a UUID with its hyphens.",
        "The contract lists all addresses: /v1/openapi.json. The id of a visit, a report or a check is a UUID "
        "(RFC 9562), such as 0193f0aa-0000-7000-8000-000000000001. Nothing was kept: what you sent is still with you alone.",
    ),
    Problem(
        "method-not-allowed", "This address does not take that method",
        "The resource exists, but not for this method.",
        "The Allow field of the answer names the methods it takes.",
    ),
    Problem(
        "not-acceptable-type", "The body is of another type",
        "The Content-Type is not one that this address takes; most take application/json only.",
        "`detail` names what is taken. Send that, and say so: Content-Type: application/json.",
    ),
    Problem(
        "too-large", "The body is too large",
        "The body is larger than the service takes in one request.",
        "Send each calibration on its own; attachments do not belong into the body.",
    ),
    Problem(
        "beyond-the-end", "The file has no such part",
        "The Range field asks for a part that begins beyond the end of the file.",
        "The Content-Range field of the answer says how long the file is. Ask for a part of it, or leave the Range out.",
    ),
    Problem(
        "key-missing", "No key came with the request",
        "This address is for installations that have a key, and the request carried none.",
        "Send the installation's key in the Authorization field: `Authorization: Bearer sty_i_...`. Whoever runs the service "
        "makes keys with `steelyard keys make`. Keep what you wanted to send.",
    ),
    Problem(
        "key-not-accepted", "The key is not accepted",
        "The key that came is mistyped, unknown, revoked or has expired; or it stands in the wrong field.",
        "Compare the key with the one that was handed out. If it has expired or was revoked, ask whoever runs the service "
        "for a new one. An app keeps what it has to send until then.",
    ),
    Problem(
        "key-in-address", "A key was written into an address",
        "The address carried a key. Addresses end up in logs and histories, so that this key may be known to others now.",
        "Send keys in the fields Authorization and Steelyard-Person only. Have this key revoked and a new one made. Nothing "
        "was done.",
    ),
    Problem(
        "scope-missing", "The key is not for this",
        "The key is in order, but its scopes do not include the one that this address needs.",
        "`facts` names the scope that is needed and those that the key has. Ask for a key with that scope, or leave it to an "
        "installation that has one. An app keeps what it has to send.",
    ),
    Problem(
        "person-missing", "A person has to answer for this",
        "Release, amendment, voiding and limits are done by a person, who shows it with a key of their own beside the "
        "installation's.",
        "Send the person's key in the field Steelyard-Person. `steelyard keys enrol` makes one for a technician on the "
        "register. Where the service asks for no keys, Steelyard-By says who it is, or `--by` of a command.",
    ),
    Problem(
        "site-not-in-key", "The key is not for this site",
        "What was asked is to be done at a site, or to what belongs to the whole network, and the key is for other sites.",
        "`facts` names the sites of the key. Check the site; or ask for a key that covers it. An app keeps what it has to "
        "send.",
    ),
    Problem(
        "too-many-keys", "The holder has two active keys already",
        "An installation or a person may hold two active keys at a time, so that one can be replaced while the other works.",
        "Revoke the key that is not used any more; `facts` names both. Then ask again.",
    ),
    Problem(
        "quota-exceeded", "Too many requests",
        "The key has made as many requests as it may in this time, or too many came from one place without an accepted key.",
        "Wait as many seconds as Retry-After says, then go on where you stopped. The RateLimit field of every answer says "
        "how many requests are left.",
    ),
    Problem(
        "address-too-long", "The address is too long",
        "The address with its question has more characters than the service takes.",
        "Shorten the question. What is long belongs into a body.",
    ),
    Problem(
        "fields-too-large", "The fields of the request are too large",
        "The fields before the body have more characters together than the service takes.",
        "Leave out what the service does not ask for, such as cookies.",
    ),
    Problem(
        "body-not-arrived", "The body did not arrive",
        "The connection broke, or stood still for too long, before the whole body was there.",
        "Send the same again under the same id. Nothing was kept.",
    ),
    Problem(
        "busy", "Another write is going on",
        "The record was held by another write for too long.",
        "Wait as long as Retry-After says, then send the same again under the same id. Nothing was kept.",
    ),
    Problem(
        "fault", "Something broke in the service",
        "The service met a fault of its own. Nothing was kept of this request.",
        "Keep your copy and send it again later under the same id. Tell whoever runs the service the `instance`.",
    ),
)  # fmt: skip
PROBLEM_CODED: Final = {problem.code: problem for problem in PROBLEMS}
