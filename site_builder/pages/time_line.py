"""Everything that ever happened to a scale on one line of time: visits, attempts, certificates, events, places."""

from typing import Any

from site_builder import addresses
from site_builder.beam import verdict
from site_builder.fleet import STANDS, Scale
from site_builder.markup import Child, Html, between, join, tag
from site_builder.pages.device_events import Entry, event_entries
from site_builder.pages.readings import remarks, sentences
from site_builder.pages.tables import section, when
from site_builder.pages.use_answer import standing_words
from site_builder.text import capital, day, listed


def time_line(here: str, scale: Scale, certificates: tuple[dict[str, Any], ...]) -> Html:
    """Return the time line of a scale, newest first."""
    newest = scale.newest
    last: dict[str, int] = {}
    for document in (stored["document"] for stored in certificates):
        last[document["number"]] = max(document["revision"], last.get(document["number"], 1))
    entries = [_visit(here, item, last, item is newest) for item in scale.history]
    entries += [_amended(here, stored) for stored in certificates if stored["document"]["revision"] > 1]
    entries += event_entries(scale)
    entries += _register(scale)
    entries.sort(key=lambda entry: entry[:2], reverse=True)
    items = [tag("li", when(on, day(on)), tag("div", words)) for on, _, words in entries]
    return section("Everything that happened", tag("ol", items, class_="line"), id_="history")


def _visit(here: str, item: dict[str, Any], last: dict[str, int], above: bool) -> Entry:
    """A visit; what a person must look at stands with it, unless it is the visit shown above with all of that."""
    gone = item["standing"] not in STANDS
    words = join(
        tag("p", what_happened(item), " ", verdicts(item)),
        tag("p", between(" · ", _details(here, item, last)), class_="soft"),
        sentences(item["flags"]) if item["standing"] == "provisional" and not above else None,
        None if above else remarks(item),
    )
    return item["performed_from"][:10], item["log_number"], tag("div", words, class_="gone" if gone else None)


def what_happened(item: dict[str, Any]) -> str:
    """Return in words what a visit was for and what was done; its verdicts follow."""
    purpose = capital(_PURPOSES.get(item["purpose"], item["purpose"]))
    if item["outcome"] == "not tested":
        return f"{purpose}: not tested, {listed(item['reasons']) or 'no reason given'}."
    partly = " only in part" if item["outcome"] == "partly completed" else ""
    adjusted = "adjusted" if item["adjusted"] else "not adjusted"
    return f"{purpose}{partly}, {adjusted}:"


_PURPOSES = {
    "scheduled": "scheduled calibration", "initial": "first calibration", "after repair": "calibration after repair",
    "after relocation": "calibration after a move", "complaint": "calibration on a complaint", "check": "check",
    "audit": "audit", "blind": "blind trial",
}  # fmt: skip


def verdicts(item: dict[str, Any]) -> Html:
    """Return the verdicts of a visit with their words."""
    if item["outcome"] == "not tested":
        return verdict("not tested")
    said = [
        join(f"{words} ", verdict(item[key]))
        for key, words in (("as_found", "as found"), ("as_left", "as left"))
        if item.get(key) and (key == "as_found" or item["adjusted"] or not item.get("as_found"))
    ]
    return between(", ", said)


def _details(here: str, item: dict[str, Any], last: dict[str, int]) -> list[Child]:
    """An attempt that stands has nothing to be reviewed; whatever has ended says so."""
    final = item.get("as_left") or item.get("as_found") or ""
    told = item["outcome"] != "not tested" or item["standing"] not in STANDS
    return [
        standing_words(item, final) if told else None,
        f"revision {item['revision']}: {item['amended_because']}" if item["revision"] > 1 else None,
        f"technician {listed(item['technicians'])}" if item["technicians"] else None,
        _imported(item),
        _certificate(here, item, last),
        f"log entry {item['log_number']}",
    ]


def _imported(item: dict[str, Any]) -> str | None:
    """An old record says that it is one, and what it lacks."""
    origin = item.get("imported")
    if origin is None:
        return None
    lacks = f", without {listed(origin['lacks'])}" if origin["lacks"] else ""
    counted = "; not counted in statistics" if origin["partial"] else ""
    return f"imported from old records{lacks}{counted}"


def _certificate(here: str, item: dict[str, Any], last: dict[str, int]) -> Html | None:
    number = item.get("certificate")
    if number is None:
        return None
    revision = item["certificate_revision"]
    address = addresses.certificate(number, None if revision == last.get(number, revision) else revision)
    said = f"certificate {number}" + (f", revision {revision}" if last.get(number, 1) > 1 else "")
    return tag("a", said, href=addresses.link(here, address))


def _amended(here: str, stored: dict[str, Any]) -> Entry:
    """A later revision of a certificate; the first is named with its visit."""
    document = stored["document"]
    link = tag(
        "a", f"Certificate {document['number']}", href=addresses.link(here, addresses.certificate(document["number"]))
    )
    return (
        document["issued_at"][:10],
        stored["log_number"],
        tag("p", link, f" was issued again as revision {document['revision']}."),
    )


def _register(scale: Scale) -> list[Entry]:
    device = scale.device
    entries: list[Entry] = [(device["on_register_since"], 0, tag("p", "Came onto the register."))]
    if device["in_place_since"] != device["on_register_since"]:
        place = f"Stands in {scale.ward['name']}, {device['place']}, since this day."
        entries.append((device["in_place_since"], 0, tag("p", place)))
    return entries
