"""How answers are told on the terminal: one sentence, then what a technician must look at, line by line."""

from typing import Any

Answer = dict[str, Any]


def told_receipt(answer: Answer) -> str:
    """Return a receipt in words."""
    kept = "kept before" if answer["replayed"] else "kept"
    lines = [f"{kept} as {answer['calibration']}, log entry {answer['log_number']}, {answer['standing']}"]
    lines += [f"as found: {answer.get('as_found', 'not measured')}; as left: {answer.get('as_left', 'not measured')}"]
    if "certificate" in answer:
        lines.append(f"certificate {answer['certificate']}")
    lines += [told_flag("flag", flag) for flag in answer["flags"]]
    lines += [told_flag("note", note) for note in answer["notes"]]
    return "\n  ".join(lines)


def told_flag(word: str, flag: Answer) -> str:
    """Return a flag or note in words, with its place."""
    where = f" at {flag['pointer']}" if flag.get("pointer") else ""
    return f"{word} {flag['code']}{where}: {flag['sentence']}"


def told_faults(answer: Answer) -> str:
    """Return a refusal in words, every fault on a line of its own."""
    lines = [f"refused ({answer['status']} {answer['code']}): {answer['detail']}"]
    for fault in answer.get("errors", ()):
        lines.append(f"{fault.get('pointer') or fault.get('parameter', '')}: {fault['detail']}")
    lines += [f"differs at {pointer}" for pointer in answer.get("pointers", ())]
    return "\n  ".join(lines)


def told_act(answer: Answer) -> str:
    """Return where a record stands after an act, in words."""
    entry = "nothing new" if answer["replayed"] else f"log entry {answer['log_number']}"
    lines = [
        f"{answer['calibration']}, revision {answer['revision']}: {answer['standing']}, {entry}",
        answer["because"],
    ]
    if "certificate" in answer:
        lines.append(f"certificate {answer['certificate']}, revision {answer['certificate_revision']}")
    if answer["standing"] == "provisional":
        lines += [told_flag("flag", flag) for flag in answer["flags"]]
    return "\n  ".join(lines)


def told_life(answer: Answer) -> str:
    """Return the life of a record in words: every content, then everything that happened, in order."""
    lines = [f"{answer['calibration']} at {answer['site']}"]
    lines += [
        f"revision {one['revision']}: {one.get('standing', 'no standing yet')}, {one['digest']}"
        for one in answer["contents"]
    ]
    lines += [_told_event(event) for event in answer["events"]]
    return "\n  ".join(lines)


def _told_event(event: Answer) -> str:
    facts = event.get("facts", {})
    what = facts.get("standing") or facts.get("code") or event["kind"]
    judged = f", judgement {event['judgement']}" if "judgement" in event else ""
    by = f" by {event['by_whom']}" if "by_whom" in event else ""
    return f"{event['moment']}  revision {event['revision']}{judged}  {what}{by}: {event['words']}"
