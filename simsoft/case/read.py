"""Read a case: file, overrides, schema, rules; every problem of a case is listed at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from simsoft.case.build import build
from simsoft.case.fields import REFUSED
from simsoft.case.files import read_tables, read_text
from simsoft.case.limits import LIMITS
from simsoft.case.model import Case
from simsoft.case.oddities import oddities
from simsoft.case.overrides import apply, comment
from simsoft.case.profile import read_profile, revalued, unused
from simsoft.case.rules.across_keys import check
from simsoft.case.rules.edge import check_edges
from simsoft.case.schema import LISTS, TABLES, CaseTable, keys_of, table_at
from simsoft.case.shapes.drawing import Drawing, read_drawing
from simsoft.case.shapes.planform import check_drawn_clamp, with_outline
from simsoft.case.wording import (
    MOST_LINES,
    Place,
    Problem,
    given,
    key_path,
    printable,
    shortened,
    unknown_key,
)
from simsoft.core.errors import InputError

SAMPLES = {
    "title": "Lockside kicker",
    "drawn.mesh": "bait.stl",
    "drawn.digest": "SHA-256 of the mesh",
    "drawn.unit": "mm",
    "parts.name": "tail",
    "parts.kind": "paddle-tail",
    "scenarios.name": "stream",
    "scenarios.kind": "retrieve",
    "body.family": "stick-worm",
    "weights.name": "head",
    "weights.kind": "jig-head",
    "weights.material": "lead",
    "brief.quantity": "start_speed",
    "seen.quantity": "start_speed",
}


def load(path: str | Path, overrides: Sequence[str] = ()) -> Case:
    """Return the checked case of a TOML file.

    Parameters
    ----------
    path : str or Path
    overrides : sequence of str
        ``PATH=VALUE`` settings, applied in order.

    Returns
    -------
    Case
        In SI; odd but possible values are in ``Case.warnings``.

    Raises
    ------
    InputError
        One line for each problem of the file: file, key, what was given, what is allowed.
    """
    return loads(read_text(path), str(path), overrides)


def bait_in_hand(case: Case) -> Case:
    """Return the case as its file has it, without what was set: what was seen was seen of it."""
    return loads(case.text, case.file)


def loads(text: str, name: str = "<text>", overrides: Sequence[str] = ()) -> Case:
    """Return the checked case of a TOML text; ``name`` stands for the file in messages.

    Parameters, result and errors are those of `load`.
    """
    return from_tables(read_tables(text, name), text, name, overrides)


def from_tables(
    tables: dict[str, Any], text: str, name: str, overrides: Sequence[str] = ()
) -> Case:
    """Return the checked case of tables read before; ``text`` is what they were read from.

    Saves reading the same text for every design of a sweep. Parameters, result and errors are
    otherwise those of `load`; ``tables`` is left as it is.
    """
    name = printable(name)
    raw, problems = apply(tables, overrides)
    table, found = _validate(raw)
    problems += _lines(name, raw, [*found, *check(raw)])
    if problems or table is None:
        raise InputError(shortened(problems))
    kept = text if not overrides else "\n".join([text.rstrip("\n"), *map(comment, overrides), ""])
    case = build(table, kept)
    past = _lines(name, raw, check_edges(case))
    if past:
        raise InputError(shortened(past))
    case = _meshed(_drawn(case, table, name), table, name)
    changes = table.profile_values.model_dump(exclude_unset=True)
    if changes and table.profile is None:
        raise InputError(f"{name}: profile_values: no `profile` is named whose values to change")
    if table.profile is not None:
        profile = read_profile(Path(name).parent / table.profile)
        try:
            profile = revalued(profile, changes)
        except ValueError as problem:
            raise InputError(f"{name}: profile_values.{problem}") from None
        note = f"# profile {table.profile} sha256 {profile.sha256}\n"
        case = dataclasses.replace(case, profile=profile, text=f"{kept.rstrip()}\n{note}")
    if case.seen:
        case = dataclasses.replace(case, file=name)
    warnings = _lines(name, raw, oddities(raw, case))
    if case.profile is not None:
        warnings += [
            f"{name}: the profile's {value} is not used, the case states its own"
            for value in unused(case.profile, case)
        ]
    return dataclasses.replace(case, warnings=tuple(warnings))


def _drawn(case: Case, table: CaseTable, name: str) -> Case:
    """Return the case with the outlines of its drawn parts read, checked and scaled."""
    parts = list(case.parts)
    for number, entry in enumerate(table.parts):
        if entry.outline is None and entry.outline_file is None:
            continue
        key = "outline" if entry.outline_file is None else "outline_file"
        try:
            if entry.outline_file is not None:
                drawing = read_drawing(Path(name).parent / entry.outline_file)
                check_drawn_clamp(drawing, entry)
            else:
                drawing = Drawing((*(entry.outline or ()), *entry.holes))
            given_line = None if entry.clamp is None else entry.clamp[0]
            parts[number] = with_outline(
                parts[number],
                drawing.rings,
                drawing.clamp or given_line,
                entry.clamp_share,
                placed=drawing.clamp is None and entry.outline_file is not None,
            )
        except ValueError as problem:
            raise InputError([f"{name}: parts.{entry.name}.{key}: {problem}"]) from None
    return dataclasses.replace(case, parts=tuple(parts))


def _meshed(case: Case, table: CaseTable, name: str) -> Case:
    """Return the case with the mesh that serves as its body read and cut into sections."""
    if case.body is None or table.body is None or table.body.mesh is None:
        return case
    from simsoft.case.shapes.mesh_body import with_mesh

    try:
        body = with_mesh(case.body, Path(name).parent / table.body.mesh)
    except InputError as problem:
        raise InputError([f"{name}: body.mesh: {text}" for text in problem.problems]) from None
    except ValueError as problem:
        raise InputError([f"{name}: body.mesh: {problem}"]) from None
    return dataclasses.replace(case, body=body)


def _lines(name: str, raw: dict[str, Any], problems: Iterable[Problem]) -> list[str]:
    """Return one line for each problem, without repeats."""
    lines = (
        f"{name}: {key_path(problem.place, raw)}: {problem.text}"
        if problem.place
        else f"{name}: {problem.text}"
        for problem in problems
    )
    return list(dict.fromkeys(lines))


def _validate(raw: dict[str, Any]) -> tuple[CaseTable | None, list[Problem]]:
    try:
        return CaseTable.model_validate(raw), []
    except ValidationError as error:
        details = error.errors(include_url=False)
        return None, [_problem(item) for item in details[: 10 * MOST_LINES]]


def _problem(error: ErrorDetails) -> Problem:
    """Put the schema library's finding into a plain sentence."""
    place: Place = error["loc"]
    kind, value = error["type"], error["input"]
    if kind == REFUSED:
        return Problem(place, error["ctx"]["text"])
    if kind == "extra_forbidden":
        return Problem(place, unknown_key(str(place[-1]), keys_of(table_at(place[:-1]))))
    if kind == "missing":
        return Problem(place, missing_key(place))
    header = "[" + ".".join(_words(place)) + "]"
    if isinstance(place[-1], int):
        header = f"[{header}]"
    elif place[-1] in LISTS.get(table_at(place[:-1]), {}):
        return Problem(place, f"{given(value)} is no list of tables; write [{header}] above each")
    return Problem(place, f"{given(value)} is not a table; keys below a line {header} are needed")


def _words(place: Place) -> list[str]:
    return [step for step in place if isinstance(step, str)]


def missing_key(place: Place) -> str:
    """Return what to tell of a key that is needed and not there, with an example."""
    words = _words(place)
    if words[-1] in TABLES[CaseTable]:
        return f"missing; a table [{words[-1]}] is needed"
    key = ".".join(words[-2:])
    sample = LIMITS[key].example if key in LIMITS else SAMPLES[key]
    shown = sample if sample.startswith("[") else f'"{sample}"'
    return f"missing; a value is needed, such as {shown}"
