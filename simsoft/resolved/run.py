"""One run of the resolved flow: the box laid out, the march, and its history."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple, Protocol

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.mechanics.rod import Rod
from simsoft.resolved.coupling import (
    HeldRod,
    Places,
    between,
    loads_on_links,
    remember,
    ride,
    single,
    small_rotation,
    start_held,
    step_held,
)
from simsoft.resolved.domain import PERIODIC, Domain
from simsoft.resolved.free_body import (
    FreeBody,
    Loose,
    follow_home,
    ran_away,
    remember_loose,
    ride_loose,
    start_loose,
    step_loose,
)
from simsoft.resolved.job import Job, Settings, forced_offset, ramped
from simsoft.resolved.pieces import CLAMP, in_cells
from simsoft.resolved.sheet import (
    HeldSheet,
    SoftSheet,
    released,
    remember_sheet,
    ride_sheet,
    start_sheet,
    step_sheet,
)
from simsoft.resolved.solids import BODY, Single, extents

LEAST_CELLS = 68  # along the stream: one run of cells that the processor takes at once
GRAIN = 32  # cells along the stream come in whole multiples of it, which suits a card
WINDOW_GAP = 2  # [cells] between the window of the solids and the faces of the box
WINDOW_MARGIN = 6  # [cells] around the solids
RUNAWAY = 0.5  # [cells / step] of a free body, close to sound: no fall is that fast
ASIDE = 3.0  # [size] to the side that a tail may reach; a longer one half its length
REAR = 2.5  # [size] of water behind what a tail may reach
CLEAR = 2.0  # [size] of water ahead of a body at the least


class FlowSolver(Protocol):
    """A flow on some device: what a march asks of it."""

    def advance(self, poses: Single) -> Array:
        """Take one step for each of the poses (S, P, 18); return the mean loads (P, 6)."""

    def shift(self, cells: tuple[int, int, int]) -> None:
        """Move the box over the water by whole cells along x, y and z."""

    def populations(self) -> Single:
        """Return the populations less their weights, array (19, nz, ny, nx)."""

    def restore(self, populations: Single) -> None:
        """Go on from populations kept earlier."""


MakeFlow = Callable[[Domain, Single, Single], FlowSolver]


class Grid(NamedTuple):
    """How the box of cells lies in the world.

    Attributes
    ----------
    domain : Domain
    origin : array (3,) [m], middle of the first cell
    cell : float [m]; tick : float [s], a step of the flow
    """

    domain: Domain
    origin: Array
    cell: float
    tick: float


class History(NamedTuple):
    """What a run recorded, a row a step of the rod.

    Attributes
    ----------
    time : array (R,) [s]
    load : array (R, P, 6) [N], [N m], force and moment about each solid's centre, world axes
    centre : array (R, P, 3) [m]; axes : array (R, P, 3, 3); of the solids
    tangent : array (R, 3), of the tip of rod or sheet, zero where there is none
    clamp : array (R, 6) [N m], [N], of the clamp on the rod, clamp frame; on the sheet in the world
    ratio : array (R,), speed ratio of a ramp
    """

    time: Array
    load: Array
    centre: Array
    axes: Array
    tangent: Array
    clamp: Array
    ratio: Array


def bounds_of(job: Job) -> tuple[Array, Array]:
    """Return the lowest and highest corner (3,) [m] of where the solids of a job may come."""
    low = high = job.centre
    fixed = job.pieces.link == CLAMP
    if fixed.any():
        around = extents(job.pieces.forms[fixed], job.pieces.axes[fixed])
        around = np.where(np.isfinite(around), around, 0.0)
        low = np.minimum(low, (job.pieces.offset[fixed] - around).min(axis=0))
        high = np.maximum(high, (job.pieces.offset[fixed] + around).max(axis=0))
    if not fixed.all():
        ridden = np.linalg.norm(job.pieces.offset, axis=1)[~fixed] + job.pieces.forms[~fixed, 7]
        arm = float(ridden.max()) + (0.0 if job.rod is None else float(job.rod.length.sum()))
        if job.sheet is not None:
            arm += float(np.linalg.norm(job.sheet.state[:, :3], axis=1).max())
        reach = np.array([arm, *2 * [min(arm, max(ASIDE * job.size, 0.5 * arm))]])
        low, high = np.minimum(low, job.centre - reach), np.maximum(high, job.centre + reach)
    if job.rod is not None:  # one that is let go across the stream reaches there from the start
        end = job.rod.root + job.rod.frame[:, 2] * (float(job.rod.length.sum()) + 0.5 * job.size)
        low, high = np.minimum(low, end), np.maximum(high, end)
    if job.forced is not None:
        swing = np.abs(job.forced.sway) + job.size * np.abs(job.forced.turn).max()
        low, high = low - swing, high + swing
    return low, high


def lay_out(job: Job, settings: Settings) -> Grid:
    """Return the box of cells around the solids of a job."""
    cell = job.size / settings.cells
    low, high = bounds_of(job)
    ahead, behind = settings.ahead * job.size, settings.behind * job.size
    middle = 0.5 * (low + high)
    half = np.maximum(0.5 * settings.across * job.size, 0.5 * (high - low) + 8.0 * cell)
    first = middle - half
    first[0] = job.centre[0] - ahead
    bends = job.rod is not None or job.sheet is not None
    if not bends or (job.pieces.forms[:, 0] == BODY).any():
        first[0] = min(first[0], low[0] - min(ahead, CLEAR * job.size))
    last = max(job.centre[0] + behind, high[0] + REAR * job.size)
    nx = max(LEAST_CELLS, GRAIN * math.ceil((last - first[0]) / cell / GRAIN))
    ny, nz = (round(2.0 * float(h) / cell) + 2 for h in half[1:])
    sides, gap_z = (settings.side, settings.side), WINDOW_GAP
    if settings.span > 0.0:
        nz, gap_z = round(settings.span * settings.cells) + 2, 1
        first[2] = job.centre[2] - 0.5 * (nz - 1) * cell
        low[2], high[2] = first[2], first[2] + nz * cell
        sides = (settings.side, PERIODIC)
    window: list[int] = []
    for axis, (count, gap) in enumerate(((nx, WINDOW_GAP), (ny, WINDOW_GAP), (nz, gap_z))):
        below = math.floor((low[axis] - first[axis]) / cell) - WINDOW_MARGIN
        above = math.ceil((high[axis] - first[axis]) / cell) + WINDOW_MARGIN + 1
        window += [max(gap, below), min(count - gap, above)]
    x0, x1, y0, y1, z0, z1 = window
    domain = Domain(
        shape=(nx, ny, nz),
        speed=settings.pace * job.speed / job.pace,
        viscosity=settings.pace * settings.cells / job.reynolds,
        smagorinsky=settings.smagorinsky,
        sides=sides,
        window=(x0, x1, y0, y1, z0, z1),
    )
    return Grid(domain, first, cell, settings.pace * cell / job.pace)


def forced_places(job: Job, time: float) -> Places:
    """Return where solids on the clamp are, at a time [s] after the release of a forced motion."""
    centre, axes = job.pieces.offset, job.pieces.axes
    none = np.zeros_like(centre)
    if job.forced is None or time <= 0.0:
        return Places(centre, axes, none, none)
    offset, velocity, turn, spin = forced_offset(job.forced, time)
    matrix = small_rotation(turn)
    arm = (centre - job.forced.pivot) @ matrix.T
    moved = np.cross(np.broadcast_to(spin, arm.shape), arm) + velocity
    return Places(
        job.forced.pivot + arm + offset,
        np.ascontiguousarray(matrix @ axes),
        moved,
        np.ascontiguousarray(np.broadcast_to(spin, arm.shape)),
    )


class Point(NamedTuple):
    """Where a march stands: enough to go on from it.

    Attributes
    ----------
    row : int, steps of the rod done
    held : Held or None, the rod
    history : History, ``row`` rows of it filled
    loose : Loose or None, the free body
    sheet : HeldSheet or None
    """

    row: int
    held: HeldRod | None
    history: History
    loose: Loose | None = None
    sheet: HeldSheet | None = None


Tell = Callable[[Point, int, FlowSolver], bool]


def march_flow(
    job: Job,
    settings: Settings,
    make: MakeFlow,
    tell: Tell = lambda point, rows, flow: True,
    rows_told: int = 200,
    start: tuple[Point, Single] | None = None,
) -> tuple[Grid, Point, FlowSolver]:
    """Run a job to its end, or until ``tell`` returns false.

    Parameters
    ----------
    job : Job
    settings : Settings
    make : makes the flow on a device from domain, forms and section table
    tell : called now and then with where the run stands, how many rows it will have and its flow
    rows_told : int, rows of the history between two calls
    start : a point reached earlier and the populations there, to go on from

    Raises
    ------
    SolveError : the flow or the rod diverges, or a part meets the walls
    """
    grid = lay_out(job, settings)
    flow = make(grid.domain, *in_cells(job.pieces, grid.cell))
    unit = job.density * grid.cell**4 / grid.tick**2
    units = np.array(3 * [unit] + 3 * [unit * grid.cell])
    step = settings.stride * grid.tick
    rows = int(settings.longest * job.size / job.pace / step)
    point = _start(job, settings, rows)
    if start is not None:
        point = start[0]
        flow.restore(start[1])
    let_go = settings.hold * job.size / job.pace
    for row in range(point.row, rows):
        now = row * step
        ratio = ramp_ratio(job, now)
        held, loose, sheet = point.held, point.loose, point.sheet
        twist = np.zeros(0)
        if loose is not None:
            before = ride_loose(loose, job.pieces)
            last, loose = loose, step_loose(_body(job), loose, step)
            if ran_away(last, loose, RUNAWAY * settings.stride * grid.cell):
                raise SolveError(f"the motion of the body diverges {now:.3g} s into the run")
            after = ride_loose(loose, job.pieces)
        elif sheet is not None:
            if row == math.ceil(let_go / step):
                sheet = released(_sheet(job), sheet)
            last_sheet, before = sheet, ride_sheet(_sheet(job), sheet, job.pieces)
            if now >= let_go:
                sheet = step_sheet(_sheet(job), sheet, step)
            after = ride_sheet(_sheet(job), sheet, job.pieces)
        elif held is None:
            before = forced_places(job, now - let_go)
            after = forced_places(job, now + step - let_go)
        else:
            if row == math.ceil(let_go / step):
                held = _release(job, settings, held)
            before, twist = _ride(job, held), held.twist.copy()
            if now >= let_go and not step_held(ramped(_rod(job), ratio), held, step):
                raise SolveError(f"the part diverges {now:.3g} s into the run")
            after = _ride(job, held)
        poses = single(
            between(before, after, step, settings.stride), origin_of(grid, point.loose), grid.cell,
            grid.tick,
        )  # fmt: skip
        loads = flow.advance(poses) * units
        if not np.isfinite(loads).all():
            raise SolveError(f"the flow diverges {now:.3g} s into the run")
        if held is not None:
            centre = 0.5 * (before.centre + after.centre)
            on_links = loads_on_links(job.pieces.link, centre, loads, held.node)
            remember(_rod(job), held, on_links, (held.twist - twist) / step)
        if sheet is not None:
            sheet = remember_sheet(_sheet(job), last_sheet, sheet, job.pieces, loads, step)
        if loose is not None and point.loose is not None:
            loose = remember_loose(_body(job), point.loose, loose, job.pieces, loads, step)
            loose, cells = follow_home(loose, job.centre, grid.cell)
            if any(cells):
                flow.shift(cells)
        _log(point.history, row, now + step, ratio, loads, after, held, sheet)
        point = Point(row + 1, held, point.history, loose, sheet)
        if (row + 1) % rows_told == 0 and not tell(point, rows, flow):
            break
    return grid, point, flow


def origin_of(grid: Grid, loose: Loose | None) -> Array:
    """Return the middle of the first cell (3,) [m] of a box that may have followed a body."""
    return grid.origin if loose is None else grid.origin + grid.cell * loose.shifted


def ramp_ratio(job: Job, time: float) -> float:
    """Return the speed ratio of a job's ramp at a time [s], one without a ramp."""
    if not len(job.ramp):
        return 1.0
    return float(np.interp(time * job.pace / job.size, job.ramp[:, 0], job.ramp[:, 1]))


