"""Which scope each route needs, declared on the route itself; an application with a route that declares none does not
start. Who asks is found before the route is reached: see `admission`."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import Flask, g
from flask_smorest import Blueprint

from api.records.access_key import OF_A_PERSON
from api.records.caller import UNNAMED, Caller, Scope
from api.records.problems import PersonMissing

View = TypeVar("View", bound=Callable[..., Any])
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


class ScopeNotDeclared(RuntimeError):
    """A route under /v1 does not say which scope it needs."""


@dataclass(frozen=True, slots=True)
class Need:
    """What a route needs: a scope, and whether a person has to answer for it."""

    scope: Scope
    person: bool

    def in_contract(self) -> list[dict[str, list[str]]]:
        """Return the security requirement (OpenAPI 3.1 section 4.8.30): the keys that have to come, with the scope."""
        if self.scope == "public":
            return []
        return [{name: [self.scope] for name in ("installation", *(("person",) if self.person else ()))}]


def needs(scope: Scope, *, person: bool = False) -> Callable[[View], View]:
    """Declare the scope that a route needs; the outermost decorator of each method of a route.

    Release and amendment need a person with a key of their own; `person` says so of a route with another scope.
    """

    need = Need(scope, person or scope in OF_A_PERSON)

    def declared(view: View) -> View:
        described: View = Blueprint.doc(security=need.in_contract())(view)
        described.__dict__["needs"] = need
        return described

    return declared


def caller() -> Caller:
    """Return who asks."""
    found: Caller = g.caller
    return found


def person() -> str:
    """Return the code of the person who answers for what is asked.

    Where no key is asked for, it is the code that they give themselves; nobody at all is refused (`PersonMissing`).
    """
    who = caller()
    if who.person is None and who.installation == UNNAMED:
        raise PersonMissing(
            "A person answers for this: say who in Steelyard-By (--by of a command), as this door asks no keys."
        )
    return who.code


def check_scopes(app: Flask) -> None:
    """Refuse to start with a route of the service that declares no scope (`ScopeNotDeclared`)."""
    missing = [f"{method} {rule}" for method, rule, scope in scopes_of(app) if scope is None]
    if missing:
        raise ScopeNotDeclared(f"No scope is declared for: {', '.join(missing)}.")


def scopes_of(app: Flask) -> Iterator[tuple[str, str, Scope | None]]:
    """Yield every method and address of the service with the scope it needs."""
    for method, rule, _, need in needs_of(app):
        yield method, rule, need.scope if need else None


def needs_of(app: Flask) -> Iterator[tuple[str, str, str, Need | None]]:
    """Yield every method, address and endpoint of the service with what it needs."""
    for rule in app.url_map.iter_rules():
        if not rule.rule.startswith("/v1"):
            continue
        for method in sorted((rule.methods or set()) & set(METHODS)):
            yield method, rule.rule, rule.endpoint, need_of(app.view_functions[rule.endpoint], method)


def need_of(view: Any, method: str) -> Need | None:
    """Return what a view needs for a method, None where it declares nothing."""
    by_method = getattr(getattr(view, "view_class", None), method.lower(), view)
    need: Need | None = getattr(by_method, "needs", None)
    return need
