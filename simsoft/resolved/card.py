"""The flow on a graphics card: the same cells as on the processor, one thread each.

Loads are added up as whole numbers, so that the order in which threads come makes no difference
and a run repeats to the bit.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import cuda as numba_cuda
from numba import float32, int64

from simsoft.core.errors import InputError
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
from simsoft.resolved.domain import Domain, relaxation_profile, uniform, window_of
from simsoft.resolved.lattice import DIRECTIONS, Real
from simsoft.resolved.processor import Loads
from simsoft.resolved.solids import ONE, ZERO, Single, nearest_solid, wall_velocity

cuda: Any = numba_cuda
Cells = tuple[int, int, int]  # along x, y and z

WARP = 32  # threads that go together
MOST_THREADS = 256  # of a block that works on a row
NEAR_BLOCK = (32, 4, 1)
MOST_SOLIDS = 256
UNITS = 2.0**40  # whole numbers to one lattice unit of force


@cuda.jit
def step_clean_on_card(
    source: Any,
    result: Any,
    times: Any,
    smagorinsky: Real,
    speed: Real,
    side_y: Real,
    side_z: Real,
) -> None:
    """Stream and collide every inner cell as if there were no solids; set those on the faces."""
    x = cuda.threadIdx.x + cuda.blockIdx.x * cuda.blockDim.x
    y, z = cuda.blockIdx.y, cuda.blockIdx.z
    nz, ny, nx = source.shape[1], source.shape[2], source.shape[3]
    if x >= nx:
        return
    if x == 0 or x == nx - 1:
        edge_cell(source, result, z, y, x, speed, ZERO if x == 0 else ONE)
        return
    side = ONE
    if y == 0 or y == ny - 1:
        side = side_y
    elif z == 0 or z == nz - 1:
        side = side_z
    if y == 0 or y == ny - 1 or z == 0 or z == nz - 1:
        if side >= ZERO:
            edge_cell(source, result, z, y, x, speed, side)
        return
    streamed = (
        source[0, z, y, x], source[1, z, y, x - 1], source[2, z, y, x + 1],
        source[3, z, y - 1, x], source[4, z, y + 1, x], source[5, z - 1, y, x],
        source[6, z + 1, y, x], source[7, z, y - 1, x - 1], source[8, z, y + 1, x + 1],
        source[9, z, y + 1, x - 1], source[10, z, y - 1, x + 1], source[11, z - 1, y, x - 1],
        source[12, z + 1, y, x + 1], source[13, z + 1, y, x - 1], source[14, z - 1, y, x + 1],
        source[15, z - 1, y - 1, x], source[16, z + 1, y + 1, x], source[17, z + 1, y - 1, x],
        source[18, z - 1, y + 1, x],
    )  # fmt: skip
    fill_cell(result, z, y, x, collide(streamed, times[x], smagorinsky))


@cuda.jit
def join_sides(result: Any, side_y: Real, side_z: Real) -> None:
    """Copy the faces of periodic sides from the cells they stand for."""
    x = cuda.threadIdx.x + cuda.blockIdx.x * cuda.blockDim.x
    y, z = cuda.blockIdx.y, cuda.blockIdx.z
    nz, ny, nx = result.shape[1], result.shape[2], result.shape[3]
    if x < 1 or x >= nx - 1:
        return
    from_y, from_z = y, z
    if side_y < ZERO:
        from_y = ny - 2 if y == 0 else 1 if y == ny - 1 else y
    if side_z < ZERO:
        from_z = nz - 2 if z == 0 else 1 if z == nz - 1 else z
    if from_y != y or from_z != z:
        for i in range(DIRECTIONS):
            result[i, z, y, x] = result[i, from_z, from_y, x]


@cuda.jit
def shift_cells_on_card(source: Any, result: Any, dx: int, dy: int, dz: int) -> None:
    """Move the box over the water by whole cells; see ``processor.shift_cells``."""
    x = cuda.threadIdx.x + cuda.blockIdx.x * cuda.blockDim.x
    y, z = cuda.blockIdx.y, cuda.blockIdx.z
    nz, ny, nx = source.shape[1], source.shape[2], source.shape[3]
    if x >= nx:
        return
    from_x = min(max(x + dx, 0), nx - 1)
    from_y = min(max(y + dy, 0), ny - 1)
    from_z = min(max(z + dz, 0), nz - 1)
    for i in range(DIRECTIONS):
        result[i, z, y, x] = source[i, from_z, from_y, from_x]


@cuda.jit
def mark_on_card(
    forms: Any, poses: Any, step: int, table: Any, x0: int, y0: int, z0: int, distance: Any,
    owner: Any, nx: int, ny: int, nz: int,
) -> None:  # fmt: skip
    """Write the distance to the nearest solid and which it is; see ``processor.mark``."""
    i, j, k = cuda.grid(3)
    if k >= nz or j >= ny or i >= nx:
        return
    found, which = nearest_solid(
        float32(x0 - 1 + i), float32(y0 - 1 + j), float32(z0 - 1 + k), forms, poses[step], table
    )
    distance[k, j, i] = found
    owner[k, j, i] = which


@cuda.jit
def step_near_on_card(
    source: Any, result: Any, times: Any, smagorinsky: Real, corner: Cells, cells: Cells,
    distance: Any, owner: Any, poses: Any, step: int, loads: Any,
) -> None:  # fmt: skip
    """Do the cells in and beside solids again; add the loads (P, 6) as whole numbers.

    ``corner`` is the first cell of the window along x, y and z, ``cells`` how many it holds.
    """
    x0, y0, z0 = corner
    nx, ny, nz = cells
    shared = cuda.shared.array((MOST_SOLIDS, 6), int64)
    lane = cuda.threadIdx.x + cuda.blockDim.x * cuda.threadIdx.y
    lanes = cuda.blockDim.x * cuda.blockDim.y
    count = loads.shape[0] * 6
    for n in range(lane, count, lanes):
        shared[n // 6, n % 6] = 0
    cuda.syncthreads()
    i, j, k = cuda.grid(3)
    k, j, i = k + 1, j + 1, i + 1
    if k <= nz and j <= ny and i <= nx:
        here = distance[k, j, i]
        if here <= NEAR:
            z, y, x = z0 + k - 1, y0 + j - 1, x0 + i - 1
            if here > ZERO:
                h = cuda.local.array(DIRECTIONS, float32)
                for n in range(DIRECTIONS):
                    h[n] = source[n, z - CZ[n], y - CY[n], x - CX[n]]
                for n in range(1, DIRECTIONS):
                    if distance[k - CZ[n], j - CY[n], i - CX[n]] <= ZERO:
                        which = owner[k - CZ[n], j - CY[n], i - CX[n]]
                        link = wall_link(source, z, y, x, n, distance, k, j, i, poses[step, which])
                        h[n] = link[0]
                        for c in range(6):
                            cuda.atomic.add(shared, (which, c), int64(link[1 + c] * UNITS))
                fill_cell(result, z, y, x, collide_list(h, times[x], smagorinsky))
            else:
                rho = ZERO
                for n in range(DIRECTIONS):
                    rho += source[n, z - CZ[n], y - CY[n], x - CX[n]]
                ux, uy, uz = wall_velocity(
                    float32(x), float32(y), float32(z), poses[step, owner[k, j, i]]
                )
                fill_cell(result, z, y, x, equilibrium(rho, ux, uy, uz))
    cuda.syncthreads()
    for n in range(lane, count, lanes):
        if shared[n // 6, n % 6] != 0:
            cuda.atomic.add(loads, (n // 6, n % 6), shared[n // 6, n % 6])


def _blocks(cells: Cells, block: Cells) -> Cells:
    """Return how many blocks of threads cover cells along x, y and z."""
    x, y, z = (-(-c // b) for c, b in zip(cells, block, strict=True))
    return x, y, z


def row_block(nx: int) -> tuple[int, int, int]:
    """Return a block of threads along x that leaves as few of them idle as can be."""
    blocks = -(-nx // MOST_THREADS)
    return (WARP * -(-nx // (blocks * WARP)), 1, 1)


class CardFlow:
    """The flow on the card; see ``flow.Flow`` for what it must do."""

    def __init__(self, domain: Domain, forms: Single, table: Single) -> None:
        nx, ny, nz = domain.shape
        if len(forms) > MOST_SOLIDS:
            raise InputError(
                [f"a card takes up to {MOST_SOLIDS} solids, here are {len(forms)}: fewer elements, "
                 "or --device cpu, will do"]
            )  # fmt: skip
        self.domain = domain
        self.solids = len(forms)
        self.solid_forms = forms
        self.smagorinsky = np.float32(domain.smagorinsky**2)
        self.speed = np.float32(domain.speed)
        self.sides = tuple(np.float32(side) for side in domain.sides)
        start = uniform(domain)
        self.source = cuda.to_device(start)
        self.result = cuda.to_device(start)
        self.times = cuda.to_device(relaxation_profile(domain))
        self.forms = cuda.to_device(forms)
        self.table = cuda.to_device(table)
        x0, x1, y0, y1, z0, z1 = domain.window
        inner = (x1 - x0, y1 - y0, z1 - z0)
        around = (inner[0] + 2, inner[1] + 2, inner[2] + 2)
        self.distance = cuda.device_array(around[::-1], np.float32)
        self.owner = cuda.device_array(around[::-1], np.int16)
        self.loads = cuda.to_device(np.zeros((self.solids, 6), np.int64))
        self.none = np.zeros((self.solids, 6), np.int64)
        row = row_block(nx)
        self.clean = step_clean_on_card[_blocks((nx, ny, nz), row), row]
        self.join = join_sides[_blocks((nx, ny, nz), row), row]
        self.move = shift_cells_on_card[_blocks((nx, ny, nz), row), row]

    def advance(self, poses: Single) -> Loads:
        """Take one step for each of the poses (S, P, 18); return the mean loads (P, 6)."""
        x0, x1, y0, y1, z0, z1 = window_of(self.domain, self.solid_forms, poses)
        inner = (x1 - x0, y1 - y0, z1 - z0)
        around = (inner[0] + 2, inner[1] + 2, inner[2] + 2)
        mark_here = mark_on_card[_blocks(around, NEAR_BLOCK), NEAR_BLOCK]
        near_here = step_near_on_card[_blocks(inner, NEAR_BLOCK), NEAR_BLOCK]
        on_card = cuda.to_device(poses)
        self.loads.copy_to_device(self.none)
        for step in range(len(poses)):
            mark_here(
                self.forms, on_card, step, self.table, x0, y0, z0, self.distance, self.owner,
                *around,
            )  # fmt: skip
            self.clean(
                self.source, self.result, self.times, self.smagorinsky, self.speed, *self.sides
            )
            near_here(
                self.source, self.result, self.times, self.smagorinsky, (x0, y0, z0), inner,
                self.distance, self.owner, on_card, step, self.loads,
            )  # fmt: skip
            if min(self.sides) < 0.0:
                self.join(self.result, *self.sides)
            self.source, self.result = self.result, self.source
        mean: Loads = self.loads.copy_to_host() / (UNITS * len(poses))
        return mean

    def shift(self, cells: tuple[int, int, int]) -> None:
        """Move the box over the water by whole cells along x, y and z."""
        self.move(self.source, self.result, *cells)
        self.source, self.result = self.result, self.source

    def populations(self) -> Single:
        """Return the populations less their weights, array (19, nz, ny, nx)."""
        held: Single = self.source.copy_to_host()
        return held

    def restore(self, populations: Single) -> None:
        """Go on from populations kept earlier."""
        self.source.copy_to_device(np.ascontiguousarray(populations))
