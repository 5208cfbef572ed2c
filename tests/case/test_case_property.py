"""Whatever happens to a case file, the answer is a Case or an InputError."""

from __future__ import annotations

import copy
import dataclasses
import json
import math
import re
import tomllib
from typing import Any

from case_texts import BODY, CLAW, CURL, FORK, LEG, PADDLE, RIG, STRIP
from hypothesis import given, settings
from hypothesis import strategies as st

from simsoft.case.model import Case
from simsoft.case.read import loads
from simsoft.case.starter import KINDS, starter
from simsoft.core.errors import InputError

BASES = [STRIP, BODY, RIG, PADDLE, CLAW, LEG, CURL, FORK, *map(starter, KINDS)]

UNITS = st.sampled_from(
    ["mm", "in", "m/s", "degC", "kPa", "deg", "kg/m^3", "%", "g/kg", "1/K", "OO", "A", "", "N", "s"]
)
NUMBERS = st.one_of(
    st.integers(-(10**30), 10**30),
    st.floats(allow_nan=True, allow_infinity=True),
    st.sampled_from([0, -0.0, 1, 0.5, 1e308, 5e-324]),
)
VALUES = st.recursive(
    st.one_of(
        NUMBERS,
        st.booleans(),
        st.text(max_size=20),
        st.builds(lambda number, unit: f"{number} {unit}", NUMBERS, UNITS),
        st.sampled_from(["strip", "leg", "paddle-tail", "hold", "retrieve", "boot", "in-plane"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=5,
)


def toml(value: Any) -> str:
    """Write a value as inline TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(k)} = {toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, float):
        return repr(value) if math.isfinite(value) else str(value)
    return json.dumps(value) if isinstance(value, str) else str(value)


def write(tables: dict[str, Any]) -> str:
    """Write tables as TOML, one inline value a line."""
    return "".join(f"{json.dumps(key)} = {toml(value)}\n" for key, value in tables.items())


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the paths of everything inside tables and lists."""
    if isinstance(value, dict):
        steps: list[Any] = list(value)
    elif isinstance(value, list):
        steps = list(range(len(value)))
    else:
        return []
    return [
        found for step in steps for found in [(*path, step), *places(value[step], (*path, step))]
    ]


ACTIONS = ["drop", "replace", "rename", "repeat", *4 * ["rescale"]]


def rescaled(value: Any, factor: float) -> Any:
    """Multiply the number a value starts with; leave anything else alone."""
    if isinstance(value, str) and re.match(r"[\d.]+ ", value):
        number, unit = value.split(" ", 1)
        return f"{float(number) * factor!r} {unit}"
    return value * factor if isinstance(value, float) else value


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """Return a valid case with one to three values dropped, replaced, renamed or rescaled."""
    tables = copy.deepcopy(tomllib.loads(draw(st.sampled_from(BASES))))
    for _ in range(draw(st.integers(1, 3))):
        known = places(tables)
        if not known:
            break
        *way, last = draw(st.sampled_from(known))
        holder: Any = tables
        for step in way:
            holder = holder[step]
        action = draw(st.sampled_from(ACTIONS))
        if action == "drop":
            del holder[last]
        elif action == "replace":
            holder[last] = draw(VALUES)
        elif action == "rescale":
            holder[last] = rescaled(holder[last], draw(st.floats(1e-12, 1e12)))
        elif isinstance(holder, list):
            holder.append(copy.deepcopy(holder[last]))
        elif action == "rename":
            holder[draw(st.text(min_size=1, max_size=12))] = holder.pop(last)
        else:
            holder[f"{last}s"] = copy.deepcopy(holder[last])
    return write(tables)


def outcome(text: str, overrides: list[str] | None = None) -> Case | InputError:
    """Load a text; anything but a case or a well-formed InputError fails the test."""
    result: Case | InputError
    try:
        result = loads(text, "c.toml", overrides or [])
    except InputError as error:
        result = error
    if isinstance(result, Case):
        check_numbers(dataclasses.asdict(result))
    else:
        assert result.problems
        for line in result.problems:
            assert line.isprintable()
            assert line.startswith(("c.toml: ", "--set ", "and "))
    return result


def check_numbers(value: Any) -> None:
    """No number of a checked case is other than finite."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list | tuple):
        for item in value:
            check_numbers(item)
    elif isinstance(value, float):
        assert math.isfinite(value)


@settings(max_examples=300, deadline=None)
@given(mutated())
def test_mutated_case_is_a_case_or_an_input_error(text: str) -> None:
    outcome(text)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(BASES), st.data())
def test_mangled_text_is_a_case_or_an_input_error(text: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(text)))
    end = min(len(text), start + data.draw(st.integers(0, 30)))
    outcome(text[:start] + data.draw(st.text(max_size=20)) + text[end:])


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_a_case_or_an_input_error(text: str) -> None:
    outcome(text)


PATHS = ["title", "water.temperature", "material", "parts.strip.thickness", "parts.strip.loads"]


@settings(max_examples=150, deadline=None)
@given(
    st.one_of(st.sampled_from(PATHS), st.text(max_size=20)),
    st.one_of(st.text(max_size=30), VALUES.map(toml)),
)
def test_any_override_is_a_case_or_an_input_error(path: str, value: str) -> None:
    outcome(STRIP, [f"{path}={value}"])


def test_writer_gives_back_the_same_tables() -> None:
    for text in BASES:
        tables = tomllib.loads(text)
        assert tomllib.loads(write(tables)) == tables
        assert isinstance(outcome(write(tables)), Case)
