"""What an app that was built on an older contract would trip over in a newer one."""

from collections.abc import Iterator
from typing import Any

METHODS = ("get", "put", "post", "patch", "delete")
Contract = dict[str, Any]


def breaking_changes(old: Contract, new: Contract) -> list[str]:
    """Return a sentence for each change by which a client of the old contract fails: what it sends is refused, what it
    reads is gone."""
    return list(dict.fromkeys(_of_operations(old, new)))


def _of_operations(old: Contract, new: Contract) -> Iterator[str]:
    for path, methods in old["paths"].items():
        for method in (m for m in methods if m in METHODS):
            where = f"{method.upper()} {path}"
            now = new["paths"].get(path, {}).get(method)
            if now is None:
                yield f"{where}: gone"
                continue
            yield from _of_parameters(where, methods[method], now)
            yield from _of_bodies(where, (old, methods[method]), (new, now))
            yield from _of_answers(where, (old, methods[method]), (new, now))


def _of_parameters(where: str, old: Contract, new: Contract) -> Iterator[str]:
    known = {(p["in"], p["name"]): p for p in old.get("parameters", ())}
    left = {(p["in"], p["name"]): p for p in new.get("parameters", ())}
    yield from (f"{where}: parameter {name} gone" for place, name in known.keys() - left.keys())
    for key, parameter in left.items():
        if parameter.get("required") and not known.get(key, {}).get("required"):
            yield f"{where}: parameter {key[1]} is now required"


def _of_bodies(where: str, old: tuple[Contract, Contract], new: tuple[Contract, Contract]) -> Iterator[str]:
    before = old[1].get("requestBody", {}).get("content", {})
    after = new[1].get("requestBody", {}).get("content", {})
    yield from (f"{where}: body {kind} no longer taken" for kind in before.keys() - after.keys())
    for kind in before.keys() & after.keys():
        yield from _narrower(f"{where} body", (old[0], before[kind]["schema"]), (new[0], after[kind]["schema"]), ())


def _of_answers(where: str, old: tuple[Contract, Contract], new: tuple[Contract, Contract]) -> Iterator[str]:
    for status, answer in old[1]["responses"].items():
        schema = answer.get("content", {}).get("application/json", {}).get("schema")
        now = new[1]["responses"].get(status)
        if now is None:
            yield f"{where}: answer {status} gone"
        elif schema is not None:
            later = now.get("content", {}).get("application/json", {}).get("schema", {})
            yield from _fewer(f"{where} answer {status}", (old[0], schema), (new[0], later), ())


Schema = tuple[Contract, Contract]


def _resolved(schema: Schema) -> Schema:
    document, found = schema
    while "$ref" in found:
        found = document["components"]["schemas"][found["$ref"].rsplit("/", 1)[1]]
    return document, found


def _narrower(where: str, before: Schema, after: Schema, seen: tuple[int, ...]) -> Iterator[str]:
    """What was accepted and is not any more."""
    (old_doc, old), (new_doc, new) = _resolved(before), _resolved(after)
    if id(old) in seen:
        return
    seen = (*seen, id(old))
    yield from (
        f"{where}: {name} is now required" for name in set(new.get("required", ())) - set(old.get("required", ()))
    )
    if new.get("additionalProperties") is False:
        gone = set(old.get("properties", ())) - set(new.get("properties", ()))
        yield from (f"{where}: {name} no longer taken" for name in gone)
    yield from (
        f"{where}: {value!r} no longer taken"
        for value in set(old.get("enum", ())) - set(new.get("enum", old.get("enum", ())))
    )
    for name, bigger in (
        ("maxLength", 1),
        ("maxItems", 1),
        ("maximum", 1),
        ("minLength", -1),
        ("minItems", -1),
        ("minimum", -1),
    ):
        if name in new and (name not in old or (new[name] - old[name]) * bigger < 0):
            yield f"{where}: {name} is now {new[name]}"
    if new.get("pattern") != old.get("pattern") and "pattern" in new:
        yield f"{where}: pattern is now {new['pattern']}"
    for name in set(old.get("properties", ())) & set(new.get("properties", ())):
        yield from _narrower(
            f"{where}.{name}", (old_doc, old["properties"][name]), (new_doc, new["properties"][name]), seen
        )
    if "items" in old and "items" in new:
        yield from _narrower(f"{where}[]", (old_doc, old["items"]), (new_doc, new["items"]), seen)


def _fewer(where: str, before: Schema, after: Schema, seen: tuple[int, ...]) -> Iterator[str]:
    """What was answered and is not any more, or no longer always."""
    (old_doc, old), (new_doc, new) = _resolved(before), _resolved(after)
    if id(old) in seen:
        return
    seen = (*seen, id(old))
    yield from (f"{where}: {name} gone" for name in set(old.get("properties", ())) - set(new.get("properties", ())))
    kept = set(old.get("required", ())) & set(new.get("properties", ()))
    yield from (f"{where}: {name} no longer always there" for name in kept - set(new.get("required", ())))
    if old.get("type") != new.get("type") and "type" in old:
        yield f"{where}: type is now {new.get('type')}"
    for name in set(old.get("properties", ())) & set(new.get("properties", ())):
        yield from _fewer(
            f"{where}.{name}", (old_doc, old["properties"][name]), (new_doc, new["properties"][name]), seen
        )
    if "items" in old and "items" in new:
        yield from _fewer(f"{where}[]", (old_doc, old["items"]), (new_doc, new["items"]), seen)
