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
