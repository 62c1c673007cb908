"""The published site and the contract, served beside the API on the same port. Files only; nothing is drawn here."""

import os
from pathlib import Path

from flask import Blueprint, Response, current_app, redirect, send_from_directory
from werkzeug.exceptions import NotFound
from werkzeug.security import safe_join
from werkzeug.wrappers import Response as AnyResponse

SITE = Blueprint("site", __name__)

POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


@SITE.get("/")
@SITE.get("/<path:address>")
def page(address: str = "") -> AnyResponse:
    """Serve a published page or file."""
    if address.startswith("v1/"):
        raise NotFound("No resource of the service has this address, or none that is read. See /v1/openapi.json.")
    folder = Path(current_app.config["SITE_FOLDER"])
    wanted = safe_join(str(folder), address)
    if address and not address.endswith("/") and wanted is not None and os.path.isdir(wanted):
        return redirect(f"/{address}/", 308)
    name = f"{address}index.html" if not address or address.endswith("/") else address
    try:
        answer: Response = send_from_directory(folder, name, max_age=0)
    except NotFound:
        said = "No page has this address." if folder.is_dir() else "No site is published yet: run steelyard publish."
        raise NotFound(said) from None
    answer.headers["Content-Security-Policy"] = POLICY
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer
