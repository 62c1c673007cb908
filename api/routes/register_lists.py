"""Lists of the register: what each kind can be narrowed by, and the part of it that is asked for."""

from collections.abc import Callable
from typing import Any, Final

from api.records.listing import Listed, Part, part_of
from api.records.register import EntityKind, Revision

FILTERS_OF: Final[dict[str, tuple[str, ...]]] = {
    "ward": ("site", "use_tier"),
    "model": ("kind", "accuracy_class"),
    "device": ("site", "ward", "model", "device.state", "serial"),
    "weight": ("site", "weight_class", "weight.state"),
    "weight set": ("site", "piece"),
    "weight certificate": ("laboratory", "piece"),
    "technician": ("active",),
}


def filters_of(kind: EntityKind) -> tuple[str, ...]:
    """Return what a list of a kind can be narrowed by, beside the day and what was known."""
    return (*FILTERS_OF.get(kind.name, ()), "changed_after")


def register_part(revisions: list[Revision[Any]], where: dict[str, Any], part: Part) -> Listed[Revision[Any]]:
    """Return the part of a kind's revisions that fit the filters given, by key."""
    wanted = [_fits(name, value) for name, value in where.items() if name not in ("on", "known_at")]
    found = (revision for revision in revisions if all(fits(revision) for fits in wanted))
    return part_of(found, lambda revision: (revision.key,), part)


def _fits(name: str, value: Any) -> Callable[[Revision[Any]], bool]:
    if name == "changed_after":
        return lambda revision: revision.log_number > value
    if name == "piece":
        return lambda revision: value in _pieces(revision.record)
    return lambda revision: getattr(revision.record, name) == value


def _pieces(record: Any) -> set[str]:
    return {one.piece for one in getattr(record, "members", None) or record.pieces}
