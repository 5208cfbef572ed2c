"""What the case's tables are made of: the base of all, readers by key, and the plainest tables."""

from __future__ import annotations

from typing import Annotated, get_args

from pydantic import BaseModel, ConfigDict, PlainValidator

from simsoft.case import fields


def number(key: str) -> PlainValidator:
    """Return the reader of one number of the table of limits."""
    return PlainValidator(fields.scalar(key))


def words(kind: object) -> PlainValidator:
    """Return the reader of one word out of a closed list."""
    return PlainValidator(fields.choice(get_args(kind)))


class Table(BaseModel):
    """Base of all tables: unknown keys are refused, nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class NumericsTable(Table):
    """``[numerics]``: discretisation asked for by the user."""

    elements: Annotated[int, PlainValidator(fields.whole("numerics.elements"))] | None = None
    step: Annotated[float, number("numerics.step")] | None = None


class ToleranceTable(Table):
    """``[tolerance]``: input scatter, one standard deviation."""

    hardness: Annotated[float, number("tolerance.hardness")] | None = None
    thickness: Annotated[float, number("tolerance.thickness")] | None = None
    modulus: Annotated[float, number("tolerance.modulus")] | None = None
    density: Annotated[float, number("tolerance.density")] | None = None
    temperature: Annotated[float, number("tolerance.temperature")] | None = None
    speed: Annotated[float, number("tolerance.speed")] | None = None
    set_angle: Annotated[float, number("tolerance.set_angle")] | None = None


class DrawnTable(Table):
    """``[drawn]``: the mesh that the sizes were read from; `simsoft cad` goes back to it."""

    mesh: Annotated[str, PlainValidator(fields.file_name)]
    digest: Annotated[str, PlainValidator(fields.title)]
    unit: Annotated[str, PlainValidator(fields.title)]
    nose: Annotated[str, PlainValidator(fields.title)] | None = None
    up: Annotated[str, PlainValidator(fields.title)] | None = None
