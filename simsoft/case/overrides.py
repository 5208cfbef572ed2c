"""``--set PATH=VALUE``: change one value of the tables before they are checked."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Sequence
from typing import Any

from simsoft.case.files import too_deep
from simsoft.case.schema import LISTS, TABLES, CaseTable, LoadsTable, Table, keys
from simsoft.case.wording import given, printable, suggestion, unknown_key


def apply(raw: dict[str, Any], overrides: Sequence[str]) -> tuple[dict[str, Any], list[str]]:
    """Return a copy of the tables with the overrides set, and the problems found.

    Parameters
    ----------
    raw : dict
        Tables as read from TOML.
    overrides : sequence of str
        ``PATH=VALUE``; PATH such as ``parts.strip.thickness`` (parts and scenarios by name),
        VALUE a TOML value or, failing that, the text as it stands.

    Returns
    -------
    raw : dict
    problems : list of str, one line for each override that cannot be applied
    """
    raw = copy.deepcopy(raw)
    problems = []
    for override in overrides:
        path, equals, value = override.partition("=")
        try:
            if not equals:
                raise ValueError("there is no `=`; PATH=VALUE is needed")
            _set(raw, path.strip(), parse_value(value))
        except ValueError as problem:
            problems.append(f"--set {given(override)[1:-1]}: {problem}")
    return raw, problems


def parse_value(text: str) -> Any:
    """Return ``text`` as a TOML value, or stripped as it stands where it is none."""
    try:
        document = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):
        return text.strip()
    if set(document) != {"value"} or too_deep(document):
        return text.strip()
    return document["value"]


def comment(override: str) -> str:
    """Return the comment line that records an override in the case text."""
    return f"# set {printable(override)}"


def _set(raw: dict[str, Any], path: str, value: Any) -> None:
    """Set the value at ``path``; ValueError with the complaint where there is no such key."""
    first, _, rest = path.partition(".")
    if first in LISTS:
        label, _, rest = rest.partition(".")
        _set_in_list(raw, first, label, rest, value)
    else:
        _set_in_table(raw, CaseTable, path, value)


def _set_in_list(raw: dict[str, Any], key: str, label: str, rest: str, value: Any) -> None:
    if not label:
        raise ValueError(f"`{key}` is a list; write {key}.NAME.KEY=VALUE")
    tables = raw.get(key)
    tables = [t for t in tables if isinstance(t, dict)] if isinstance(tables, list) else []
    named = [t for t in tables if t.get("name") == label]
    if not named:
        names = [t["name"] for t in tables if isinstance(t.get("name"), str)]
        shown = ", ".join(names) or "none"
        raise ValueError(
            f"no entry of `{key}` is named {given(label)}{suggestion(label, names)}; "
            f"named are {shown}"
        )
    if not rest:
        raise ValueError(f"`{key}.{label}` is a table; write {key}.{label}.KEY=VALUE")
    for table in named:
        _set_in_table(table, LISTS[key], rest, value)


def _set_in_table(table: dict[str, Any], schema: type[Table], path: str, value: Any) -> None:
    key, dot, rest = path.partition(".")
    known = keys(schema)
    if key not in known:
        raise ValueError(f"{given(key)}: {unknown_key(key, known)}")
    inner = TABLES.get(key) if schema is CaseTable else LoadsTable if key == "loads" else None
    if not dot:
        table[key] = value
        return
    if inner is None:
        raise ValueError(f"`{key}` is a value, not a table; nothing can follow it")
    below = table.setdefault(key, {})
    if not isinstance(below, dict):
        raise ValueError(f"`{key}` is {given(below)} in the file, where a table is needed")
    _set_in_table(below, inner, rest, value)
