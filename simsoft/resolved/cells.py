"""What is done to one cell, for the processor and for a graphics card alike."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.core.compiled import lean_kernel
from simsoft.resolved.collision import collide, equilibrium
from simsoft.resolved.lattice import AXIS_X, AXIS_Y, AXIS_Z, DIRECTIONS, OPPOSITE, Real
from simsoft.resolved.lattice import weights as lattice_weights
from simsoft.resolved.solids import ZERO, Single, wall_velocity
from simsoft.resolved.walls import bounced, wall_share

NEAR = np.float32(2.0)  # [cells] a wall further away cuts no link
CX, CY, CZ = (np.array(axis, dtype=np.int32) for axis in (AXIS_X, AXIS_Y, AXIS_Z))
BACK = np.array(OPPOSITE, dtype=np.int32)
WEIGHT = lattice_weights()


@lean_kernel()
def cell_moments(source: Single, z: int, y: int, x: int) -> tuple[Real, Real, Real, Real]:
    """Return density less one and velocity [cells / step] of a cell."""
    rho = jx = jy = jz = np.float32(0.0)
    for i in range(DIRECTIONS):
        h = source[i, z, y, x]
        rho += h
        jx += np.float32(CX[i]) * h
        jy += np.float32(CY[i]) * h
        jz += np.float32(CZ[i]) * h
    inverse = np.float32(1.0) / (np.float32(1.0) + rho)
    return rho, jx * inverse, jy * inverse, jz * inverse


@lean_kernel()
def fill_cell(result: Single, z: int, y: int, x: int, h: Any) -> None:
    """Write a tuple of 19 populations into a cell."""
    for i, value in enumerate(h):
        result[i, z, y, x] = value


@lean_kernel()
def edge_cell(
    source: Single, result: Single, z: int, y: int, x: int, speed: Real, share: Real
) -> None:
    """Set a cell on a face of the box to the stream, or by a share to what is beside it.

    ``share`` 0 keeps the stream, 1 lets the flow pass as it comes. Density is that of still water
    in any case, so that sound leaves the box.
    """
    nz, ny, nx = source.shape[1:]
    near_z, near_y = min(max(z, 1), nz - 2), min(max(y, 1), ny - 2)
    _, ux, uy, uz = cell_moments(source, near_z, near_y, min(max(x, 1), nx - 2))
    ux = speed + share * (ux - speed)
    fill_cell(result, z, y, x, equilibrium(ZERO, ux, share * uy, share * uz))


@lean_kernel()
def collide_list(h: Single, time: Real, smagorinsky: Real) -> Any:
    """Return the collision of populations given as an array (19,)."""
    populations = (
        h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8], h[9], h[10], h[11], h[12], h[13],
        h[14], h[15], h[16], h[17], h[18],
    )  # fmt: skip
    return collide(populations, time, smagorinsky)


@lean_kernel()
def wall_link(
    source: Single, z: int, y: int, x: int, n: int, distance: Single, k: int, j: int, i: int,
    pose: Single,
) -> tuple[Real, Real, Real, Real, Real, Real, Real]:  # fmt: skip
    """Return what comes back along velocity ``n`` from a solid, and force and moment on it.

    The moment is about the solid's centre; all in lattice units.
    """
    here, there = distance[k, j, i], distance[k - CZ[n], j - CY[n], i - CX[n]]
    m = BACK[n]
    share = wall_share(here, there)
    cx, cy, cz = np.float32(CX[m]), np.float32(CY[m]), np.float32(CZ[m])
    px, py, pz = np.float32(x), np.float32(y), np.float32(z)
    px, py, pz = px + share * cx, py + share * cy, pz + share * cz
    ux, uy, uz = wall_velocity(px, py, pz, pose)
    towards, away = source[m, z, y, x], source[n, z, y, x]
    clear = distance[k + CZ[n], j + CY[n], i + CX[n]] > ZERO
    arriving = source[m, z + CZ[n], y + CY[n], x + CX[n]]
    push = WEIGHT[n] * (cx * ux + cy * uy + cz * uz)
    back = bounced(towards, arriving, away, share, clear, push)
    both, gone = towards + back, towards - back
    fx, fy, fz = cx * both - ux * gone, cy * both - uy * gone, cz * both - uz * gone
    px, py, pz = px - pose[0], py - pose[1], pz - pose[2]
    return back, fx, fy, fz, py * fz - pz * fy, pz * fx - px * fz, px * fy - py * fx
