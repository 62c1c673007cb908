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
        "description": "The key of an enrolled person (sty_p_...), beside the installation's, where a person has to answer.",
    },
}  # fmt: skip


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
