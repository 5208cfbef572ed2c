"""The box of water: its cells, the stream through it and how it ends."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from simsoft.core.errors import SolveError
from simsoft.resolved.collision import equilibrium
from simsoft.resolved.lattice import DIRECTIONS, Real, relaxation_time
from simsoft.resolved.solids import extents

Single = npt.NDArray[np.float32]
Window = tuple[int, int, int, int, int, int]

FIXED, OPEN, PERIODIC = 0.0, 1.0, -1.0  # sides of the box
CALM_STRETCH = 0.12  # of the box's length, before the outlet, where eddies are damped
CALM_VISCOSITY = 0.02  # [cells^2 / step] added at its end
MARGIN = 3  # [cells] of the window around the solids
BYTES_PER_CELL = 2 * DIRECTIONS * 4  # two copies of the populations in single precision


class Domain(NamedTuple):
    """A box of cells with a stream along its first axis, in cells and steps.

    Attributes
    ----------
    shape : (int, int, int), cells along x (stream), y (side) and z (up)
    speed : float, of the stream
    viscosity : float
    smagorinsky : float, constant of the eddy viscosity; zero switches it off
    sides : (float, float), what the sides across y and across z are: FIXED stream, OPEN, a share
        between, or PERIODIC
    window : (int, int, int, int, int, int), first cell and one past the last along x, y and z of
        the box in which solids may be
    """

    shape: tuple[int, int, int]
    speed: float
    viscosity: float
    smagorinsky: float
    sides: tuple[float, float]
    window: Window

    @property
    def cells(self) -> int:
        """Return the number of cells."""
        return self.shape[0] * self.shape[1] * self.shape[2]


def relaxation_profile(domain: Domain) -> Single:
    """Return the relaxation time [steps] of every plane across the stream, array (nx,).

    The viscosity rises toward the outlet, so that eddies leave without an echo.
    """
    nx = domain.shape[0]
    stretch = max(CALM_STRETCH * nx, 1.0)
    into = np.clip((np.arange(nx) - (nx - 1 - stretch)) / stretch, 0.0, 1.0)
    added = CALM_VISCOSITY * into**2
    return np.array([relaxation_time(domain.viscosity + a) for a in added], dtype=np.float32)


def memory(domain: Domain) -> float:
    """Return the memory [bytes] that the populations take."""
    return float(domain.cells * BYTES_PER_CELL)


def uniform(domain: Domain) -> Single:
    """Return the populations of an undisturbed stream, array (19, nz, ny, nx)."""
    nx, ny, nz = domain.shape
    still: Real = np.float32(0.0)
    speed: Real = np.float32(domain.speed)
    values = equilibrium(still, speed, still, still)
    return np.repeat(np.array(values, np.float32), nx * ny * nz).reshape(-1, nz, ny, nx)


def window_of(domain: Domain, forms: Single, poses: Single) -> Window:
    """Return the part of the domain's window that the solids (P, 8) need at all poses (S, P, 18).

    Raises
    ------
    SolveError : a solid leaves the domain's window
    """
    reach = extents(forms, poses[..., 3:12].reshape(*poses.shape[:2], 3, 3))
    bounds = []
    for axis in range(3):
        first, last = domain.window[2 * axis : 2 * axis + 2]
        low = float((poses[..., axis] - reach[..., axis]).min())
        high = float((poses[..., axis] + reach[..., axis]).max())
        if np.isnan(low) or np.isnan(high):
            raise SolveError("the motion of a part is not finite")
        if np.isinf(low):
            bounds += [first, last]
            continue
        below, above = math.floor(low) - MARGIN, math.ceil(high) + MARGIN + 1
        if below < first or above > last:
            raise SolveError("a part meets the walls of the domain")
        bounds += [below, above]
    x0, x1, y0, y1, z0, z1 = bounds
    return x0, x1, y0, y1, z0, z1
