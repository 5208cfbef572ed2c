"""The JSON Schema of a case, so that editors complete keys and check values as they are typed.

Made from the table of keys. It checks each key by itself: what goes with what is left to the
reader, and so are units that it does not know by name. Draft 7, as language servers read it; what
JSON has no word for, such as nan, stands as null there and is refused.
"""

from __future__ import annotations

import json
from typing import Any

from simsoft.case import patterns
from simsoft.case.keys import Key, all_keys, allowed, usual
from simsoft.case.limits import Limit

FILE = "simsoft.schema.json"
LINE = f"#:schema {FILE}"  # the line by which a TOML language server finds the schema of a file
_NUMBERS = {
    "type": "array",
    "items": {"type": "number"},
    "minItems": 3,
    "maxItems": 3,
    "contains": {"not": {"enum": [0]}},
}
_MOST_ALONG = 12  # sizes along a length of which an editor tells whether there are as many shares
_PRINTABLE = r"^[^\x00-\x1f\x7f-\x9f]*[^\x00-\x20\x7f-\xa0][^\x00-\x1f\x7f-\x9f]*$"
_NAME = r"^[^\x00-,./:-@\[-^`{-\xbf]{1,60}$"
_PLAIN: dict[str, dict[str, Any]] = {
    "switch": {"type": "boolean"},
    "text": {"type": "string", "maxLength": 200, "pattern": _PRINTABLE},
    "name": {"type": "string", "pattern": _NAME},
    "direction": _NUMBERS,
    "shares": {
        "type": "array", "minItems": 2, "maxItems": 2,
        "items": {"type": "number", "minimum": 0, "maximum": 1},
    },
    "limit": {"anyOf": [{"type": "number"},
                        {"type": "string", "pattern": patterns.any_quantity()}]},
    "conditions": {"type": "object"},
}  # fmt: skip


def json_schema() -> dict[str, Any]:
    """Return the whole schema as plain data."""
    shared: dict[str, Any] = {}
    top = _table(list(all_keys()), "", shared)
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "simsoft case",
        **top,
        "definitions": shared,
    }


def schema_text() -> str:
    """Return the schema as a file holds it."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=True, allow_nan=False) + "\n"


def _table(keys: list[Key], path: str, shared: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of the table at a path."""
    start = f"{path}." if path else ""
    mine = [k for k in keys if k.path.startswith(start) and "." not in k.path[len(start) :]]
    properties = {key.path[len(start) :]: _property(key, keys, shared) for key in mine}
    needed = [key.path[len(start) :] for key in mine if key.needed]
    body = {"type": "object", "additionalProperties": False, "properties": properties}
    return body | ({"required": needed} if needed else {})


def _property(key: Key, keys: list[Key], shared: dict[str, Any]) -> dict[str, Any]:
    if key.form == "table":
        return {"description": key.meaning, **_table(keys, key.path, shared)}
    if key.form == "list":
        return {
            "description": key.meaning,
            "type": "array",
            "items": _table(keys, key.path, shared),
        }
    told = {"description": description(key)}
    if key.default:
        told["default"] = _value(key.default)
    return told | _shape(key, shared)


def description(key: Key) -> str:
    """Return what an editor shows of a key."""
    parts = [key.meaning]
    if key.limit is not None and allowed(key):
        parts.append(f"Allowed: {allowed(key)}.")
    if usual(key):
        parts.append(f"Usual: {usual(key)}.")
    if key.example:
        parts.append(f"Example: {key.example}.")
    if key.default:
        parts.append(f"Default: {key.default}.")
    return " ".join(parts)


def _value(toml: str) -> Any:
    import tomllib

    return tomllib.loads(f"value = {toml}")["value"]


def _shape(key: Key, shared: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of the values of a key."""
    if key.words:
        return {"type": "string", "enum": list(key.words)}
    if key.limit is None:
        return _PLAIN[key.form]
    one = _reference(key.limit, key.form, shared)
    if key.form in ("scalar", "whole", "durometer"):
        return {"allOf": [one]}
    if key.form == "series":
        return {"anyOf": [one, {"type": "array", "minItems": 1, "items": one}]}
    if key.form == "taper":
        return {"anyOf": [one, _list(one, 2, 2), _along(one)]}
    if key.form == "vector":
        return _list(one, 3, 3)
    if key.form == "path":
        return _list(_list(one, 3, 3), 3)
    point = _list(one, 2, 2)
    curve = _list(point, 2 if key.form == "line" else 3)
    return {"type": "array", "items": curve} if key.form == "curves" else curve


def _reference(limit: Limit, form: str, shared: dict[str, Any]) -> dict[str, Any]:
    """Return a reference to the schema of one number, shared by all keys of the same range."""
    if form == "durometer":
        pattern = patterns.durometer_pattern(limit.low, limit.high)
        body: dict[str, Any] = {"type": "string", "pattern": pattern}
    elif limit.unit:
        body = patterns.quantity(limit)
    else:
        least = "exclusiveMinimum" if limit.open_low else "minimum"
        kind = "integer" if form == "whole" else "number"
        body = {"type": kind, least: limit.low, "maximum": limit.high}
        if limit.fraction:
            body = {"anyOf": [body, patterns.quantity(limit)]}
    for name, known in shared.items():
        if known == body:
            return {"$ref": f"#/definitions/{name}"}
    name = f"number-{len(shared) + 1}"
    shared[name] = body
    return {"$ref": f"#/definitions/{name}"}


def _list(item: dict[str, Any], least: int, most: int | None = None) -> dict[str, Any]:
    ends = {"minItems": least} | ({} if most is None else {"maxItems": most})
    return {"type": "array", "items": item, **ends}


def _along(one: dict[str, Any]) -> dict[str, Any]:
    """Return the schema of a table of sizes along a length."""
    shares = {
        "type": "array",
        "minItems": 2,
        "items": [{"enum": [0]}],
        "additionalItems": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
        "uniqueItems": True,
        "contains": {"enum": [1]},
    }
    return {
        "type": "object",
        "additionalProperties": False,
        "required": ["at", "value"],
        "properties": {"at": shares, "value": _list(one, 2)},
        "anyOf": [_as_many(count) for count in range(2, _MOST_ALONG + 1)],
    }


def _as_many(count: int) -> dict[str, Any]:
    """Return the schema of a table with so many entries in both lists, or more than are told."""
    ends = {"minItems": count} | ({"maxItems": count} if count < _MOST_ALONG else {})
    return {"properties": {"at": ends, "value": ends}}
