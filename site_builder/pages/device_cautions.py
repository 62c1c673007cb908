"""The cautions that a scale's page carries, by its last visit, its kind, its ward and where it was adjusted."""

from decimal import Decimal
from typing import Any

from api.metrology.mass import METRIC
from api.records.documents import read_mass
from site_builder.cautions import bed_zeroed, below_capacity, caution, failed
from site_builder.fleet import Scale
from site_builder.markup import Html, join
from site_builder.pages.device_events import has_open
from site_builder.pages.use_answer import failed_caution
from site_builder.text import day, in_unit, unit_word

_BEDS = ("bed", "bed pads", "incubator")


def cautions_of(scale: Scale) -> Html:
    """The cautions that this scale, in this ward, after its last visit, calls for."""
    newest = scale.newest
    content = (newest or {}).get("content") or {}
    return join(
        failed_caution(scale) or _told(scale),
        _below_capacity(scale),
        _units(scale, content),
        bed_caution(content) if scale.model["kind"] in _BEDS and newest else None,
        caution("C-18") if scale.ward.get("magnet_zone") else None,
        _moved(scale),
    )


def _told(scale: Scale) -> Html | None:
    """C-17 where what was told of it stops its use."""
    stopped = has_open(scale, "dropped", "damaged", "wrong unit", "failed check")
    return failed(scale.ward["call_role"], scale.ward["call_number"]) if stopped else None


def unit_is_locked(scale: Scale) -> bool:
    """Return whether the last visit left the displayed unit locked; what was not looked at is not locked."""
    read = ((scale.newest or {}).get("content") or {}).get("configuration") or {}
    setting = read.get("after") or read.get("before") or {}
    return setting.get("unit_locked") is True


def _units(scale: Scale, content: dict[str, Any]) -> Html | None:
    """C-03 where the unit is not locked, or was found in another than kilograms or grams."""
    before = (content.get("configuration") or {}).get("before") or {}
    found = f"It was found showing {unit_word(before['unit'])}. " if before.get("unit", "kg") not in METRIC else ""
    if has_open(scale, "wrong unit"):
        return caution("C-03", "It was reported as showing another unit than kilograms or grams. ")
    if unit_is_locked(scale):
        return caution("C-03", found) if found else None
    return caution("C-03", found, _unlocked_words(content))


def _unlocked_words(content: dict[str, Any]) -> str:
    read = content.get("configuration") or {}
    setting = read.get("after") or read.get("before") or {}
    shows = f"The scale was left showing {unit_word(setting['unit'])}; its" if setting.get("unit") else "Its"
    known = "is not locked" if setting.get("unit_locked") is False else "is not known to be locked"
    return f"{shows} unit {known}. "


def bed_caution(content: dict[str, Any]) -> Html:
    """Return the caution on a bed's zero, from what the visit recorded of it."""
    phases = [content[key]["readings"] for key in ("as_left", "as_found") if content.get(key)]
    zero: dict[str, Any] = next((r for sent in phases for r in sent if r["test"] == "zero set"), {})
    at = zero.get("at") if "T" in (zero.get("at") or "") else None
    return bed_zeroed(at, zero.get("remark"), content.get("informed"))


def _below_capacity(scale: Scale) -> Html | None:
    judged = (scale.newest or {}).get("working") or {}
    phase = judged.get("as_left") or judged.get("as_found")
    capacity = max(scale.main_ranges, key=lambda r: _kilograms(r["max"]))["max"]
    proven = (phase or {}).get("proven")
    if not proven or in_unit(proven["to_kg"], "kg") >= _kilograms(capacity):
        return None
    return below_capacity(proven["to_kg"], f"{_kilograms(capacity):f}", scale.unit)


def _kilograms(mass: dict[str, str]) -> Decimal:
    return read_mass(mass).kg


def _moved(scale: Scale) -> Html | None:
    """Where the span was adjusted under another gravity than the one it weighs in now."""
    adjusted, elsewhere = scale.device.get("adjusted_at"), scale.adjusted_site
    if not adjusted or elsewhere is None or elsewhere["code"] == scale.site["code"]:
        return None
    there = f"Last adjusted at {elsewhere['name']} on {day(adjusted['on'])}"
    g = f" (g = {adjusted['g_m_s2']} m/s²)" if adjusted.get("g_m_s2") else ""
    now = (scale.site.get("gravity") or {}).get("g_m_s2")
    here = f"; it stands at {scale.site['name']} now" + (f" (g = {now} m/s²). " if now else ". ")
    return caution("C-13", f"{there}{g}{here}")
