"""The contract: one subclass of the REST library's Api and Blueprint, with problems, strict JSON and our own fields.

What the library would answer otherwise: HTML or its own error shape, 422 for a wrong Content-Type, numbers where text is
meant, a page header that is not a valid header. One private method is overridden; if it goes, this file is where to mend.
"""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any, Final, NoReturn

from flask import Flask
from flask_smorest import Api, Blueprint
from webargs.flaskparser import FlaskParser

from api.routes.bodies import json_body
from api.routes.problems import MEDIA_TYPE
from api.routes.questions import QUESTIONS, parameter_of
from schemas.answers import ProblemSchema
from schemas.wire_shape import DESCRIBED

# How keys travel; which scope each operation needs stands with it.
KEYS: Final = {
    "installation": {
        "type": "http", "scheme": "bearer", "bearerFormat": "sty_i_...",
        "description": "The key of an installation. It carries scopes: read, report, submit, import, amend, release, "
        "administer. A service whose door is open, on its own machine, asks for none.",
    },
    "person": {
        "type": "apiKey", "in": "header", "name": "Steelyard-Person",
        "description": "The key of an enrolled person (sty_p_...), beside the installation's, where a person has to answer. "
        "Where the door is open, Steelyard-By with the person's code stands for it.",
    },
}  # fmt: skip

# What holds for every operation, said once at the head of the contract.
FOR_WHO_WRITES_AN_APP: Final = (
    "Calibration of weighing scales, kept and judged. For every operation:\n\n"
    "- `Authorization: Bearer sty_i_...` is the key of the app; where a person answers, `Steelyard-Person: sty_p_...` stands "
    "beside it, and both keys need the scope.\n"
    "- Ids are made by the sender, once, and saved before the first sending. The same content again under an id is answered "
    "200 with `replayed`; other content 409. So whatever was not answered is sent again unchanged.\n"
    "- An error is a problem (RFC 9457): `type` leads to a page of this service that says what to do. 429 and 503 say with "
    "`Retry-After` when to go on; what has no answer, and 5xx, is tried again, later and later. Other refusals need a change "
    "or a person first.\n"
    "- Masses are text with a unit beside them, as the display showed them; moments have their offset (RFC 3339). A field "
    "without a value is left out, and an unknown one is refused.\n"
    "- A reader takes no notice of fields in answers that it does not know.\n"
    "- No patient's name, number or picture, anywhere."
)


class StrictParser(FlaskParser):
    """Bodies come through the strict JSON door; faults are raised as they are, for `problems` to answer."""

    def load_json(self, req: Any, schema: Any) -> Any:
        """Return the parsed body."""
        return json_body()

    def handle_error(self, error: Any, *args: Any, **kwargs: Any) -> NoReturn:
        """Raise the faults."""
        raise error


class Doors(Blueprint):
    """A group of routes."""

    ARGUMENTS_PARSER = StrictParser()


class Contract(Api):
    """The service's contract: OpenAPI 3.1, every error a problem."""

    ERROR_SCHEMA = ProblemSchema

    def handle_http_exception(self, error: Any) -> NoReturn:
        """Leave errors to `problems`."""
        raise error

    def _register_responses(self) -> None:
        """Describe every error answer as a problem."""
        content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
        for status in HTTPStatus:
            self.spec.components.response(status.name, {"description": status.phrase, "content": content}, lazy=True)
        self.spec.components.response("DEFAULT_ERROR", {"description": "A problem", "content": content}, lazy=True)


def question(*names: str) -> Callable[[Any], Any]:
    """Describe the query parameters of a route."""
    return Blueprint.doc(parameters=questions_described(*names))


def questions_described(*names: str) -> list[dict[str, Any]]:
    """Return query parameters as the contract describes them."""
    return [
        {
            "in": "query", "name": parameter_of(name), "required": False,
            "schema": QUESTIONS[name].schema, "description": QUESTIONS[name].description,
        }
        for name in names
    ]  # fmt: skip


def describe_field(converter: Any, field: Any, **_: Any) -> dict[str, Any]:
    """Describe our own fields to the contract by the schema they carry."""
    return dict(getattr(field, "json_schema", {}))


def make_contract(app: Flask) -> Contract:
    """Return the contract of the application, every error described."""
    contract = Contract(app)
    plugin = contract.spec.plugins[-1]
    plugin.converter.add_attribute_function(describe_field)
    contract.spec.components.schema("Problem", schema=ProblemSchema)
    for name, scheme in KEYS.items():
        contract.spec.components.security_scheme(name, scheme)
    return contract


def describe_records(contract: Contract) -> None:
    """Add the records that shapes were made of; called when every route is registered."""
    for name, schema in DESCRIBED.items():
        if name not in contract.spec.components.schemas:
            contract.spec.components.schema(name, schema)
