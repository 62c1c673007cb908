"""Labels on the wire, and what their fields must be together."""

from api.records.label import LabelEventSent, LabelSent
from schemas.wire_shape import Faults, checked_by, wire_shape


def _promises(sent: LabelSent) -> Faults:
    """A limit stands on a label that says so, and on no other; what may not be used has no date up to which it may."""
    faults: Faults = {}
    if (sent.says == "use within limits") is (sent.up_to is None):
        wanted = "up to which load" if sent.up_to is None else "no load"
        faults["up_to"] = [f"The label says {sent.says!r}; accepted with that: {wanted}."]
    elif sent.up_to is not None and sent.up_to.kg <= 0:
        faults["up_to"] = [f"Found {sent.up_to.shown}; accepted: above 0."]
    if sent.says == "do not use" and sent.due is not None:
        faults["due"] = ["The label says 'do not use'; accepted with that: no due date."]
    return faults


checked_by(LabelSent, _promises)
LabelSentSchema = wire_shape(LabelSent)
LabelEventSentSchema = wire_shape(LabelEventSent)
