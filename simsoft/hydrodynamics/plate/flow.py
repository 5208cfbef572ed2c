"""Load of the water on a plate: added mass, attached flow, cross-flow drag, friction.

V is the plate's velocity relative to the water, n its director, w = V . n.

*Added mass.* The doublet panels of the flat planform act on the local normal velocities of the
bent plate: f = -M dw/dt along the local normals. Exact for a flat plate; a plate bent within a
length of the order of its own width sees its own water a little differently, which is left out.

*Attached flow.* The potential jump mu of the panels, with a wake of constant jump behind the
sides that face downstream along the planform (from clamp to tip), slides along the plate: force
rho (V . nu) (jump of mu) on every side, nu the side's normal in the plate. For a slender plate it
is the convective part of elongated-body theory with its trailing edge (Lighthill 1960, J. Fluid
Mech. 9:305), for a wide one a lifting surface whose lift sits upstream: that is the centre of
pressure that moves upstream as the plate turns edge on. The wake is taken as steady, which asks
for waves longer than the plate is wide. Terms of curvature times the square of the normal
velocity are left out.

*Cross-flow drag.* -rho/2 C_d |w| w. With the attached flow's lift it makes up the force by
incidence (Polhamus 1966, NASA TN D-3767, splits the force of slender wings in the same two).

*Stall.* Suction at the edges holds up to a stall incidence: the attached part is scaled by
1/(1 + (sin a/sin a_s)^4), a judgement, and fades out where the plate moves tip first.
Interference with other parts, and of two halves of a pair that clap, is left out.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.plate.panels import (
    Panels,
    panel_added_mass,
    ray_influence,
    side_influence,
)

FADES_BELOW = 0.2  # cosine between plate and flow below which the attached flow fades out
FACES_DOWNSTREAM = 0.15  # sine to the flow past which a side of the outline sheds a wake


class Flow(NamedTuple):
    """Arrays of the water's load on one plate.

    Attributes
    ----------
    quads : int array (E, 4)
    inset, middle : array (E, 4) [-], shape functions at the middle of the drawn-in panel and of
        the element
    along : array (E, 4) [1/m], slopes of the shape functions along the planform at the middle
    area : array (E,) [m^2], of the elements
    added : array (E, E) [kg], added mass between panels
    jump : array (E, E) [kg/m^2], density times potential jump per normal velocity, with wake
    sides, neighbours : int array (S, 2), nodes; panels left and right, -1 off the plate
    stretch : array (S,) [-], drawn-in over full length; 0 where the wake carries the jump on
    drag : float [kg/m^3], rho/2 C_d
    friction : float [kg/m^3], rho/2 C_f of both faces
    stall : float [-], sine of the stall incidence; 0 for none
    attached : float, 1 with the attached flow's convective force, 0 without
    """

    quads: Integers
    inset: Array
    middle: Array
    along: Array
    area: Array
    added: Array
    jump: Array
    sides: Integers
    neighbours: Integers
    stretch: Array
    drag: float
    friction: float
    stall: float
    attached: float


def wake_jump(plan: Array, panels: Panels) -> tuple[Array, Array]:
    """Return the potential jump (E, E) [m] per normal velocity with a wake, and its sides.

    The wake runs along the planform's first axis. The second result, bool (S,), marks the
    sides of the outline that shed it.
    """
    downstream = np.array([1.0, 0.0])
    along = plan[panels.sides[:, 1]] - plan[panels.sides[:, 0]]
    facing = along[:, 1] / np.linalg.norm(along, axis=1)  # outward normal along the flow
    trailing = (panels.neighbours[:, 1] < 0) & (facing > FACES_DOWNSTREAM)
    first, last = panels.ring[panels.sides[trailing, 0]], panels.ring[panels.sides[trailing, 1]]
    shed = (
        ray_influence(panels.middle, first, downstream)
        - ray_influence(panels.middle, last, downstream)
        - side_influence(panels.middle, first, last)
    )
    influence = panels.influence.copy()
    np.add.at(influence.T, panels.neighbours[trailing, 0], shed.T)
    return np.asarray(np.linalg.inv(influence), dtype=float), trailing


def make_flow(
    plan: Array,
    quads: Integers,
    panels: Panels,
    interpolation: tuple[Array, Array, Array],
    density: float,
    *,
    drag: float,
    friction: float,
    stall: float,
    attached: bool,
    added_mass: bool,
) -> Flow:
    """Return the load arrays of a planform.

    Parameters
    ----------
    plan, quads, panels : see ``panels.make_panels``
    interpolation : three arrays (E, 4), shape functions at drawn-in and full panel middles,
        their slopes along the planform there
    density : float [kg/m^3]
    drag, friction : float [-], C_d across, C_f on each face
    stall : float [-], sine of the stall incidence, 0 for none
    attached, added_mass : bool, switches
    """
    jump, trailing = wake_jump(plan, panels)
    full = np.linalg.norm(plan[panels.sides[:, 1]] - plan[panels.sides[:, 0]], axis=1)
    ring = np.linalg.norm(panels.ring[panels.sides[:, 1]] - panels.ring[panels.sides[:, 0]], axis=1)
    corner = plan[quads]
    a, b = corner[:, 2] - corner[:, 0], corner[:, 3] - corner[:, 1]
    carried = density if added_mass else 0.0
    return Flow(
        quads=quads,
        inset=interpolation[0],
        middle=interpolation[1],
        along=interpolation[2],
        area=0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]),
        added=np.ascontiguousarray(carried * panel_added_mass(panels)),
        jump=np.ascontiguousarray(density * jump),
        sides=panels.sides,
        neighbours=panels.neighbours,
        stretch=np.where(trailing, 0.0, ring / full),
        drag=0.5 * density * drag,
        friction=density * friction,
        stall=stall,
        attached=1.0 if attached else 0.0,
    )


def no_flow() -> Flow:
    """Return the load of no plate."""
    quads, flat = np.zeros((0, 4), dtype=np.int64), np.zeros((0, 4))
    sides, square = np.zeros((0, 2), dtype=np.int64), np.zeros((0, 0))
    return Flow(
        quads, flat, flat, flat, np.zeros(0), square, square, sides, sides, np.zeros(0),
        0.0, 0.0, 0.0, 0.0,
    )  # fmt: skip


@lean_kernel()
def _at_panel(weight: Array, quad: Integers, nodal: Array, first: int, out: Array) -> None:
    """Write the value (3,) of nodal columns first..first+2 at a panel's point."""
    for i in range(3):
        total = 0.0
        for a in range(4):
            total += weight[a] * nodal[quad[a], first + i]
        out[i] = total


