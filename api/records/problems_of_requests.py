"""What may be wrong with a request: its question, address, fields, key. What happened, and what to do."""

from typing import Final

from api.records.problem import Problem

OF_REQUESTS: Final = (
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
