"""The log as a feed: its entries in order of commit, without gaps, from wherever a reader has come to."""

import hashlib

from flask import Response
from flask.views import MethodView

from api.database import reading
from api.keeping.judge_on_file import PROGRAM
from api.queries.log import changes_after, head
from api.routes.bodies import answer, engine
from api.routes.contract import question
from api.routes.doorkeeper import caller, needs
from api.routes.lists import LINKED, links
from api.routes.preconditions import is_known
from api.routes.questions import asked
from api.routes.record import RECORD
from schemas.answers import ChangesSchema

QUESTIONS = ("after", "limit", "touching", "key")


@RECORD.route("/changes")
class Changes(MethodView):
    """The log."""

    @needs("read")
    @question(*QUESTIONS)
    @RECORD.response(200, ChangesSchema, headers=LINKED)
    @RECORD.alt_response(409, "CONFLICT")
    def get(self) -> Response:
        """Read the log's entries after a number, in order of commit, without gaps; ask again after `next_after`.

        At the end `next_after` stays what it is until something new is written, and the ETag with it: 304 until then.
        """
        where = asked(*QUESTIONS)
        after, limit = where.pop("after", 0), where.pop("limit", 100)
        with reading(engine()) as connection:
            tag = _tag(head(connection).number)
            if is_known(tag):
                return _tagged(Response(status=304), tag)
            found = changes_after(connection, after, limit, **where)
        told = answer({
            "items": found.entries, "next_after": found.looked_up_to, "head": found.head.number, "at_end": found.at_end,
        })  # fmt: skip
        told.headers["Link"] = links(first={"after": None}, next={"after": found.looked_up_to})
        return _tagged(told, tag)


def _tag(number: int) -> str:
    """What an answer follows from beside its address: how far the log is, what whoever asks may see of it, the program."""
    sites = caller().sites
    seen = "all" if sites is None else ",".join(sorted(sites))
    return f"{number}-{hashlib.sha256(f'{PROGRAM} {seen}'.encode()).hexdigest()[:8]}"


def _tagged(told: Response, tag: str) -> Response:
    told.set_etag(tag)
    return told
