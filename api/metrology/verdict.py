"""The words a judgement is said in, and how several become one. Results only: `decision` does the deciding."""

from collections.abc import Iterable
from typing import Final, Literal, get_args

Verdict = Literal["pass", "conditional pass", "undecided", "conditional fail", "fail", "not tested"]

VERDICTS: Final = get_args(Verdict)

# From worst to best; a missing required test counts as undecided. ILAC-G8:09/2019 section 4.2.3 gives the four zones,
# the order of the whole is a house rule (common practice, no source).
WORST_FIRST: Final[tuple[Verdict, ...]] = (
    "fail", "conditional fail", "undecided", "not tested", "conditional pass", "pass",
)  # fmt: skip
_RANK: Final = {verdict: rank for rank, verdict in enumerate(WORST_FIRST)}


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the worst of several verdicts; `not tested` where there is none.

    >>> worst(["pass", "conditional pass", "undecided"])
    'undecided'
    """
    return min(verdicts, key=_RANK.__getitem__, default="not tested")