def _log(
    history: History, row: int, time: float, ratio: float, loads: Array, places: Places,
    held: HeldRod | None, sheet: HeldSheet | None,
) -> None:  # fmt: skip
    """Write one row of the history."""
    history.time[row] = time
    history.load[row] = loads
    history.centre[row] = places.centre
    history.axes[row] = places.axes
    history.ratio[row] = ratio
    if held is not None:
        history.tangent[row] = held.frame[-1, :, 2]
        history.clamp[row] = held.clamp
    if sheet is not None:
        history.tangent[row], history.clamp[row] = sheet.tangent, sheet.clamp


def _rod(job: Job) -> Rod:
    assert job.rod is not None
    return job.rod


def _sheet(job: Job) -> SoftSheet:
    assert job.sheet is not None
    return job.sheet


def _body(job: Job) -> FreeBody:
    assert job.body is not None
    return job.body


def _start(job: Job, settings: Settings, rows: int) -> Point:
    """Return the point at which a run begins; a free body is at rest in the water."""
    history = empty_history(rows, len(job.pieces.link))
    if job.body is not None:
        velocity = np.array([job.speed, 0.0, 0.0])
        return Point(0, None, history, start_loose(job.body, job.centre, velocity, settings.memory))
    if job.sheet is not None:
        return Point(0, None, history, sheet=start_sheet(job.sheet, settings.memory))
    if job.rod is None:
        return Point(0, None, history)
    held = start_held(job.rod, job.shape, np.zeros_like(job.rate), settings.memory)
    return Point(0, held, history)


def _release(job: Job, settings: Settings, held: HeldRod) -> HeldRod:
    """Return the rod at the release: its first rates, and the loads of the flow as they are."""
    fresh = start_held(_rod(job), job.shape, job.rate, settings.memory)
    return fresh._replace(past=held.past, filled=held.filled)


def _ride(job: Job, held: HeldRod) -> Places:
    return ride(_rod(job), held, job.pieces.link, job.pieces.offset, job.pieces.axes)


def empty_history(rows: int, solids: int) -> History:
    """Return a history of ``rows`` rows of zeros."""
    return History(
        np.zeros(rows),
        np.zeros((rows, solids, 6)),
        np.zeros((rows, solids, 3)),
        np.zeros((rows, solids, 3, 3)),
        np.zeros((rows, 3)),
        np.zeros((rows, 6)),
        np.ones(rows),
    )


def first_rows(history: History, rows: int) -> History:
    """Return the first rows of a history."""
    return History(*(column[:rows] for column in history))
