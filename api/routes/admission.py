"""Before each request: its address and fields are bounded, who asks is found, and the route's need is held against it.

A door that is open asks for no key. It is for one machine, a first look and tests: it lets in only who comes from that
machine, and nobody who came through a proxy.
"""

import ipaddress
import logging
import re
import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Final

from flask import Flask, Response, current_app, g, request
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError

from api.actions.note_keys_used import note_keys_used
from api.database import unit_of_work
from api.ledger.key_text import PATTERN
from api.records.caller import SCOPES, Caller
from api.records.problems import KeyInAddress, KeyNotAccepted, NoKey, PersonMissing, ScopeMissing
from api.routes.bodies import by_whom
from api.routes.doorkeeper import Need, check_scopes, needs_of
from api.routes.problems import AddressTooLong, FieldsTooLarge
from api.routes.quotas import NOT_ACCEPTED, PER_KEY, Counts, limit_field, policy_field
from api.routes.who_asks import WhoAsks, who_asks

LOGGER = logging.getLogger("steelyard")
MOST_ADDRESS: Final = 2048  # characters, with the question
MOST_FIELDS: Final = 16_384  # characters of all fields before the body
USE_NOTED_SECONDS: Final = 60
_KEY = re.compile(PATTERN)
_THROUGH_A_PROXY = ("X-Forwarded-For", "Forwarded", "Via")


def keep_the_door(app: Flask, *, open_door: bool) -> None:
    """Admit requests to an application's routes by what each declares; without a key where the door is open."""
    check_scopes(app)
    wanted = {(endpoint, method): need for method, _, endpoint, need in needs_of(app) if need is not None}
    wanted |= {(endpoint, "HEAD"): need for (endpoint, method), need in wanted.items() if method == "GET"}
    find_caller = _from_this_machine if open_door else _by_key(Counts(), {})

    @app.before_request
    def admit() -> None:
        """Admit the request, or refuse it."""
        check_bounds()
        need = wanted.get((request.endpoint or "", request.method))
        if need is not None and need.scope != "public":
            g.caller = find_caller(need)

    app.after_request(_tell_quota)


def check_bounds() -> None:
    """Refuse an address or fields beyond what is taken, and a key in the address."""
    address = request.environ.get("RAW_URI") or request.full_path
    if len(address) > MOST_ADDRESS:
        raise AddressTooLong(len(address), MOST_ADDRESS)
    if "sty_" in address and _KEY.search(address):
        raise KeyInAddress("The address carries a key. Have it revoked: it may stand in logs by now.")
    size = sum(len(name) + len(value) + 4 for name, value in request.headers)
    if size > MOST_FIELDS:
        raise FieldsTooLarge(size, MOST_FIELDS)


def _from_this_machine(need: Need) -> Caller:
    """Whoever asks on this machine, by the code that they give themselves."""
    if any(field in request.headers for field in _THROUGH_A_PROXY) or not _is_loopback(request.remote_addr):
        raise NoKey("The door of this service is open to its own machine only, and not through a proxy.")
    return Caller(by_whom(), frozenset(SCOPES))


def _is_loopback(address: str | None) -> bool:
    try:
        return ipaddress.ip_address(address or "").is_loopback
    except ValueError:
        return False


def _by_key(counts: Counts, noted: dict[str, float]) -> Callable[[Need], Caller]:
    """What finds the caller by the keys that came; it counts requests, and notes when keys were last used."""

    def find(need: Need) -> Caller:
        engine: Engine = current_app.extensions["steelyard.engine"]
        now, sent = time.monotonic(), request.headers
        try:
            found = who_asks(engine, sent.get("Authorization"), sent.get("Steelyard-Person"), datetime.now(UTC))
        except (NoKey, KeyNotAccepted):
            counts.take(f"from {_address()}", NOT_ACCEPTED, now)
            raise
        g.quota_left = counts.take(found.installation.name, PER_KEY, now)
        _check_need(need, found)
        for key in found.keys:
            if now - noted.get(key.name, -USE_NOTED_SECONDS) >= USE_NOTED_SECONDS:
                noted[key.name] = now
                g.setdefault("keys_to_note", []).append(key.name)
        return found.caller()

    return find


def _check_need(need: Need, found: WhoAsks) -> None:
    if need.person and found.person is None:
        raise PersonMissing(
            "A person answers for this: send their own key in Steelyard-Person, beside the installation's."
        )
    for key in found.keys if need.person else [found.installation]:
        if need.scope not in key.scopes:
            raise ScopeMissing(
                f"This needs the scope {need.scope}; key {key.name} of {key.holder} has: {', '.join(key.scopes)}.",
                need.scope, key=key.name, scopes=", ".join(key.scopes),
            )  # fmt: skip


def _address() -> str:
    """Where a request comes from: as the proxy on this machine says, else as the connection says."""
    peer = request.remote_addr or "nowhere"
    told = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
    return told[:45] if told and _is_loopback(peer) else peer


def _tell_quota(answer: Response) -> Response:
    left = g.get("quota_left")
    if left is not None:
        answer.headers["RateLimit-Policy"] = policy_field(PER_KEY)
        answer.headers["RateLimit"] = limit_field(left)
    names = g.get("keys_to_note")
    if names:
        engine: Engine = current_app.extensions["steelyard.engine"]
        answer.call_on_close(lambda: _note(engine, names))  # when the answer is on its way: nobody waits for it
    return answer


def _note(engine: Engine, names: list[str]) -> None:
    moment = datetime.now(UTC)
    try:
        unit_of_work(engine, lambda connection: note_keys_used(connection, names, moment=moment))
    except SQLAlchemyError:
        LOGGER.warning("it was not noted that keys were used: %s", ", ".join(names))
