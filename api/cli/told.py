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


def told_working(working: Answer) -> str:
    """Return a judgement in words: each phase, each test, each point that did not pass."""
    lines = []
    for name, said in (("as_found", "as found"), ("as_left", "as left")):
        phase = working.get(name)
        if phase is None:
            continue
        lines.append(f"{said}: {phase['verdict']}. {phase['proven_words']}")
        for test in phase["tests"]:
            figures = f" {test['measured']}" if "measured" in test else ""
            limit = f", {_bound(test)} {test['limit']}" if "limit" in test else ""
            lines.append(f"  {test['test']}: {test['verdict']} ({test['words']}{figures}{limit})")
        lines += [f"  {_point(point)}" for point in phase["points"] if point["verdict"] != "pass"]
    return "\n".join(lines)


def _bound(test: Answer) -> str:
    """How a test's limit bounds what was measured: from above, or from below as the least change that counts."""
    return "at least" if test.get("limit_is") == "at least" else "limit"


def _point(point: Answer) -> str:
    error = f"error {point['error_kg']} kg against {point['tolerance_kg']} kg" if "error_kg" in point else "no error"
    why = "; ".join(reason["sentence"] for reason in point["reasons"])
    return f"reading {point['seq']}, {point['nominal_kg']} kg: {point['verdict']}, {error}{f' ({why})' if why else ''}"
