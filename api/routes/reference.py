"""The contract to browse and try: a reader of OpenAPI documents from its package's files, and nothing from elsewhere."""

from importlib.resources import files

from flask import Blueprint, Response, redirect, send_from_directory
from werkzeug.wrappers import Response as AnyResponse

REFERENCE = Blueprint("reference", __name__, url_prefix="/reference")

# The reader draws with a script of its own and pictures inside its style; it talks to this service only.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<title>Steelyard: the contract</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/reference/files/swagger-ui.css">
</head>
<body>
<noscript><p>This page draws the contract with a script. Without one, read <a href="/v1/openapi.json">the contract
itself</a>.</p></noscript>
<div id="contract"></div>
<script src="/reference/files/swagger-ui-bundle.js"></script>
<script src="/reference/start.js"></script>
</body>
</html>
"""
START = """SwaggerUIBundle({
  url: "/v1/openapi.json", dom_id: "#contract", deepLinking: true, docExpansion: "none", validatorUrl: null,
  defaultModelsExpandDepth: -1, syntaxHighlight: false
});
"""


@REFERENCE.get("")
def address() -> AnyResponse:
    """Lead to the page."""
    return redirect("/reference/", 308)


@REFERENCE.get("/")
def page() -> Response:
    """Serve the page that the contract is drawn on."""
    return _told(Response(PAGE, content_type="text/html; charset=utf-8"))


@REFERENCE.get("/start.js")
def start() -> Response:
    """Serve the few lines that name the contract to the reader."""
    return _told(Response(START, content_type="text/javascript; charset=utf-8"))


@REFERENCE.get("/files/<name>")
def reader_file(name: str) -> Response:
    """Serve a file of the reader as its package holds it."""
    return _told(send_from_directory(str(files("flask_swagger_ui") / "dist"), name))


def _told(answer: Response) -> Response:
    answer.headers["Content-Security-Policy"] = POLICY
    answer.headers["Referrer-Policy"] = "no-referrer"
    return answer
