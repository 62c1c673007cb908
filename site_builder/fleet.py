"""Everything a build is made from, as it was gathered, with the ways from one thing to another. Nothing is decided here."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from api.answers.nearest import nearest
from api.records.documents import record_from
from api.records.nearby import NearbyScale
from site_builder.page import Document, Touch

STANDS = ("provisional", "released")


@dataclass(frozen=True, slots=True)
class Scale:
    """One scale: its register revision, its model, where it stands, its use and due answers, its history, newest first.

    `weighing` and `corners` are the service's answers, or `{"why_not": sentence}` where it has none; `notes` are those of
    the register; `events` are what happened between calibrations, newest first.
    """

    device: Document
    model: Document
    ward: Document
    site: Document
    use: Document
    due: Document
    history: tuple[Document, ...]
    touch: Touch
    adjusted_site: Document | None = None
    weighing: Document | None = None
    corners: Document | None = None
    plan: Document | None = None
    notes: tuple[Document, ...] = ()
    events: tuple[Document, ...] = ()

    @property
    def open_events(self) -> list[Document]:
        """What happened to it and is open, newest first."""
        return [event for event in self.events if event["open"]]

    @property
    def tag(self) -> str:
        """The asset tag."""
        return str(self.device["tag"])

    @property
    def may(self) -> str:
        """The answer on use, in its own words."""
        return str(self.use["may"])

    @property
    def retired(self) -> bool:
        """Whether the scale is off the register's working list for good."""
        return bool(self.device["state"] == "retired")

    @property
    def counted(self) -> list[Document]:
        """The visits that stand, each by its newest revision that does, newest first.

        One dated ahead of its arrival waits until somebody has looked at it.
        """
        stand = [h for h in self.history if h["standing"] in STANDS and not _is_ahead(h)]
        newest = {_visit(h): h["revision"] for h in sorted(stand, key=lambda h: h["revision"])}
        return [h for h in stand if h["revision"] == newest[_visit(h)]]

    @property
    def newest(self) -> Document | None:
        """The newest visit that counts and in which something was measured."""
        return next((h for h in self.counted if _measured(h)), None)

    @property
    def unit(self) -> str:
        """The unit its pages are written in: grams for a balance that shows grams, kilograms for every other scale."""
        units = {r["d"]["unit"] for r in self.model["ranges"]}
        return "g" if units <= {"g", "mg"} else "kg"

    @property
    def main_ranges(self) -> list[Document]:
        """The ranges in the unit the pages are written in, else in the first unit the scale can show."""
        ranges = self.model["ranges"]
        unit = next((r["max"]["unit"] for r in ranges if r["max"]["unit"] == self.unit), ranges[0]["max"]["unit"])
        return [r for r in ranges if r["max"]["unit"] == unit]


def _visit(item: Document) -> tuple[str, str]:
    return item["site"], item["calibration"]


def _is_ahead(item: Document) -> bool:
    begun, arrived = (datetime.fromisoformat(item[key]) for key in ("performed_from", "received_at"))
    return item["standing"] == "provisional" and begun > arrived


def _measured(item: Document) -> bool:
    judged = item.get("working") or {}
    return bool(judged.get("as_found") or judged.get("as_left"))


@dataclass(frozen=True, slots=True)
class HeldWeight:
    """One piece: its register record, the number and last day of the certificate in force, if any, the register's notes, and
    the service's answer on whether it may be counted on, with its last events."""

    weight: Document
    touch: Touch
    certificate: str | None = None
    valid_to: str | None = None
    notes: tuple[Document, ...] = ()
    life: Document | None = None


@dataclass(frozen=True)
class Fleet:
    """All that is published, on one day at one entry of the log.

    `unlinked` are visits of no scale on the register, `not_linked` events of none.
    """

    as_of: str
    log: Touch
    sites: tuple[Document, ...]
    wards: tuple[Document, ...]
    scales: tuple[Scale, ...]
    certificates: tuple[Document, ...]
    problems: tuple[Document, ...]
    place_touches: dict[tuple[str, str], Touch]
    unlinked: tuple[Document, ...] = ()
    weights: tuple[HeldWeight, ...] = ()
    not_linked: tuple[Document, ...] = ()

    @cached_property
    def scales_of_ward(self) -> dict[str, tuple[Scale, ...]]:
        """The scales that stand in each ward, by tag."""
        return _grouped(self.scales, "ward")

    @cached_property
    def scales_of_site(self) -> dict[str, tuple[Scale, ...]]:
        """The scales of each site, by tag."""
        return _grouped(self.scales, "site")

    @cached_property
    def wards_of_site(self) -> dict[str, tuple[Document, ...]]:
        """The wards of each site, by name."""
        found: dict[str, list[Document]] = {site["code"]: [] for site in self.sites}
        for ward in sorted(self.wards, key=lambda w: (w["name"], w["code"])):
            found.setdefault(ward["site"], []).append(ward)
        return {site: tuple(wards) for site, wards in found.items()}

    @cached_property
    def in_use(self) -> tuple[Scale, ...]:
        """The scales that are not retired."""
        return tuple(scale for scale in self.scales if not scale.retired)

    @cached_property
    def scale_of_tag(self) -> dict[str, Scale]:
        """Each scale under its tag and every former tag."""
        return {tag: s for s in self.scales for tag in (*(s.device.get("previous_tags") or ()), s.tag)}

    @cached_property
    def waiting_amendments(self) -> dict[tuple[str, str], Document]:
        """The newest amendment of each visit that nobody has released yet."""
        items = [*self.unlinked, *(item for scale in self.scales for item in scale.history)]
        waits = [item for item in items if item["revision"] > 1 and item["standing"] == "provisional"]
        return {_visit(item): item for item in sorted(waits, key=lambda item: item["revision"])}

    def certificates_of(self, scale: Scale) -> tuple[Document, ...]:
        """Return the certificates of a scale under all its tags, newest first."""
        return tuple(self._certificates_by_scale.get(scale.tag, ()))

    @cached_property
    def _certificates_by_scale(self) -> dict[str, list[Document]]:
        found: dict[str, list[Document]] = {}
        for stored in sorted(self.certificates, key=lambda s: s["log_number"], reverse=True):
            if scale := self.scale_of_tag.get(stored["document"]["device"]["tag"]):
                found.setdefault(scale.tag, []).append(stored)
        return found

    def near(self, scale: Scale) -> tuple[Scale, ...]:
        """Return the scales near by that may be used instead, as the service answers it."""
        by_tag = {other.tag: other for other in self.scales_of_site.get(scale.site["code"], ())}
        found = nearest(_nearby(scale), [_nearby(other) for other in by_tag.values()])
        return tuple(by_tag[other.tag] for other in found)


def _nearby(scale: Scale) -> NearbyScale:
    named = {"tag": scale.tag, "site": scale.site["code"], "ward": scale.ward["code"]}
    return record_from(NearbyScale, {**named, "kind": scale.model["kind"], "may": scale.may})


def _grouped(scales: tuple[Scale, ...], field: str) -> dict[str, tuple[Scale, ...]]:
    found: dict[str, list[Scale]] = {}
    for scale in sorted(scales, key=lambda s: s.tag):
        found.setdefault(scale.device[field], []).append(scale)
    return {code: tuple(group) for code, group in found.items()}
