"""The four statuses of a scale, kept apart: measurement, on time, electrical safety, legal verification."""

from api.records.cautions import CAUTIONS
from site_builder.beam import verdict
from site_builder.charts.error_against_load import own_as_left
from site_builder.fleet import Scale
from site_builder.markup import Child, Html, between, join, tag
from site_builder.pages.tables import facts
from site_builder.pages.use_answer import standing_words
from site_builder.text import day, with_days


def statuses(scale: Scale, as_of: str) -> Html:
    """The four statuses, kept apart: none of them says anything about another."""
    return facts(
        [
            ("Measurement", _measurement(scale)),
            ("On time", _on_time(scale)),
            ("Electrical safety", _electrical(scale, as_of)),
            ("Legal verification", _legal(scale, as_of)),
        ],
        "statuses",
    )


def _measurement(scale: Scale) -> Child:
    newest = scale.newest
    if newest is None:
        return join(verdict("not tested"), tag("small", "no measurement on record"))
    both: tuple[tuple[str, str], ...] = (("as_left", "as left"), ("as_found", "as found"))
    if newest.get("as_left") and not own_as_left(newest["working"]):
        both = (("as_left", "as found and left"),)
    said = [join(verdict(newest[key]), f" {words}") for key, words in both if newest.get(key)]
    final = newest.get("as_left") or newest["as_found"]
    return join(
        [tag("div", line) for line in said],
        tag("small", f"{day(newest['performed_from'])}; {standing_words(newest, final)}"),
    )


def _on_time(scale: Scale) -> Child:
    due = scale.due
    date_ = f"due {day(due['due'])}" if due.get("due") and not scale.retired else None
    return join(tag("strong", due["state"]), tag("small", between("; ", [date_, with_days(due["basis"])])))


def _electrical(scale: Scale, as_of: str) -> Child:
    due = scale.device.get("electrical_safety_due")
    said = "no date on the register" if due is None else f"{'was due' if due < as_of else 'due'} {day(due)}"
    return join(tag("strong", said), tag("small", CAUTIONS["C-10"], " (C-10)"))


def _legal(scale: Scale, as_of: str) -> Child:
    if not scale.site.get("legal_verification_required"):
        return join(tag("strong", "not required at this site"), tag("small", "as the register says"))
    until = scale.device.get("legal_verification_until")
    if until is None:
        return join(tag("strong", "required, no date on the register"))
    return join(
        tag("strong", f"{'ended' if until < as_of else 'valid until'} {day(until)}"),
        tag("small", "a separate act of law"),
    )
