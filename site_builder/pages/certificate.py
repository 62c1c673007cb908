"""A certificate's page, drawn from the stored bytes of the certificate: what ISO/IEC 17025:2017 7.8 asks, and no more.

The clause list is carried from the standard's own numbering (7.8.2 to 7.8.6, from memory); the words are ours.
"""

from typing import Any

from site_builder import addresses
from site_builder.cautions import caution, scheme_words
from site_builder.charts.error_against_load import error_against_load
from site_builder.markup import Child, Html, between, join, tag
from site_builder.page import Page
from site_builder.pages.arithmetic import arithmetic, coverage_words
from site_builder.pages.certificate_facts import (
    adjustments,
    attachments,
    compared,
    conditions,
    configuration,
    identity,
    method,
    seals,
    traceability,
)
from site_builder.pages.device_charts import corners_figure, load_legend
from site_builder.pages.measurement import phases_of, results
from site_builder.pages.readings import readings, weights_used
from site_builder.pages.tables import facts, section, when
from site_builder.text import capital, clock, day, listed, moment, number

Stored = dict[str, Any]


def certificate_page(stored: Stored, revisions: list[int], unit: str, due: str | None) -> Page:
    """Return the page of one certificate revision; `due` only where the owner's policy puts it on certificates."""
    document = stored["document"]
    newest = max(revisions)
    here = addresses.certificate(document["number"], None if document["revision"] == newest else document["revision"])
    body = tag(
        "article",
        _running_head(document),
        tag("div", _contents(here, stored, revisions, unit, due), class_="sheet-body"),
        class_="sheet",
    )
    return Page(here, _name(document), body, "certificates", stored["touch"])


def _name(document: Stored) -> str:
    return f"Certificate {document['number']}, revision {document['revision']}"


def _running_head(document: Stored) -> Html:
    """On paper this repeats at the head of every sheet, so that each is recognised as part of the whole."""
    said = f"{_name(document)} · {document['site']['name']} · scale {document['device']['tag']}"
    return tag("div", tag("p", said), class_="running", aria_hidden="true")


def _contents(here: str, stored: Stored, revisions: list[int], unit: str, due: str | None) -> Html:
    document = stored["document"]
    judged, content = document["judgement"], document["content"]
    phases = phases_of(judged)
    return join(
        tag("h1", "Calibration certificate", tag("small", _name(document))),
        _state(stored),
        _other_revisions(here, document, revisions),
        _replaced(document),
        _caution(document, "C-05"),
        tag("div", section("This certificate", _who_and_when(here, document, due)), identity(document), class_="two"),
        _statement(document, phases),
        [
            results(key, f"Results: {heading[:1].lower()}{heading[1:]}", phase, unit, _coverage(phase))
            for key, heading, phase in phases
        ],
        _drawings(judged, phases, unit),
        method(document),
        conditions(content),
        compared(content),
        adjustments(content),
        seals(content),
        configuration(content),
        weights_used(judged, content, unit),
        traceability(document),
        section("Remarks", tag("p", content["remarks"], class_="typed")) if content.get("remarks") else None,
        attachments(content),
        arithmetic(judged, unit),
        readings(content),
        _end(stored),
    )


def _other_revisions(here: str, document: Stored, revisions: list[int]) -> Html | None:
    if len(revisions) == 1:
        return None
    newest = max(revisions)
    links = [
        tag(
            "a",
            f"revision {r}",
            href=addresses.link(here, addresses.certificate(document["number"], None if r == newest else r)),
        )
        for r in sorted(revisions)
        if r != document["revision"]
    ]
    said = "Replaces what came before it: " if document["revision"] == newest else "See "
    return tag("p", said, between(", ", links), ".", class_="lead")


def _state(stored: Stored) -> Html | None:
    """What became of the certificate since it was issued; it is not in its bytes."""
    waits = stored.get("amendment")
    if stored["state"] == "in force" and waits is not None:
        verdict = waits.get("as_left") or waits.get("as_found") or "not measured"
        said = "An amendment of this record waits for its release: "
        why = f"{waits['amended_because'].rstrip('.')}. By it the scale was left: {verdict}; "
        return tag("p", tag("strong", said), why, "the page of the scale says what holds.", class_="ended")
    if stored["state"] == "in force":
        return None
    said = {"superseded": "Do not use: ", "withdrawn": "Withdrawn, do not use: "}[stored["state"]]
    return tag("p", tag("strong", said), stored["because"], class_="ended")


def _replaced(document: Stored) -> Html | None:
    """What this revision replaces, and why: a new report names the one before it (7.8.8)."""
    before = document.get("replaces")
    if before is None:
        return None
    why = "; ".join(
        f"{because.rstrip('.')} (amended by {by})"
        for because, by in zip(before["because"], before["amended_by"], strict=True)
    )
    return tag(
        "p",
        f"Amendment: it replaces certificate {before['number']}, revision {before['revision']}, whose digest is ",
        tag("code", before["digest"]), f". Why: {why}.",
    )  # fmt: skip


