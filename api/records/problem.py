"""One kind of problem, as its page on the published site tells it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One kind of problem: its code, a title, what happened, and what to do."""

    code: str
    title: str
    what: str
    do: str
