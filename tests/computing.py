"""How questions are asked of `steelyard compute` in these tests, and how the worked examples become questions."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from click.testing import CliRunner, Result

from api.cli import main

EXAMPLES = Path(__file__).parent / "worked_examples"


def example(name: str) -> dict[str, Any]:
    """Return a worked example."""
    found: dict[str, Any] = json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))
    return found


def ask(kind: str, text: str | bytes, *words: str) -> Result:
    """Run the command on a text from standard input."""
    found = CliRunner().invoke(main, ["compute", kind, *words], input=text)
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exception
    return found


def computed(kind: str, question: dict[str, Any]) -> dict[str, Any]:
    """Return the answer to a question that is answered."""
    found = ask(kind, json.dumps(question))
    assert (found.exit_code, found.stderr) == (0, ""), found.stderr
    answer: dict[str, Any] = json.loads(found.stdout)
    return answer


def refused(kind: str, question: dict[str, Any]) -> dict[str, Any]:
    """Return the problem object of a question that is refused."""
    found = ask(kind, json.dumps(question))
    assert (found.exit_code, found.stdout) == (2, ""), found.stdout
    problem: dict[str, Any] = json.loads(found.stderr)
    return problem


def plain(value: float) -> str:
    """Return a float as plain decimal text, every digit kept: the door takes no exponent."""
    return f"{Decimal(repr(value)):f}"


def contributions(data: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the contributions of a worked budget as they are asked."""
    asked = []
    for item in data["contributions"]:
        one = {"name": item["name"], "sensitivity": plain(item.get("sensitivity", 1.0))}
        if "u" in item:
            one["standard_uncertainty"] = plain(item["u"])
        else:
            one |= {"half_width": plain(item["half_width"]), "distribution": "rectangular"}
        if item["nu"] is not None:
            one["degrees_of_freedom"] = plain(item["nu"])
        asked.append(one)
    return asked
