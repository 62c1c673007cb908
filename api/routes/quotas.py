"""How many requests a key may make, and how many may come with none that is accepted. Told by the RateLimit fields.

The fields are those of the IETF draft "RateLimit header fields for HTTP" (draft-ietf-httpapi-ratelimit-headers, of September
2025): lists of items, `q` and `w` of a policy, `r` and `t` of what is left. It is a draft: this file alone knows it.

The counts are kept in the process, so that several processes together let more through: they bound what one key can take
from the others, they are not an account.
"""

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import Final


@dataclass(frozen=True, slots=True)
class QuotaPolicy:
    """At most so many requests in a window of so many seconds, which begins with the first."""

    name: str
    quota: int
    window_s: int


@dataclass(frozen=True, slots=True)
class QuotaLeft:
    """How many requests a policy still lets through, and the seconds until its window ends."""

    policy: QuotaPolicy
    requests: int
    seconds: int


# House choices, no source: a queue of a week's visits goes through in seconds, a loop gone wild does not fill the disk.
PER_KEY: Final = (QuotaPolicy("minute", 1200, 60), QuotaPolicy("day", 100_000, 86_400))
# Stricter, for each address from which requests come without a key that is accepted.
NOT_ACCEPTED: Final = (QuotaPolicy("not accepted", 20, 60),)
MOST_COUNTED: Final = 10_000


class QuotaExceeded(Exception):
    """A policy lets no more through until its window ends."""

    def __init__(self, left: QuotaLeft) -> None:
        super().__init__(left.policy.name)
        self.left = left


class Counts:
    """How many requests each asker made in each window, in this process."""

    def __init__(self) -> None:
        self._windows: dict[tuple[str, str], tuple[float, int]] = {}
        self._lock = threading.Lock()

    def take(self, asker: str, policies: Sequence[QuotaPolicy], now: float) -> list[QuotaLeft]:
        """Count one request and return what is left; refuses one too many, which is not counted (`QuotaExceeded`)."""
        with self._lock:
            windows = [self._window(asker, policy, now) for policy in policies]
            left = [
                QuotaLeft(policy, policy.quota - made - 1, max(1, ceil(begun + policy.window_s - now)))
                for policy, (begun, made) in zip(policies, windows, strict=True)
            ]
            exceeded = [one for one in left if one.requests < 0]
            if exceeded:
                raise QuotaExceeded(max(exceeded, key=lambda one: one.seconds))
            for policy, (begun, made) in zip(policies, windows, strict=True):
                self._windows[asker, policy.name] = (begun, made + 1)
        return left

    def _window(self, asker: str, policy: QuotaPolicy, now: float) -> tuple[float, int]:
        begun, made = self._windows.get((asker, policy.name), (now, 0))
        if now - begun >= policy.window_s:
            return now, 0
        if len(self._windows) >= MOST_COUNTED:
            self._forget(now)
        return begun, made

    def _forget(self, now: float) -> None:
        """Make room: windows that ended long ago, else the oldest half."""
        day = max(policy.window_s for policy in PER_KEY)
        kept = {name: window for name, window in self._windows.items() if now - window[0] < day}
        if len(kept) >= MOST_COUNTED:
            newest = sorted(kept.items(), key=lambda item: item[1][0])[MOST_COUNTED // 2 :]
            kept = dict(newest)
        self._windows = kept


def policy_field(policies: Sequence[QuotaPolicy]) -> str:
    """Return the RateLimit-Policy field."""
    return ", ".join(f'"{policy.name}";q={policy.quota};w={policy.window_s}' for policy in policies)


def limit_field(left: Sequence[QuotaLeft]) -> str:
    """Return the RateLimit field."""
    return ", ".join(f'"{one.policy.name}";r={max(0, one.requests)};t={one.seconds}' for one in left)
