"""The table of keys: every key of a case with meaning, unit, range, example and default.

Declared once: types, ranges and examples in schema.py and limits.py, meanings in meanings.toml.
"""

from __future__ import annotations

import functools
import re
import tomllib
from importlib import resources
from typing import Any, NamedTuple, get_args

from pydantic.fields import FieldInfo

from simsoft.case import units
from simsoft.case.limits import LIMITS, TYPICAL_BY_KIND, Limit, number_text, range_text
from simsoft.case.read import SAMPLES
from simsoft.case.readers import Read
from simsoft.case.schema import LISTS, TABLES, CaseTable
from simsoft.case.schema_base import TableModel
from simsoft.case.wording import given, suggestion
from simsoft.core.errors import InputError

WRITTEN = {
    "scalar": "one number",
    "whole": "one whole number",
    "series": "one number or a list",
    "vector": "a list of three numbers",
    "taper": "one size, [root, tip], or { at = [0, 0.5, 1], value = [..] }",
    "curve": "a list of points [along, across], at least three",
    "curves": "a list of such lists of points",
    "line": "a list of points [along, across], at least two",
    "path": "a list of at least three points [x, y, z]",
    "choice": "one of these words",
    "switch": "true or false",
    "text": "one line of text in quotes",
    "name": "letters, digits, hyphens and underscores, in quotes",
    "direction": "three plain numbers, their length does not matter",
    "shares": "two shares of its length, 0 to 1",
    "durometer": "Shore points with the scale",
    "limit": "a number in the unit of `quantity`",
    "conditions": "a table of conditions",
    "table": "a table",
    "list": "tables, one below each [[..]]",
}
_EXAMPLES = {
    "switch": "true", "direction": "[1, 0, 0]", "shares": "[0.9, 0.1]", "limit": "0.5 m/s",
    "curve": '[["0 mm", "-3 mm"], ["30 mm", "0 mm"], ["0 mm", "3 mm"]]',
    "curves": '[[["5 mm", "-1 mm"], ["9 mm", "0 mm"], ["5 mm", "1 mm"]]]',
    "line": '[["4 mm", "0 mm"], ["12 mm", "-3 mm"]]',
    "conditions": '{ case = "rest" }',
}  # fmt: skip
_TEXTS = {
    "profile": "shop.toml", "parts.outline_file": "pad.svg", "brief.equals": "kicks",
    "brief.scenario": "retrieve", "brief.part": "tail", "brief.name": "start-in-the-cold",
    "seen.equals": "kicks", "seen.scenario": "retrieve", "seen.part": "tail",
}  # fmt: skip


class Key(NamedTuple):
    """One key of a case.

    Attributes
    ----------
    path : str, such as ``parts.thickness``; entries of lists carry no name here
    meaning : str, one sentence
    form : str, how it is written, a key of ``WRITTEN``
    limit : Limit or None, range and unit of its numbers
    words : tuple of str, what a choice allows
    example : str, as TOML
    default : str, as TOML; empty where there is none
    needed : bool, its table is refused without it
    """

    path: str
    meaning: str
    form: str
    limit: Limit | None
    words: tuple[str, ...]
    example: str
    default: str
    needed: bool


@functools.cache
def all_keys() -> tuple[Key, ...]:
    """Return every key in the order of the documentation; tables stand before their keys."""
    return tuple(_below(CaseTable, ""))


def find(word: str) -> list[Key]:
    """Return the keys that a word names: a whole path, or the end of some.

    Raises
    ------
    InputError
        There is no such key.
    """
    known = all_keys()
    named = [key for key in known if key.path == word]
    named = named or [key for key in known if key.path.endswith(f".{word}")]
    if not named:
        names = [key.path for key in known] + [key.path.split(".")[-1] for key in known]
        near = suggestion(word, names)
        raise InputError(f"{given(word)} is no key of a case{near}; `simsoft keys` lists them")
    return named


def keys_about(word: str) -> list[Key]:
    """Return the keys whose meaning has a word in it, such as ``stem``; none for no such key."""
    whole = re.compile(rf"\b{re.escape(word)}\b", re.IGNORECASE)
    return [key for key in all_keys() if whole.search(key.meaning)]


