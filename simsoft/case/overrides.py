"""``--set PATH=VALUE``: change one value of the tables before they are checked."""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Callable, Sequence
from typing import Any

from simsoft.case.files import too_deep
from simsoft.case.schema import LISTS, TABLES, CaseTable, keys_of
from simsoft.case.schema_base import TableModel
from simsoft.case.wording import given, printable, suggestion, unknown_key

_SET, _PROFILE = "# set ", "# profile "  # how notes below the text of a case begin


def apply(raw: dict[str, Any], overrides: Sequence[str]) -> tuple[dict[str, Any], list[str]]:
    """Return a copy of the tables with the overrides set, and the problems found.

    Parameters
    ----------
    raw : dict
        Tables as read from TOML.
    overrides : sequence of str
        ``PATH=VALUE``; PATH such as ``parts.strip.thickness`` (entries of lists by name),
        VALUE a TOML value or, failing that, the text as it stands.

    Returns
    -------
    raw : dict
    problems : list of str, one line for each override that cannot be applied
    """
    raw = _copied(raw)
    problems = []
    for override in overrides:
        try:
            put(raw, override)
        except ValueError as problem:
            problems.append(f"--set {given(override)[1:-1]}: {problem}")
    return raw, problems


def put(
    tables: dict[str, Any], override: str, made: Callable[[Any], Any] = lambda value: value
) -> None:
    """Set one ``PATH=VALUE`` in tables as they are; ValueError with the complaint.

    ``made`` turns the plain value into what such tables hold.
    """
    path, equals, value = override.partition("=")
    if not equals:
        raise ValueError("there is no `=`; PATH=VALUE is needed")
    _set_in_table(tables, CaseTable, path.strip(), made(parse_value(value)))


def _copied(value: Any) -> Any:
    """Return a copy of plain TOML data; what cannot change inside is shared."""
    if isinstance(value, dict):
        return {key: _copied(item) for key, item in value.items()}
    return [_copied(item) for item in value] if isinstance(value, list) else value


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
    return f"{_SET}{printable(override)}"


def settings_of(text: str) -> list[str]:
    """Return the overrides recorded at the end of a case text, in order."""
    lines = [line for line in text.splitlines() if not line.startswith(_PROFILE)]
    last = itertools.takewhile(lambda line: line.startswith(_SET), reversed(lines))
    return [line.removeprefix(_SET) for line in last][::-1]


def _set_in_table(
    table: dict[str, Any], schema: type[TableModel], path: str, value: Any, where: str = ""
) -> None:
    """Set the value at ``path`` of a table; ValueError with the complaint where there is no key.

    ``where`` is the path that led to the table, with a dot at its end.
    """
    key, dot, rest = path.partition(".")
    known = keys_of(schema)
    if key not in known:
        whole = _entry(table, schema, key)
        if whole and dot:
            raise ValueError(f"{given(key)}: no key; write {where}{whole}.{rest}")
        places = [] if where or dot else _places(table, key)
        if places:
            raise ValueError(f"{given(key)}: no key; write {' or '.join(places)}")
        raise ValueError(f"{given(key)}: {unknown_key(key, known)}")
    entries = LISTS.get(schema, {}).get(key)
    if entries is not None:
        _set_in_list(table.get(key), entries, where + key, rest, value)
        return
    if not dot:
        table[key] = value
        return
    inner = TABLES.get(schema, {}).get(key)
    if inner is None:
        raise ValueError(f"`{key}` is a value, not a table; nothing can follow it")
    below = table.get(key, {})
    if not isinstance(below, dict):
        raise ValueError(f"`{key}` is {given(below)} in the file, where a table is needed")
    _set_in_table(below, inner, rest, value, f"{where}{key}.")
    table[key] = below


def _entry(table: dict[str, Any], schema: type[TableModel], name: str) -> str:
    """Return the path of an entry of one of the lists of a table by its name, nothing for none."""
    for key in LISTS.get(schema, {}):
        entries = table.get(key)
        for entry in entries if isinstance(entries, list) else []:
            if isinstance(entry, dict) and entry.get("name") == name:
                return f"{key}.{name}"
    return ""


def _places(tables: dict[str, Any], key: str) -> list[str]:
    """Return the paths at which the tables of a case state a key, in the order of the file."""
    found = []
    for name, table in tables.items():
        if isinstance(table, dict) and key in table:
            found.append(f"{name}.{key}")
        for entry in table if isinstance(table, list) else []:
            if isinstance(entry, dict) and key in entry and isinstance(entry.get("name"), str):
                found.append(f"{name}.{entry['name']}.{key}")
    return found


def _set_in_list(tables: Any, schema: type[TableModel], where: str, path: str, value: Any) -> None:
    """Set a value of the entries of the list at ``where`` that carry the name in ``path``."""
    label, _, rest = path.partition(".")
    if not label:
        raise ValueError(f"`{where}` is a list; write {where}.NAME.KEY=VALUE")
    tables = [t for t in tables if isinstance(t, dict)] if isinstance(tables, list) else []
    named = [t for t in tables if t.get("name") == label]
    if not named:
        names = [t["name"] for t in tables if isinstance(t.get("name"), str)]
        shown = ", ".join(names) or "none"
        raise ValueError(
            f"no entry of `{where}` is named {given(label)}{suggestion(label, names)}; "
            f"named are {shown}"
        )
    if not rest:
        raise ValueError(f"`{where}.{label}` is a table; write {where}.{label}.KEY=VALUE")
    for table in named:
        _set_in_table(table, schema, rest, value, f"{where}.{label}.")
