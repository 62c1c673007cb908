"""Events of weights on the wire: each kind has a shape of its own, told by its `kind`."""

from typing import Any, Final

from marshmallow import ValidationError

from api.records.weight_event import (
    CheckedOut,
    Compared,
    CountedIn,
    MishapTold,
    ToLaboratory,
    WeightEventSent,
    WeightReleaseAsked,
)
from schemas.sentences import MISSING, said
from schemas.wire_shape import Faults, Shape, checked_by, wire_shape

SHAPES: Final = tuple(wire_shape(record) for record in (CheckedOut, CountedIn, MishapTold, Compared, ToLaboratory))
OF_KIND: Final[dict[str, type[Shape]]] = {
    "checked out": wire_shape(CheckedOut), "counted in": wire_shape(CountedIn),
    "dropped": wire_shape(MishapTold), "washed": wire_shape(MishapTold), "damaged": wire_shape(MishapTold),
    "compared": wire_shape(Compared),
    "sent to the laboratory": wire_shape(ToLaboratory), "back from the laboratory": wire_shape(ToLaboratory),
}  # fmt: skip


def weight_event_of(content: Any) -> WeightEventSent:
    """Return the event of weights that parsed JSON holds; raises marshmallow's ValidationError with all faults."""
    kind = content.get("kind") if isinstance(content, dict) else None
    shape = OF_KIND.get(kind) if isinstance(kind, str) else None
    if shape is None and isinstance(content, dict):
        found = MISSING if "kind" not in content else f"Found {said(kind)}; accepted: one of {', '.join(OF_KIND)}."
        raise ValidationError({"kind": [found]})
    read: WeightEventSent = (shape or SHAPES[0])().load(content)
    return read


def _division_above_nothing(event: Compared) -> Faults:
    faults: Faults = {}
    if event.division.kg <= 0:
        faults["division"] = [f"Found {event.division.shown}; accepted: above 0."]
    if event.repeatability is not None and event.repeatability.standard_deviation.kg < 0:
        shown = event.repeatability.standard_deviation.shown
        faults["repeatability"] = {"standard_deviation": [f"Found {shown}; accepted: 0 or above."]}
    return faults


def _one_basis(asked: WeightReleaseAsked) -> Faults:
    if (asked.comparison is None) is (asked.certificate is None):
        return {"comparison": ["Name one of the two: the comparison, or the certificate, that the release rests on."]}
    return {}


checked_by(Compared, _division_above_nothing)
checked_by(WeightReleaseAsked, _one_basis)
