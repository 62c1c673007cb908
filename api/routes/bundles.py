"""What goes offline: one answer with everything about the scales of a site, and a tag that says when it is another."""

import hashlib
from collections import OrderedDict
from typing import Any, Final

from flask import Response, current_app
from flask.views import MethodView

from api.answers.bundle import bundle_for
from api.answers.local_day import local_day_at
from api.database import reading
from api.queries.log import head
from api.records.bundle import BundleAsked
from api.records.problems import SiteNotNamed
from api.routes.bodies import answer, engine, now
from api.routes.contract import Doors, question
from api.routes.doorkeeper import caller, needs
from api.routes.preconditions import is_known
from api.routes.questions import asked
from schemas.answers import BundleSchema

BUNDLES = Doors("bundle", __name__, url_prefix="/v1/bundle", description="Everything for going offline")
QUESTIONS = ("site", "ward", "set", "technician", "on")
MOST_KNOWN: Final = 1000
# What was asked, by whom it may be seen, and at which entry of the log: the tag of what was answered then.
Known = OrderedDict[tuple[Any, ...], str]


@BUNDLES.route("")
class ForASite(MethodView):
    """A site's scales."""

    @needs("read")
    @question(*QUESTIONS)
    @BUNDLES.response(200, BundleSchema)
    def get(self) -> Response:
        """Read everything for going offline with a site's scales: what is due, plans with tolerances, how each was left,
        limits, open flags, weights with their validity, cautions. With an ETag: 304 to who has it already."""
        where = asked(*QUESTIONS)
        with reading(engine()) as connection:
            site = _site(where.get("site"))
            on = where.get("on") or local_day_at(connection, site, now())
            wanted = BundleAsked(site, on, *(where.get(name) for name in ("ward", "set", "technician")))
            entry = (wanted, caller().sites, head(connection).number)
            tag = _known().get(entry)
            if tag is not None and is_known(tag):
                return _tagged(Response(status=304), tag)
            told = answer(bundle_for(connection, wanted))
        tag = _known()[entry] = hashlib.sha256(told.get_data()).hexdigest()[:32]
        if len(_known()) > MOST_KNOWN:
            _known().popitem(last=False)
        return _tagged(told, tag)


def _site(named: str | None) -> str:
    """The site asked for; where none is named, the one that the key is for, if it is one."""
    sites = caller().sites
    if named is not None:
        return named
    if sites is None or len(sites) != 1:
        said = "every site" if sites is None else ", ".join(sorted(sites))
        raise SiteNotNamed(f"Say which site with site=: the key is for {said}.", sites=said)
    return next(iter(sites))


def _known() -> Known:
    known: Known = current_app.extensions.setdefault("steelyard.bundles", OrderedDict())
    return known


def _tagged(told: Response, tag: str) -> Response:
    told.set_etag(tag)
    return told
