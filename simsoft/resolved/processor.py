"""The flow on the cores of a processor.

Clean cells are taken in runs of ``RUN`` that are copied into a buffer of fixed strides: only so
does the compiler see that it may work on eight or sixteen cells at once. Cells next to solids are
then done again one by one, in the window that holds the solids.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numba import prange

from simsoft.core.compiled import kernel, lean_kernel
from simsoft.resolved.cells import (
    CX,
    CY,
    CZ,
    NEAR,
    collide_list,
    edge_cell,
    fill_cell,
    wall_link,
)
from simsoft.resolved.collision import collide, equilibrium
from simsoft.resolved.domain import Domain, Window, relaxation_profile, uniform, window_of
from simsoft.resolved.lattice import DIRECTIONS, Real
from simsoft.resolved.solids import ONE, ZERO, Single, nearest_solid, wall_velocity

Loads = npt.NDArray[np.float64]
Owners = npt.NDArray[np.int16]

RUN = 64  # cells of a row taken at once


@lean_kernel()
def collide_run(b: Single, times: Single, smagorinsky: Real) -> None:
    """Collide a run of cells in place; ``b`` holds RUN values of each population in turn."""
    for x in range(RUN):
        streamed = (
            b[x], b[x + RUN], b[x + 2 * RUN], b[x + 3 * RUN], b[x + 4 * RUN], b[x + 5 * RUN],
            b[x + 6 * RUN], b[x + 7 * RUN], b[x + 8 * RUN], b[x + 9 * RUN], b[x + 10 * RUN],
            b[x + 11 * RUN], b[x + 12 * RUN], b[x + 13 * RUN], b[x + 14 * RUN],
            b[x + 15 * RUN], b[x + 16 * RUN], b[x + 17 * RUN], b[x + 18 * RUN],
        )  # fmt: skip
        h = collide(streamed, times[x], smagorinsky)
        b[x] = h[0]
        b[x + RUN] = h[1]
        b[x + 2 * RUN] = h[2]
        b[x + 3 * RUN] = h[3]
        b[x + 4 * RUN] = h[4]
        b[x + 5 * RUN] = h[5]
        b[x + 6 * RUN] = h[6]
        b[x + 7 * RUN] = h[7]
        b[x + 8 * RUN] = h[8]
        b[x + 9 * RUN] = h[9]
        b[x + 10 * RUN] = h[10]
        b[x + 11 * RUN] = h[11]
        b[x + 12 * RUN] = h[12]
        b[x + 13 * RUN] = h[13]
        b[x + 14 * RUN] = h[14]
        b[x + 15 * RUN] = h[15]
        b[x + 16 * RUN] = h[16]
        b[x + 17 * RUN] = h[17]
        b[x + 18 * RUN] = h[18]


@lean_kernel()
def stream_run(source: Single, z: int, y: int, x0: int, b: Single) -> None:
    """Copy what streams into a run of cells that begins at ``x0`` into the buffer."""
    for i in range(DIRECTIONS):
        row = source[i, z - CZ[i], y - CY[i]]
        first = x0 - CX[i]
        for x in range(RUN):
            b[i * RUN + x] = row[first + x]


@lean_kernel()
def store_run(b: Single, z: int, y: int, x0: int, result: Single) -> None:
    """Copy a run of cells from the buffer to its place."""
    for i in range(DIRECTIONS):
        row = result[i, z, y]
        for x in range(RUN):
            row[x0 + x] = b[i * RUN + x]


@kernel(parallel=True)
def step_clean(source: Single, result: Single, times: Single, smagorinsky: Real) -> None:
    """Stream and collide every inner cell as if there were no solids.

    The last run of a row is set back, so that it ends with the row: its first cells are done
    twice, with the same outcome.
    """
    _, nz, ny, nx = source.shape
    for plane in prange(nz - 2):
        z = plane + 1
        b = np.empty(DIRECTIONS * RUN, np.float32)
        for y in range(1, ny - 1):
            x0 = 1
            while x0 < nx - 1:
                first = min(x0, nx - 1 - RUN)
                stream_run(source, z, y, first, b)
                collide_run(b, times[first : first + RUN], smagorinsky)
                store_run(b, z, y, first, result)
                x0 += RUN


@kernel()
def step_edges(source: Single, result: Single, speed: Real, side_y: Real, side_z: Real) -> None:
    """Set the cells on the six faces of the box; sides are those of ``Domain``."""
    nz, ny, nx = source.shape[1:]
    for z in range(nz):
        for y in range(ny):
            edge_cell(source, result, z, y, 0, speed, ZERO)
            edge_cell(source, result, z, y, nx - 1, speed, ONE)
    for x in range(1, nx - 1):
        for z in range(1, nz - 1):
            if side_y < ZERO:
                for i in range(DIRECTIONS):
                    result[i, z, 0, x] = result[i, z, ny - 2, x]
                    result[i, z, ny - 1, x] = result[i, z, 1, x]
            else:
                edge_cell(source, result, z, 0, x, speed, side_y)
                edge_cell(source, result, z, ny - 1, x, speed, side_y)
        for y in range(ny):
            if side_z < ZERO:
                for i in range(DIRECTIONS):
                    result[i, 0, y, x] = result[i, nz - 2, y, x]
                    result[i, nz - 1, y, x] = result[i, 1, y, x]
            else:
                edge_cell(source, result, 0, y, x, speed, side_z)
                edge_cell(source, result, nz - 1, y, x, speed, side_z)


@kernel(parallel=True)
def mark(
    forms: Single, poses: Single, table: Single, window: Window, distance: Single, owner: Owners
) -> None:
    """Write the distance to the nearest solid, and which it is, for the cells of a window.

    Both arrays begin one cell before the window and are filled to one cell beyond it.
    """
    nx, ny, nz = window[1] - window[0] + 2, window[3] - window[2] + 2, window[5] - window[4] + 2
    for k in prange(nz):
        z = np.float32(window[4] - 1 + k)
        for j in range(ny):
            y = np.float32(window[2] - 1 + j)
            for i in range(nx):
                found, which = nearest_solid(
                    np.float32(window[0] - 1 + i), y, z, forms, poses, table
                )
                distance[k, j, i] = found
                owner[k, j, i] = which


@lean_kernel()
def near_cell(
    source: Single, z: int, y: int, x: int, distance: Single, owner: Owners, k: int, j: int, i: int,
    poses: Single, h: Single, load: Loads,
) -> None:  # fmt: skip
    """Stream into a fluid cell beside solids; write its populations, add what it gives them.

    ``load`` (P, 6) takes force and moment about each solid's centre, in lattice units.
    """
    for n in range(DIRECTIONS):
        h[n] = source[n, z - CZ[n], y - CY[n], x - CX[n]]
    for n in range(1, DIRECTIONS):
        if distance[k - CZ[n], j - CY[n], i - CX[n]] > ZERO:
            continue
        which = owner[k - CZ[n], j - CY[n], i - CX[n]]
        link = wall_link(source, z, y, x, n, distance, k, j, i, poses[which])
        h[n] = link[0]
        for c in range(6):
            load[which, c] += link[1 + c]


@kernel(parallel=True)
def step_near(
    source: Single, result: Single, times: Single, smagorinsky: Real, window: Window,
    distance: Single, owner: Owners, poses: Single, loads: Loads,
) -> None:  # fmt: skip
    """Do the cells in and beside solids again; write the loads of each plane (nz, P, 6).

    A cell inside a solid moves with it and takes its density from what streams in, so that it
    is ready when the solid uncovers it.
    """
    for k in prange(window[5] - window[4]):
        z = window[4] + k
        load = loads[k]
        load[:] = 0.0
        h = np.empty(DIRECTIONS, np.float32)
        for j in range(window[3] - window[2]):
            y = window[2] + j
            for i in range(window[1] - window[0]):
                x = window[0] + i
                here = distance[k + 1, j + 1, i + 1]
                if here > NEAR:
                    continue
                if here > ZERO:
                    near_cell(source, z, y, x, distance, owner, k + 1, j + 1, i + 1, poses, h, load)
                    fill_cell(result, z, y, x, collide_list(h, times[x], smagorinsky))
                    continue
                rho = ZERO
                for n in range(DIRECTIONS):
                    rho += source[n, z - CZ[n], y - CY[n], x - CX[n]]
                ux, uy, uz = wall_velocity(
                    np.float32(x), np.float32(y), np.float32(z), poses[owner[k + 1, j + 1, i + 1]]
                )
                fill_cell(result, z, y, x, equilibrium(rho, ux, uy, uz))


@kernel(parallel=True)
def shift_cells(source: Single, result: Single, dx: int, dy: int, dz: int) -> None:
    """Move the box over the water by whole cells; what comes in is like the cell at the face."""
    count, nz, ny, nx = source.shape
    for z in prange(nz):
        from_z = min(max(z + dz, 0), nz - 1)
        for i in range(count):
            for y in range(ny):
                row = source[i, from_z, min(max(y + dy, 0), ny - 1)]
                for x in range(nx):
                    result[i, z, y, x] = row[min(max(x + dx, 0), nx - 1)]


class ProcessorFlow:
    """The flow and its two copies of the populations; see ``flow.Flow`` for what it must do."""

    def __init__(self, domain: Domain, forms: Single, table: Single) -> None:
        self.domain = domain
        self.forms = forms
        self.table = table
        self.times = relaxation_profile(domain)
        self.smagorinsky = np.float32(domain.smagorinsky**2)
        self.speed = np.float32(domain.speed)
        self.sides: tuple[Real, ...] = tuple(np.float32(side) for side in domain.sides)
        self.source = uniform(domain)
        self.result = self.source.copy()
        x0, x1, y0, y1, z0, z1 = domain.window
        around = (z1 - z0 + 2, y1 - y0 + 2, x1 - x0 + 2)
        self.distance = np.empty(around, np.float32)
        self.owner = np.empty(around, np.int16)
        self.plane_loads = np.zeros((z1 - z0, len(forms), 6))

    def advance(self, poses: Single) -> Loads:
        """Take one step for each of the poses (S, P, 18); return the mean loads (P, 6)."""
        total = np.zeros((len(self.forms), 6))
        window = window_of(self.domain, self.forms, poses)
        planes = window[5] - window[4]
        for pose in poses:
            args = (self.source, self.result)
            mark(self.forms, pose, self.table, window, self.distance, self.owner)
            step_clean(*args, self.times, self.smagorinsky)
            step_near(
                *args, self.times, self.smagorinsky, window, self.distance, self.owner, pose,
                self.plane_loads,
            )  # fmt: skip
            step_edges(*args, self.speed, *self.sides)
            total += self.plane_loads[:planes].sum(axis=0)
            self.source, self.result = self.result, self.source
        return total / len(poses)

    def shift(self, cells: tuple[int, int, int]) -> None:
        """Move the box over the water by whole cells along x, y and z."""
        shift_cells(self.source, self.result, *cells)
        self.source, self.result = self.result, self.source

    def populations(self) -> Single:
        """Return the populations less their weights, array (19, nz, ny, nx)."""
        return self.source

    def restore(self, populations: Single) -> None:
        """Go on from populations kept earlier."""
        self.source[...] = populations