def _below(table: type[TableModel], path: str) -> list[Key]:
    meanings = _meanings()
    told = meanings["of"][path] if path else meanings
    found = []
    for name, field in table.model_fields.items():
        here = f"{path}.{name}" if path else name
        key = _key(table, here, name, field, told[name])
        found.append(key)
        inner = (TABLES.get(table, {}) | LISTS.get(table, {})).get(name)
        if inner is not None:
            found += _below(inner, here)
    return found


@functools.cache
def _meanings() -> dict[str, Any]:
    text = resources.files("simsoft.case").joinpath("meanings.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _key(table: type[TableModel], path: str, name: str, field: FieldInfo, meaning: str) -> Key:
    needed = field.is_required()
    if name in TABLES.get(table, {}):
        return Key(path, meaning, "table", None, (), f"[{path}]", "", needed)
    if name in LISTS.get(table, {}):
        return Key(path, meaning, "list", None, (), f"[[{path}]]", "", needed)
    read = reader(field)
    if read is None:
        form = "conditions" if name == "at" else "limit"
        return Key(path, meaning, form, None, (), _quoted(_EXAMPLES[form]), "", needed)
    limit = LIMITS[read.key] if read.key else None
    return Key(
        path, meaning, read.form, limit, read.words, _example(path, read), _default(field, read),
        needed,
    )  # fmt: skip


def reader(field: FieldInfo) -> Read | None:
    """Return the reader of a field, None where brief.py reads it."""
    for item in (*field.metadata, *_annotated(field.annotation)):
        if isinstance(item, Read):
            return item
    return None


def _annotated(annotation: Any) -> list[Any]:
    return [item for part in get_args(annotation) for item in getattr(part, "__metadata__", ())]


def _quoted(text: str) -> str:
    bare = text[:1] in "[{" or text in ("true", "false") or _is_number(text)
    return text if bare else f'"{text}"'


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _example(path: str, read: Read) -> str:
    short = ".".join(path.split(".")[-2:])
    if read.form in _EXAMPLES:
        return _EXAMPLES[read.form]
    if read.form == "path":
        point = LIMITS[read.key].example
        return f'[{point}, ["30 mm", "0 mm", "0 mm"], ["30 mm", "0 mm", "9 mm"]]'
    if read.key:
        return _quoted(LIMITS[read.key].example.split(" or ")[0])
    sample = _TEXTS.get(path) or SAMPLES.get(short) or SAMPLES.get(path)
    return _quoted(sample or (read.words[0] if read.words else "text"))


def _default(field: FieldInfo, read: Read) -> str:
    value = field.default
    if field.is_required() or value is None or value == ():
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if read.form == "direction":
        return "[" + ", ".join(number_text(item) for item in value) + "]"
    limit = LIMITS[read.key]
    if isinstance(value, tuple):
        return "[" + ", ".join(_in_unit(item, limit) for item in value) + "]"
    return _in_unit(value, limit)


def _in_unit(value: float, limit: Limit) -> str:
    if not limit.unit:
        return number_text(value)
    return f'"{number_text(units.convert(value, limit.si, limit.unit))} {limit.unit}"'


def allowed(key: Key) -> str:
    """Return what the numbers or words of a key may be; empty where anything may stand."""
    if key.words:
        return ", ".join(key.words)
    limit = key.limit
    if limit is None:
        return ""
    text = range_text(limit, limit.low, limit.high)
    return f"above {text}" if limit.open_low else text


def usual(key: Key) -> str:
    """Return the range outside of which a key warns, by kind where kinds differ; or nothing."""
    limit = key.limit
    if limit is None:
        return ""
    if limit.typical is not None:
        return range_text(limit, *limit.typical)
    room, _, name = key.path.rpartition(".")
    of_kind = [
        f"{kind} {range_text(limit, *ends)}"
        for (kind, known), ends in TYPICAL_BY_KIND.items()
        if known == name and (room == "body") == (kind in _bodies())
    ]
    return "; ".join(of_kind) if room in ("parts", "body") else ""


def _bodies() -> tuple[str, ...]:
    return next(key.words for key in all_keys() if key.path == "body.family")
