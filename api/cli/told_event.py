"""Events of scales on the terminal: how one is sent with an id that follows from its content, and how one is told."""

from typing import Any

import click

Answer = dict[str, Any]


def moment_told(text: str | None) -> str:
    """Return the moment that was told, with its offset; the present one where none was."""
    from datetime import UTC, datetime

    from marshmallow import ValidationError

    from schemas.quantities import read_moment

    if text is None:
        return datetime.now(UTC).isoformat(timespec="seconds")
    try:
        return read_moment(text).isoformat()
    except ValidationError:
        said = "a moment with its offset, for example 2026-10-14T09:00:00-06:00"
        raise click.BadParameter(said, param_hint="--at") from None


def sent_with_id(content: Answer) -> bytes:
    """Return a body whose id follows from what it says: the same told again is the same event."""
    import json

    from api.cli.client import id_of

    event = id_of(json.dumps(content, ensure_ascii=False).encode())
    return json.dumps(content | {"id": event}, ensure_ascii=False).encode()


def told_event_receipt(answer: Answer) -> str:
    """Return the receipt of an event in words: what it does, what to look at, what to do now."""
    from api.cli.told import told_flag

    kept = "kept before" if answer["replayed"] else "kept"
    does = f"open until it is closed: {answer['leaves_open']}" if "leaves_open" in answer else "leaves nothing open"
    event = f"{answer['kind']} ({answer['what']}) of {answer['device']}"
    lines = [f"{event} {kept} as {answer['event']}, log entry {answer['log_number']}", does]
    lines += [told_flag("flag", flag) for flag in answer["flags"]]
    lines += [told_flag("note", note) for note in answer["notes"]]
    return "\n  ".join([*lines, *answer["cautions"]])


def told_event(event: Answer) -> str:
    """Return an event in one line: its day, device, what it was, whether it is open, and its id."""
    stands = "open" if event["open"] else _closed(event)
    linked = "" if event["device_on_register"] else ", not linked"
    what = f"{event['kind']}: {event['what']}"
    return f"{event['happened_on']}  {event['device']:<10}  {what:<22}  {stands}{linked}  {event['event']}"


def _closed(event: Answer) -> str:
    closed = event.get("closed")
    if closed is None:
        return "not yet open" if "leaves_open" in event else "leaves nothing open"
    by = {"a person": f"by {closed.get('by_whom')}", "a calibration": "by a calibration", "its return": "by its return"}
    return f"closed {closed['closed_at'][:10]} {by[closed['closed_by']]}"
