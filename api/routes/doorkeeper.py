"""Which scope each route needs, declared on the route itself; an application with a route that declares none does not
start."""

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from flask import Flask

from api.records.caller import SCOPES, Caller, Scope
from api.routes.bodies import by_whom

View = TypeVar("View", bound=Callable[..., Any])
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


class ScopeNotDeclared(RuntimeError):
    """A route under /v1 does not say which scope it needs."""


def needs(scope: Scope) -> Callable[[View], View]:
    """Declare the scope that a route needs; the outermost decorator of each method of a route."""

    def declared(view: View) -> View:
        view.__dict__["needs"] = scope
        return view

    return declared


def caller() -> Caller:
    """Return who asks."""
    return Caller(by_whom(), frozenset(SCOPES))


def check_scopes(app: Flask) -> None:
    """Refuse to start with a route of the service that declares no scope (`ScopeNotDeclared`)."""
    missing = [f"{method} {rule}" for method, rule, scope in scopes_of(app) if scope is None]
    if missing:
        raise ScopeNotDeclared(f"No scope is declared for: {', '.join(missing)}.")


def scopes_of(app: Flask) -> Iterator[tuple[str, str, Scope | None]]:
    """Yield every method and address of the service with the scope it needs."""
    for rule in app.url_map.iter_rules():
        if not rule.rule.startswith("/v1"):
            continue
        for method in sorted((rule.methods or set()) & set(METHODS)):
            yield method, rule.rule, scope_needed(app.view_functions[rule.endpoint], method)


def scope_needed(view: Any, method: str) -> Scope | None:
    """Return the scope that a view needs for a method, None where it declares none."""
    by_method = getattr(getattr(view, "view_class", None), method.lower(), view)
    scope: Scope | None = getattr(by_method, "needs", None)
    return scope
