"""The base of the case's tables, and the plainest of them."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict

from simsoft.case import readers
from simsoft.case.readers import FileName, Switch, Text


class TableModel(BaseModel):
    """Base of all tables: unknown keys are refused, nothing is converted silently."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class LoadsTable(TableModel):
    """``[parts.loads]``: switches and coefficients of one part."""

    normal_drag: Annotated[float, readers.number("loads.normal_drag")] | None = None
    skin_friction: Annotated[float, readers.number("loads.skin_friction")] | None = None
    reactive: Switch = True
    added_mass: Switch = True
    finite_span: Switch = True
    shedding: Switch | None = None
    paddle_normal_force: Annotated[float, readers.number("loads.paddle_normal_force")] | None = None
    centre_of_pressure: Annotated[float, readers.number("loads.centre_of_pressure")] | None = None
    rotary_damping: Annotated[float, readers.number("loads.rotary_damping")] | None = None
    strouhal: Annotated[float, readers.number("loads.strouhal")] | None = None
    wake_growth: Annotated[float, readers.number("loads.wake_growth")] | None = None
    wake_moment: Annotated[float, readers.number("loads.wake_moment")] | None = None
    munk: Annotated[float, readers.number("loads.munk")] | None = None
    rim_force: Annotated[float, readers.number("loads.rim_force")] | None = None
    rim_rate: Annotated[float, readers.number("loads.rim_rate")] | None = None
    rim_damping: Annotated[float, readers.number("loads.rim_damping")] | None = None
    rim_inertia: Annotated[float, readers.number("loads.rim_inertia")] | None = None
    force_growth: Annotated[float, readers.number("loads.force_growth")] | None = None
    stall_angle: Annotated[float, readers.number("loads.stall_angle")] | None = None


class NumericsTable(TableModel):
    """``[numerics]``: discretisation asked for by the user."""

    elements: Annotated[int, readers.whole("numerics.elements")] | None = None
    step: Annotated[float, readers.number("numerics.step")] | None = None


class ToleranceTable(TableModel):
    """``[tolerance]``: input scatter, one standard deviation."""

    hardness: Annotated[float, readers.number("tolerance.hardness")] | None = None
    thickness: Annotated[float, readers.number("tolerance.thickness")] | None = None
    modulus: Annotated[float, readers.number("tolerance.modulus")] | None = None
    density: Annotated[float, readers.number("tolerance.density")] | None = None
    temperature: Annotated[float, readers.number("tolerance.temperature")] | None = None
    speed: Annotated[float, readers.number("tolerance.speed")] | None = None
    set_angle: Annotated[float, readers.number("tolerance.set_angle")] | None = None


class DrawnTable(TableModel):
    """``[drawn]``: the mesh that the sizes were read from; `simsoft cad` goes back to it."""

    mesh: FileName
    digest: Text
    unit: Text
    nose: Text | None = None
    up: Text | None = None
