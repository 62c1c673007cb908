"""What may be wrong with what was sent, or with what is to be done to a record: what happened, and what to do."""

from typing import Final

from api.records.problem import Problem

OF_RECORDS: Final = (
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
)  # fmt: skip
