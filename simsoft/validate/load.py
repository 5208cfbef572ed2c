"""Read the checks; a mistake in a check file is one clear line."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from simsoft.case.files import read_text
from simsoft.case.wording import given, suggestion, unknown_key
from simsoft.core.errors import InputError
from simsoft.validate.check import AllowedDifference, Check, Expected, Measure, Run
from simsoft.validate.locate import CASE_FILE, EXPECTED_FILE

PROVENANCES = ("published", "recomputed", "from memory")
COMPONENTS = ("x", "y", "z")
ABOUT = ("id", "title", "source", "short", "provenance", "note")
MEASURE_KEYS = (
    *("quantity", "at", "nth", "component", "words", "function", "case", "item"),
    *("power", "scale", "offset", "tolerance"),
)
RUN_KEYS = (
    *("condition", "set", "arguments", "each", "labels"),
    *("expect", "unlike", "scale", "tolerance"),
)
OUR_CODE = "simsoft."  # a check file calls nothing else


def load_checks(directory: Path, identities: Sequence[str] = ()) -> tuple[Check, ...]:
    """Return the checks of a directory in the order of their ids, all or the wanted ones.

    Parameters
    ----------
    directory : Path
    identities : sequence of str, in capitals or not

    Raises
    ------
    InputError
        If an id is unknown, or a line for every check file that cannot be used.
    """
    known = sorted(path.parent.name for path in directory.glob(f"*/{EXPECTED_FILE}"))
    wanted = [identity.upper() for identity in identities]
    by_capitals = {name.upper(): name for name in known}
    problems = [
        f"{given(identity)} is no published check{suggestion(identity, map(str.lower, known))}; "
        f"there are {', '.join(known)}"
        for identity in identities
        if identity.upper() not in by_capitals
    ]
    if problems:
        raise InputError(problems)
    checks = []
    for capitals, name in by_capitals.items():
        if wanted and capitals not in wanted:
            continue
        try:
            checks.append(load_check(directory / name))
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return tuple(checks)


def load_check(folder: Path) -> Check:
    """Return the check of one folder.

    Raises
    ------
    InputError
        If its ``expected.toml`` cannot be read or is not complete and consistent.
    """
    path = folder / EXPECTED_FILE
    try:
        raw = tomllib.loads(read_text(path))
        return _check(raw, folder)
    except (tomllib.TOMLDecodeError, ValueError) as problem:
        raise InputError(f"{folder.name}/{EXPECTED_FILE}: {problem}") from None


def _check(raw: dict[str, Any], folder: Path) -> Check:
    _known("", raw, ("check", "measures", "runs"))
    about = raw.get("check", {})
    _known("check", about, ABOUT)
    for key in ABOUT[:-1]:
        if not isinstance(about.get(key), str) or not about[key].strip():
            raise ValueError(f"check.{key}: a text is needed")
    if about["id"] != folder.name:
        raise ValueError(f"check.id: {given(about['id'])} is not the folder's name")
    if not about["provenance"].startswith(PROVENANCES):
        raise ValueError(f"check.provenance: must begin with one of {', '.join(PROVENANCES)}")
    measures = {name: _measure(name, table) for name, table in raw.get("measures", {}).items()}
    runs = tuple(_run(number, table, measures) for number, table in enumerate(raw.get("runs", [])))
    if not runs:
        raise ValueError("runs: at least one [[runs]] is needed")
    used = {name for run in runs for name in (*run.expect, *run.unlike)}
    for name in measures:
        if name not in used:
            raise ValueError(f"measures.{name}: no run expects it")
    case = folder / CASE_FILE
    if not case.is_file() and any(m.quantity or m.takes_case for m in measures.values()):
        raise ValueError(f"there is no {CASE_FILE} beside it, which its measures need")
    return Check(
        identity=about["id"],
        title=about["title"],
        source=about["source"],
        short=about["short"],
        provenance=about["provenance"],
        note=" ".join(about.get("note", "").split()),
        case=case if case.is_file() else None,
        measures=measures,
        runs=runs,
    )


def _measure(name: str, table: dict[str, Any]) -> Measure:
    place = f"measures.{name}"
    _known(place, table, MEASURE_KEYS)
    quantity, function = table.get("quantity", ""), table.get("function", "")
    if bool(quantity) == bool(function):
        raise ValueError(f"{place}: either `quantity` or `function` is needed")
    if function and not (function.startswith(OUR_CODE) and function.count(":") == 1):
        raise ValueError(f"{place}.function: must read {OUR_CODE}module:name")
    component = table.get("component")
    if component is not None and component not in COMPONENTS:
        raise ValueError(f"{place}.component: must be one of {', '.join(COMPONENTS)}")
    if "tolerance" not in table:
        raise ValueError(f"{place}.tolerance: missing")
    item = table.get("item", [])
    return Measure(
        name=name,
        tolerance=_tolerance(place, table["tolerance"]),
        quantity=quantity,
        at=table.get("at", {}),
        nth=table.get("nth", 1),
        component=None if component is None else COMPONENTS.index(component),
        words=tuple(table.get("words", [])),
        function=function,
        takes_case=table.get("case", False),
        item=tuple(item) if isinstance(item, list) else (item,),
        power=float(table.get("power", 1.0)),
        scale=float(table.get("scale", 1.0)),
        offset=float(table.get("offset", 0.0)),
    )


def _tolerance(place: str, value: Any) -> AllowedDifference:
    """Return a tolerance from "0.5 %" or an absolute number."""
    text = value.removesuffix("%").strip() if isinstance(value, str) else value
    relative = isinstance(value, str) and value.rstrip().endswith("%")
    try:
        size = float(text) * (0.01 if relative else 1.0)
    except (TypeError, ValueError):
        size = math.nan
    if isinstance(value, bool) or isinstance(value, str) != relative or not size > 0.0:
        raise ValueError(
            f'{place}.tolerance: {given(value)} is neither "0.5 %" nor a positive number'
        )
    return AllowedDifference(size, relative)


def _run(number: int, table: dict[str, Any], measures: dict[str, Measure]) -> Run:
    place = f"runs[{number + 1}]"
    _known(place, table, RUN_KEYS)
    if not isinstance(table.get("condition"), str):
        raise ValueError(f"{place}.condition: a text is needed")
    for key in ("expect", "unlike", "scale", "tolerance"):
        for name in table.get(key, {}):
            if name not in measures:
                known = suggestion(name, measures)
                raise ValueError(f"{place}.{key}: {given(name)} is no measure{known}")
    arguments, each = table.get("arguments", {}), table.get("each", "")
    if each and not isinstance(arguments.get(each), list):
        raise ValueError(f"{place}.each: {given(each)} is no argument with a list of values")
    run = Run(
        condition=table["condition"],
        overrides=tuple(table.get("set", [])),
        arguments=arguments,
        each=each,
        labels=tuple(table.get("labels", arguments.get(each, []))),
        expect=_numbers(table.get("expect", {})),
        unlike=_numbers(table.get("unlike", {})),
        scale=_numbers(table.get("scale", {})),
        tolerance={
            name: _tolerance(place, value) for name, value in table.get("tolerance", {}).items()
        },
    )
    _consistent(place, run, measures)
    return run


def _numbers(table: Mapping[str, Any]) -> dict[str, Expected]:
    return {
        name: tuple(map(float, value)) if isinstance(value, list) else float(value)
        for name, value in table.items()
    }


def _consistent(place: str, run: Run, measures: dict[str, Measure]) -> None:
    """Refuse lists of the wrong length and relative tolerances of zero."""
    if not run.expect and not run.unlike:
        raise ValueError(f"{place}: nothing is expected")
    for name, expected in (*run.expect.items(), *run.unlike.items()):
        values = expected if isinstance(expected, tuple) else (expected,)
        if isinstance(expected, tuple) and len(values) != len(run.labels):
            raise ValueError(
                f"{place}.expect.{name}: {len(values)} values for {len(run.labels)} conditions"
            )
        if run.each and not isinstance(expected, tuple):
            raise ValueError(f"{place}.expect.{name}: a list is needed, one for each {run.each}")
        tolerance = run.tolerance.get(name, measures[name].tolerance)
        if tolerance.relative and 0.0 in values:
            raise ValueError(
                f"{place}.expect.{name}: a share of zero is no tolerance; give a number"
            )


def _known(place: str, table: Any, keys: Sequence[str]) -> None:
    if not isinstance(table, dict):
        raise ValueError(f"{place}: a table is needed")
    for key in table:
        if key not in keys:
            raise ValueError(f"{place + '.' if place else ''}{key}: {unknown_key(key, keys)}")
