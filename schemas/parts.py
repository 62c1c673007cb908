"""A list in parts, as a shape for the contract."""

from marshmallow import Schema
from marshmallow import fields as wire


class PartSchema(Schema):
    """A part of a list."""

    next = wire.String(
        metadata={
            "description": "Send it as `cursor`, with the same filters, for what comes next; left out at the end."
        }
    )