@lean_kernel()
def _spread(weight: Array, quad: Integers, scale: float, vector: Array, out: Array) -> None:
    for a in range(4):
        for i in range(3):
            out[quad[a], i] += weight[a] * scale * vector[i]


@lean_kernel()
def holds(stall: float, n: Array, v: Array, along: Array) -> float:
    """Return the share of the attached flow that holds at a panel, 0 to 1.

    ``n`` is the director, ``v`` the velocity through the water, ``along`` the panel's axis from
    clamp to tip: a plate that moves tip first has its wake on the wrong side and none holds.
    """
    speed = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    if stall <= 0.0 or speed <= 0.0:
        return 1.0
    w = n[0] * v[0] + n[1] * v[1] + n[2] * v[2]
    length = math.sqrt(along[0] * along[0] + along[1] * along[1] + along[2] * along[2])
    ahead = -(along[0] * v[0] + along[1] * v[1] + along[2] * v[2]) / (speed * length)
    share = min(1.0, max(0.0, ahead / FADES_BELOW))
    return float(share / (1.0 + (w / (speed * stall)) ** 4))


@kernel()
def flow_force(
    flow: Flow, state: Array, rate: Array, acceleration: Array, water: Array, force: Array
) -> None:
    """Write the water's force (n, 6) [N] on the nodes; nothing acts on the directors.

    Parameters
    ----------
    flow : Flow
    state, rate, acceleration : array (n, 6), places and directors, lab axes, and their rates
    water : array (n, 3) [m/s], velocity of the water at the nodes
    force : array (n, 6), overwritten
    """
    force[:] = 0.0
    count = flow.quads.shape[0]
    relative = rate[:, :3] - water
    normal = np.empty((count, 3))
    across, change, hold = np.empty(count), np.empty(count), np.empty(count)
    v, a, nd, n = np.empty(3), np.empty(3), np.empty(3), np.empty(3)
    for p in range(count):
        quad = flow.quads[p]
        _at_panel(flow.inset[p], quad, state, 3, n)
        _at_panel(flow.inset[p], quad, relative, 0, v)
        _at_panel(flow.inset[p], quad, acceleration, 0, a)
        _at_panel(flow.inset[p], quad, rate, 3, nd)
        normal[p] = n
        across[p] = n[0] * v[0] + n[1] * v[1] + n[2] * v[2]
        change[p] = n[0] * a[0] + n[1] * a[1] + n[2] * a[2]
        change[p] += nd[0] * v[0] + nd[1] * v[1] + nd[2] * v[2]
        _at_panel(flow.middle[p], quad, state, 3, n)
        _at_panel(flow.middle[p], quad, relative, 0, v)
        speed = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
        w = n[0] * v[0] + n[1] * v[1] + n[2] * v[2]
        _at_panel(flow.along[p], quad, state, 0, a)
        hold[p] = holds(flow.stall, n, v, a)
        _spread(flow.middle[p], quad, -flow.drag * flow.area[p] * abs(w) * w, n, force)
        _spread(flow.middle[p], quad, -flow.friction * flow.area[p] * speed, v, force)
    for p in range(count):
        total = 0.0
        for q in range(count):
            total += flow.added[p, q] * change[q]
        _spread(flow.inset[p], flow.quads[p], -total, normal[p], force)
    if flow.attached > 0.0:
        _attached(flow, state, relative, across, hold, change, force)