def _who_and_when(here: str, document: Stored, due: str | None) -> Html:
    site, ward = document["site"], document.get("ward")
    start, end = document["performed_from"], document["performed_to"]
    one_day = start[:10] == end[:10] and start[-6:] == end[-6:]
    said_start = f"{day(start)}, {start[11:16]}" if one_day else moment(start)
    said_end = clock(end) if one_day else moment(end)
    device = tag("a", document["device"]["tag"], href=addresses.link(here, addresses.device(document["device"]["tag"])))
    return facts(
        [
            ("Issued by", f"{site['name']} (site {site['code']})"),
            ("Address", site.get("address")),
            ("Contact", site.get("contact")),
            ("For", f"{ward['name']} (ward {ward['code']})" if ward else "the ward is not on the register"),
            ("Scale", device),
            ("Calibrated", join(when(start, said_start), " to ", when(end, said_end))),
            ("Where", _where(document)),
            ("Record received", when(document["received_at"], moment(document["received_at"]))),
            ("Issued", when(document["issued_at"], moment(document["issued_at"]))),
            ("Released", _released(document)),
            ("Linked", _linked(document)),
            ("Purpose", document["purpose"]),
            ("Calibrated by", f"technician {listed(document['technicians'])}"),
            ("Next calibration due", f"{day(due)}, as the owner's policy asks to print it" if due else None),
        ]
    )


def _released(document: Stored) -> Child:
    """By whom the certificate was authorised (7.8.2.1 o): a person, or a rule and who is responsible for it."""
    released = document["released"]
    if "by" in released:
        closed = [tag("small", f"{one['code']}: {one['words']}") for one in released["answers"]]
        return join(f"by {released['by']}, {moment(released['at'])}", closed)
    rule = released["by_rule"]
    edition = f"revision {rule['revision']}" if "revision" in rule else "the program's own"
    answers = f"{rule['responsible']} is responsible" if "responsible" in rule else "no person is named"
    return join(
        f"by rule, since nothing was flagged: policy {rule['policy']}, {edition}; {answers}",
        tag("small", rule["source"]),
    )


def _linked(document: Stored) -> str | None:
    """Codes that were sent otherwise than the register has them, and were linked before the release."""
    links = [f"{one['kind']} {one['as_sent']} as sent is {one['key']}" for one in document.get("links", ())]
    return "; ".join(links) or None


def _where(document: Stored) -> str:
    tested_at = (document["content"].get("setup") or {}).get("tested_at")
    return str(tested_at or f"in its place: {document['device']['place']}")


def _statement(document: Stored, phases: list[tuple[str, str, dict[str, Any]]]) -> Html:
    """The statement of conformity: to which results, against what, by which rule (7.8.6.2)."""
    lines: list[Child] = [tag("p", capital(text)) for text in document["statements"]]
    for _, heading, phase in phases:
        name = heading.split(",")[0]
        points = listed(dict.fromkeys(t["test"] for t in phase["tests"] if t["required"]))
        lines.append(
            tag(
                "p",
                tag("strong", f"{name}: "),
                f"judged against {scheme_words(phase)}. The statement applies to the tests required: {points or 'none'}.",
            )
        )
    lines.append(tag("p", tag("strong", "Decision rule: "), document["rule"]))
    lines += [_caution(document, "C-04"), _caution(document, "C-01")]
    return section("Statement of conformity", lines, id_="conformity")


def _caution(document: Stored, code: str) -> Html:
    """A caution in the words that were stored with the certificate."""
    stored = {c["id"]: c["text"] for c in document.get("cautions", [])}
    return caution(code, text=stored.get(code))


def _coverage(phase: dict[str, Any]) -> str:
    """The words that belong to every U: k and the coverage probability (7.8.4.1 a)."""
    stated = [p for p in phase["points"] if p.get("k") is not None]
    factors = sorted({f"{p['k']:.2f}" for p in stated})
    if not factors:
        return "No uncertainty could be stated for these results."
    k = (
        number(factors[0])
        if len(factors) == 1
        else f"{number(factors[0])} to {number(factors[-1])}, for each point in its arithmetic"
    )
    return (
        f"U is the expanded uncertainty: the standard uncertainty times the coverage factor k = {k}, for a coverage "
        f"probability of {coverage_words(stated[0])}. Two significant digits."
    )


def _drawings(judged: dict[str, Any], phases: list[tuple[str, str, dict[str, Any]]], unit: str) -> Child:
    """The errors over the loads, and the corners beside them where one drawing holds them all."""
    chart, corners = _chart(judged, unit), corners_figure(phases, unit)
    return tag("div", chart, corners, class_="two") if chart and corners and len(phases) == 1 else [chart, corners]


def _chart(judged: dict[str, Any], unit: str) -> Html | None:
    drawn = error_against_load(judged, unit)
    return section("Error against load", tag("figure", drawn, load_legend(judged, unit))) if drawn else None


def _end(stored: Stored) -> Html:
    document = stored["document"]
    return tag(
        "section",
        tag("p", "These results belong to this one scale, as it was on the day and in the place named. Copy this "
                 "certificate whole or not at all, unless the issuing site agrees in writing."),
        facts([
            ("Digest of the stored certificate", tag("code", stored["digest"])),
            ("Digest of what was sent", tag("code", document["content_digest"])),
            ("Log entry", number(stored["log_number"])),
            ("Record", tag("code", document["calibration"])),
        ]),
        tag("p", f"End of certificate {document['number']}, revision {document['revision']}.", class_="end"),
        class_="ending",
    )  # fmt: skip
