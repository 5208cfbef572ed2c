"""A shop's profile: values found by measurement, with bands and provenance, that a case names.

TOML, one table a value under ``[values]``, quantities with their units; written by ``simsoft
calibrate`` and readable by hand.
"""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from simsoft.case import fields
from simsoft.case.files import read_tables, read_text
from simsoft.case.measured import OF_LOADS, Profile, ProfileValue
from simsoft.case.model import Case
from simsoft.case.wording import given, printable, shortened, unknown_key
from simsoft.core.errors import InputError

# Name of a value and the row of the table of limits that says what it may be.
VALUES = {
    "youngs_modulus": "material.youngs_modulus",
    "loss_factor": "material.loss_factor",
    "density": "material.density",
    "temperature_slope": "material.temperature_slope",
    "loss_slope": "profile.loss_slope",
    "thickness_bias": "profile.thickness_bias",
    **{name: f"loads.{name}" for name in OF_LOADS},
}
SIGNED = ("thickness_bias", "loss_slope")  # values that may lie on either side of nothing
_CONDITIONS = {"frequency": "profile.frequency", "temperature": "water.temperature"}
_HEAD = ("title", "made", "simsoft", "note", "values", "sources")


def read_profile(path: str | Path) -> Profile:
    """Return a checked profile.

    Raises
    ------
    InputError
        One line for each problem: file, key, what was given, what is allowed.
    """
    shown = printable(str(path))
    text = read_text(path)
    raw = read_tables(text, shown)
    problems = [f"{shown}: {given(key)[1:-1]}: {unknown_key(key, _HEAD)}" for key in raw]
    problems = [p for p, key in zip(problems, raw, strict=True) if key not in _HEAD]
    tables = raw.get("values", {})
    if not isinstance(tables, dict) or not tables:
        raise InputError(f"{shown}: a table such as [values.youngs_modulus] is needed")
    values: dict[str, ProfileValue] = {}
    for name, table in tables.items():
        where = f"{shown}: values.{given(name)[1:-1]}"
        if name not in VALUES:
            problems.append(f"{where}: {unknown_key(name, list(VALUES))}")
        elif not isinstance(table, dict):
            problems.append(f"{where}: is {given(table)}; a table with value, low, high is needed")
        else:
            found = _value(name, table, where, problems)
            if found is not None:
                values[name] = found
    if problems:
        raise InputError(shortened(problems))
    title = raw.get("title", Path(path).stem)
    return Profile(printable(str(title)), values, hashlib.sha256(text.encode()).hexdigest())


def revalued(profile: Profile, changes: dict[str, float]) -> Profile:
    """Return a profile with some of its values changed, their bands carried along.

    Parameters
    ----------
    profile : Profile
    changes : dict, new values by name, SI

    Raises
    ------
    ValueError
        The profile has no value of that name.

    Notes
    -----
    The band keeps its ratio to the value; that of a value which may have either sign, its width.
    """
    values = dict(profile.values)
    for name, value in changes.items():
        if name not in values:
            raise ValueError(f"{name}: the profile has no such value; it has {', '.join(values)}")
        old = values[name]
        low, high = old.low + value - old.value, old.high + value - old.value
        if name not in SIGNED and old.value > 0.0:
            low, high = old.low * value / old.value, old.high * value / old.value
        values[name] = dataclasses.replace(
            old, value=value, low=low, high=high, basis=f"{old.basis}; changed in the case"
        )
    return dataclasses.replace(profile, values=values)


def _value(
    name: str, table: dict[str, Any], where: str, problems: list[str]
) -> ProfileValue | None:
    """Return one value of a profile, complaints added to ``problems``."""
    allowed = ("value", "low", "high", "basis", *_CONDITIONS)
    before = len(problems)
    problems += [
        f"{where}.{key}: {unknown_key(key, allowed)}" for key in table if key not in allowed
    ]
    numbers: dict[str, float] = {}
    for key in ("value", "low", "high", *_CONDITIONS):
        if key not in table:
            if key not in _CONDITIONS:
                problems.append(f"{where}: `{key}` is missing; value, low and high are needed")
            continue
        try:
            numbers[key] = fields.scalar_reader(_CONDITIONS.get(key, VALUES[name]))(table[key])
        except PydanticCustomError as problem:
            problems.append(f"{where}.{key}: {problem.message()}")
    if len(problems) > before:
        return None
    if not numbers["low"] <= numbers["value"] <= numbers["high"]:
        problems.append(f"{where}: low, value and high must rise in this order")
        return None
    return ProfileValue(
        numbers["value"],
        numbers["low"],
        numbers["high"],
        printable(str(table.get("basis", "stated in the profile"))),
        numbers.get("frequency"),
        numbers.get("temperature"),
    )


def unused(profile: Profile, case: Case) -> list[str]:
    """Return the names of a profile's values that the case overrides with its own."""
    material = case.material
    stated = {
        "youngs_modulus": material.youngs_modulus,
        "loss_factor": material.loss_factor
        if material.kelvin_voigt_time is None
        else material.kelvin_voigt_time,
        "density": material.density,
        "temperature_slope": material.temperature_slope,
    }
    names = [name for name in profile.values if stated.get(name) is not None]
    for name in OF_LOADS:
        if name in profile.values and any(getattr(p.loads, name) is not None for p in case.parts):
            names.append(name)
    return names


def has_modulus(case: Case) -> bool:
    """Tell whether the modulus of a case is that of its profile."""
    profile = case.profile
    stated = case.material.youngs_modulus is not None
    return profile is not None and not stated and "youngs_modulus" in profile.values


def refuse_idle(case: Case, varied: Sequence[str]) -> None:
    """Raise InputError where a varied key changes nothing, because a profile stands in for it."""
    for path in varied:
        if has_modulus(case) and path in ("material.durometer", "material.static_factor"):
            raise InputError(
                f"--vary {path}: changes nothing, the modulus is that of the profile; "
                "vary profile_values.youngs_modulus"
            )