@lean_kernel()
def _attached(
    flow: Flow,
    state: Array,
    relative: Array,
    across: Array,
    hold: Array,
    jump: Array,
    force: Array,
) -> None:
    """Add the convective force of the attached flow on the panels' sides; ``jump`` (E,) scratch."""
    count = flow.quads.shape[0]
    for p in range(count):
        total = 0.0
        for q in range(count):
            total += flow.jump[p, q] * across[q]
        jump[p] = total
    for s in range(flow.sides.shape[0]):
        if flow.stretch[s] == 0.0:
            continue
        a, b = flow.sides[s, 0], flow.sides[s, 1]
        left, right = flow.neighbours[s, 0], flow.neighbours[s, 1]
        step = -jump[left]
        share = hold[left]
        if right >= 0:
            step += jump[right]
            share = 0.5 * (share + hold[right])
        cx, cy, cz = (
            state[b, 0] - state[a, 0],
            state[b, 1] - state[a, 1],
            state[b, 2] - state[a, 2],
        )
        nx = 0.5 * (state[a, 3] + state[b, 3])
        ny = 0.5 * (state[a, 4] + state[b, 4])
        nz = 0.5 * (state[a, 5] + state[b, 5])
        vx = 0.5 * (relative[a, 0] + relative[b, 0])
        vy = 0.5 * (relative[a, 1] + relative[b, 1])
        vz = 0.5 * (relative[a, 2] + relative[b, 2])
        slide = vx * (cy * nz - cz * ny) + vy * (cz * nx - cx * nz) + vz * (cx * ny - cy * nx)
        half = 0.5 * share * flow.stretch[s] * slide * step
        for node in (a, b):
            force[node, 0] += half * nx
            force[node, 1] += half * ny
            force[node, 2] += half * nz


@kernel()
def flow_tangents(
    flow: Flow,
    state: Array,
    rate: Array,
    acceleration: Array,
    water: Array,
    basis: Array,
    sizes: Array,
) -> tuple[Array, Array]:
    """Return the change of the force (6 n, m) with state and with rate along a basis (m, n, 6).

    Central differences of the exact force; ``sizes`` (2,) are the steps [m] and [m/s]; zero leaves
    that part out.
    """
    m = basis.shape[0]
    size = state.size
    by_state, by_rate = np.zeros((size, m)), np.zeros((size, m))
    up, down = np.empty_like(state), np.empty_like(state)
    for j in range(m):
        h = sizes[0]
        flow_force(flow, state + h * basis[j], rate, acceleration, water, up)
        flow_force(flow, state - h * basis[j], rate, acceleration, water, down)
        by_state[:, j] = (up - down).ravel() / (2.0 * h)
        h = sizes[1]
        if h == 0.0:
            continue
        flow_force(flow, state, rate + h * basis[j], acceleration, water, up)
        flow_force(flow, state, rate - h * basis[j], acceleration, water, down)
        by_rate[:, j] = (up - down).ravel() / (2.0 * h)
    return by_state, by_rate
