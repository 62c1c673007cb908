"""The answer to "may I use this scale now?": a sentence with its own end, why, how far, whom to call, what else to use."""

from site_builder import addresses
from site_builder.beam import use_beam, use_class, use_word
from site_builder.cautions import failed
from site_builder.fleet import Scale
from site_builder.markup import Html, join, tag
from site_builder.page import Document
from site_builder.pages.tables import facts
from site_builder.text import capital, day, in_unit, kilograms, number, with_days


def span_words(use: dict[str, str], unit: str = "kg") -> str:
    """Return the loads that an answer speaks of: `from 2 to 120 kg`, `up to 120 kg`, or nothing."""
    low, high = use.get("from_kg"), use.get("up_to_kg")
    if low and high:
        return f"from {number(in_unit(low, unit))} to {kilograms(high, unit)}"
    return f"up to {kilograms(high, unit)}" if high else f"from {kilograms(low, unit)}" if low else ""


def sentence(use: dict[str, str], unit: str = "kg") -> str:
    """Return the answer as one sentence with its own end."""
    until = f" until {day(use['until'])}" if use.get("until") else ""
    if use["may"] == "may use":
        return f"You may use this scale{until}, unless it is tagged, was moved, dropped or repaired."
    if use["may"] == "may use within limits":
        span = span_words(use, unit)
        return f"Use it only {span or 'within the limits below'}{until}, unless it is tagged, was moved, dropped or repaired."
    if use["may"] == "do not use":
        return "Do not use this scale."
    return "Not proven. Do not rely on this scale."


def _parts(use: dict[str, str], unit: str) -> tuple[str, str]:
    """The sentence in two: what is read across a room, and the condition that ends it."""
    said, _, condition = sentence(use, unit).partition(", unless ")
    return (f"{said},", f"unless {condition}") if condition else (said, "")


def answer(here: str, scale: Scale, near: tuple[Scale, ...]) -> Html:
    """Return the block that stands first on a scale's page."""
    said, condition = _parts(scale.use, scale.unit)
    reasons = [with_days(capital(reason["sentence"])) for reason in scale.use["why"]]
    return tag(
        "section",
        tag("div",
            tag("p", use_beam(scale.may), tag("span", said), class_="say"),
            tag("p", condition, class_="condition") if condition else None,
            tag("ul", [tag("li", reason) for reason in reasons], class_="why") if reasons else None,
            _instead(here, near) if scale.may in ("do not use", "not proven") else None,
            class_="said"),
        _aside(scale),
        class_=f"answer {use_class(scale.may)}",
        aria_label="May I use this scale now",
    )  # fmt: skip


def _aside(scale: Scale) -> Html:
    span = span_words(scale.use, scale.unit) if scale.may in ("may use", "may use within limits") else ""
    call = join(scale.ward["call_role"], tag("br"), tag("strong", scale.ward["call_number"]))
    return tag(
        "div",
        facts([("Loads proven", capital(span)), ("Calibration due", _due(scale)), (_asks(scale), call)]),
        class_="aside",
    )


def _asks(scale: Scale) -> str:
    return "Reads oddly? Call" if scale.may in ("may use", "may use within limits") else "Call"


def _due(scale: Scale) -> str:
    return day(scale.due["due"]) if scale.due.get("due") and not scale.retired else ""


def _instead(here: str, near: tuple[Scale, ...]) -> Html:
    if not near:
        return tag("p", "No other scale of this site may be used now: call.", class_="instead")
    return tag(
        "div",
        tag("p", "Use instead, nearest first:"),
        tag("ul", [tag("li", _one_near(here, other)) for other in near]),
        class_="instead",
    )


def _one_near(here: str, other: Scale) -> Html:
    span = span_words(other.use, other.unit)
    return join(
        tag("a", other.tag, href=addresses.link(here, addresses.device(other.tag))),
        f", {other.model['description']}, {other.ward['name']}, {other.device['place']}: ",
        use_word(other.may),
        f" {span}" if span else None,
    )


def failed_caution(scale: Scale) -> Html | None:
    """Return what to do with a scale whose newest measurement failed and that nobody limited, or None."""
    newest = scale.newest
    if newest is None or scale.may == "may use within limits":
        return None
    rests_on = newest.get("as_left") or newest.get("as_found")
    return failed(scale.ward["call_role"], scale.ward["call_number"]) if rests_on == "fail" else None


def standing_words(item: Document, verdict: str) -> str:
    """Return how far a visit has come: a provisional pass is not reviewed yet, and says so; an end says why."""
    if item["standing"] == "provisional":
        return {
            "pass": "measured within tolerance, not yet reviewed",
            "conditional pass": "measured within tolerance, not yet reviewed",
            "fail": "measured out of tolerance, not yet reviewed: it counts at once",
            "conditional fail": "measured out of tolerance, not yet reviewed: it counts at once",
        }.get(verdict, "measured, not decided, not yet reviewed")
    stands = item["stands"]
    if item["standing"] == "void":
        return f"void, by {stands['by_whom']}: {stands['because']}"
    return str(stands["because"])
