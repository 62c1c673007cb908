"""The published site, served beside the API on the same port. Files only; nothing is drawn here."""

import os
from pathlib import Path

from flask import Blueprint, Flask, Response, current_app, redirect, request, send_from_directory
from werkzeug.exceptions import NotFound
from werkzeug.routing import PathConverter
from werkzeug.security import safe_join
from werkzeug.wrappers import Response as AnyResponse

SITE = Blueprint("site", __name__)

POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

# Written by the builder: what a browser is shown where the site has no page.
NO_PAGE = "404.html"


class PageAddress(PathConverter):
    """Any address but the service's own: what is under `v1/` is a resource or is nothing, whatever the method."""

    regex = "(?!v1/)[^/].*?"


def serve_site(app: Flask) -> None:
    """Have the application serve the published site."""
    app.url_map.converters["page"] = PageAddress
    app.register_blueprint(SITE)


@SITE.get("/")
@SITE.get("/<page:address>")
def page(address: str = "") -> AnyResponse:
    """Serve a published page or file."""
    folder = Path(current_app.config["SITE_FOLDER"])
    wanted = safe_join(str(folder), address)
    if address and not address.endswith("/") and wanted is not None and os.path.isdir(wanted):
        return redirect(f"/{address}/", 308)
    name = f"{address}index.html" if not address or address.endswith("/") else address
    try:
        return guarded(send_from_directory(folder, name, max_age=0))
    except NotFound:
        if _wants_a_page() and (folder / NO_PAGE).is_file():
            return _no_page(folder)
        said = "No page has this address." if folder.is_dir() else "No site is published yet: run steelyard publish."
        raise NotFound(said) from None


def _wants_a_page() -> bool:
    """A browser names text/html; a program that takes anything gets a problem, as everywhere else."""
    return request.accept_mimetypes.best_match(["application/problem+json", "text/html"]) == "text/html"


def _no_page(folder: Path) -> Response:
    answer = Response((folder / NO_PAGE).read_bytes(), 404, content_type="text/html; charset=utf-8")
    answer.headers["Cache-Control"] = "no-cache"
    return guarded(answer)


def guarded(answer: Response) -> Response:
    """Return a page with the fields that let it run nothing and ask no other address."""
    answer.headers["Content-Security-Policy"] = POLICY
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer
