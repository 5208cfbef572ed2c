"""The speed of the flow in the plane in which a tail beats, at a few moments of a run."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.resolved.lattice import AXIS_X, AXIS_Y, AXIS_Z
from simsoft.resolved.run import Grid, Point, origin_of
from simsoft.resolved.sheet import SoftSheet
from simsoft.resolved.solids import Single


class Slice(NamedTuple):
    """One moment.

    Attributes
    ----------
    time : float [s]
    x : array (nx,), y : array (ny,) [m]; height : float [m], of the plane
    speed : array (ny, nx), over that of the stream
    centres : array (P, 3) [m], of the solids, of a sheet its middle line and once more its tip
    kick : array (P, 3), axis across the paddle
    """

    time: float
    x: Array
    y: Array
    height: float
    speed: Array
    centres: Array
    kick: Array


def speed_in_plane(populations: Single, plane: int) -> Array:
    """Return the speed [cells / step] in a plane of constant height, array (ny, nx)."""
    here = populations[:, plane].astype(float)
    density = 1.0 + here.sum(axis=0)
    parts = [
        np.tensordot(np.array(axis, dtype=float), here, axes=1) / density
        for axis in (AXIS_X, AXIS_Y, AXIS_Z)
    ]
    speed: Array = np.sqrt(parts[0] ** 2 + parts[1] ** 2 + parts[2] ** 2)
    return speed


def slice_of(
    grid: Grid, point: Point, populations: Single, sheet: SoftSheet | None = None
) -> Slice:
    """Return the slice through the last solid, or a sheet's tip, at the last row of a history."""
    row = point.row - 1
    centres, kick = point.history.centre[row], point.history.axes[row, :, :, 0]
    if sheet is not None and point.sheet is not None:
        nodes = np.append(sheet.marks[:, 0], sheet.marks[-1, 0])
        centres = sheet.root + point.sheet.motion[0][nodes, :3]
        kick = np.zeros_like(centres)
    nx, ny, nz = grid.domain.shape
    height = float(centres[-1, 2])
    origin = origin_of(grid, point.loose)
    plane = int(np.clip(round((height - origin[2]) / grid.cell), 1, nz - 2))
    return Slice(
        time=float(point.history.time[row]),
        x=origin[0] + grid.cell * np.arange(nx),
        y=origin[1] + grid.cell * np.arange(ny),
        height=height,
        speed=speed_in_plane(populations, plane) / grid.domain.speed,
        centres=centres.copy(),
        kick=kick.copy(),
    )
