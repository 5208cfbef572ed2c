"""A plate marched under the loads of the resolved flow, and where its elements are between steps.

The plate is simsoft's own: its elements, its mass, its time step (``bodies/plate/stepper.py``). As
for a rod (``coupling.py``) its added mass by potential flow stands on both sides of the equation of
motion: the step knows it as the only load of its own water, the memory keeps what the resolved
flow lays on less that. An element's slab moves as the element does as a whole; its load goes to
the four corners as the work of that motion asks, so that force and moment are handed on whole.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.plate.iteration import half_on, inverse_about
from simsoft.bodies.plate.stepper import (
    ALPHA_F,
    DONE,
    ENERGY_TERMS,
    HISTORY_COLUMNS,
    Inverse,
    MovingPlate,
    Sampled,
    Stands,
    advance_plate,
    mates_of,
    node_frames,
)
from simsoft.core.arrays import Array, Integers
from simsoft.core.errors import SolveError
from simsoft.hydrodynamics.plate.flow import Flow, flow_force
from simsoft.hydrodynamics.plate.wake import no_wake
from simsoft.mechanics.plate import CORNERS, UNKNOWNS, Plate
from simsoft.mechanics.rod import Stream
from simsoft.resolved.coupling import Places, line_weights
from simsoft.resolved.pieces import CLAMP, Pieces, form, no_pieces
from simsoft.resolved.solids import SEAM, SLAB
from simsoft.solvers.time_march import StepFailedError

FORESEEN = 1.5 - ALPHA_F  # [steps] from the middle of the last to where the next is in balance
HALVINGS = 4  # of a step that is not found
EDGE = 0.15  # of the thickness, rounding of the rim, as of a rod's lengths
ROWS = 4  # of the table that belong to a slab: its corners


class Sheet(NamedTuple):
    """A plate as a job carries it; its clamp lies at ``root`` and does not move.

    Attributes
    ----------
    plate : Plate, unit modulus, stress-free as moulded
    flow : Flow, with the virtual mass and no other load
    mass, mass_columns, mass_rows : arrays of the mass, row-compressed
    dead : array (n, 6) [N], dead load
    modulus, damping : float [Pa], [s], dynamic modulus and Kelvin-Voigt time
    length : float [m]
    free : int array (m,), unknowns that move: places and directors, each whole
    held : int array, nodes whose places are held
    marks : int array (rows, 3), nodes of the middle line and of the two edges abreast
    root : array (3,) [m]
    state, rate : array (n, 6), at the start and rate at the release; places from the root
    """

    plate: Plate
    flow: Flow
    mass: Array
    mass_columns: Integers
    mass_rows: Integers
    dead: Array
    modulus: float
    damping: float
    length: float
    free: Integers
    held: Integers
    marks: Integers
    root: Array
    state: Array
    rate: Array


class HeldSheet(NamedTuple):
    """A sheet in the resolved flow: its state and what the next step needs.

    Attributes
    ----------
    motion : array (3, n, 6), state, rate and acceleration
    past : array (M, n, 3) [N], loads plus virtual inertia at the nodes, newest first
    filled : int, how many of them are there
    clamp : array (6,), moment about the root [N m] and force [N] of the clamp on the sheet at the
        last step, world axes
    tangent : array (3,), of the middle line at the tip
    inverse : array (m, m) and frames : array (n, 3, 3), see ``stepper.Inverse``; kept while they
        serve
    """

    motion: Array
    past: Array
    filled: int
    clamp: Array
    tangent: Array
    inverse: Array
    frames: Array


def virtual_flow(flow: Flow, added: Array) -> Flow:
    """Return the load of water that has an added mass (E, E) [kg] and does nothing else."""
    return flow._replace(
        added=np.ascontiguousarray(added), drag=0.0, friction=0.0, stall=0.0, attached=0.0
    )


def start_sheet(sheet: Sheet, memory: int) -> HeldSheet:
    """Return a sheet at rest in its first shape; ``memory`` as in ``coupling.start_held``."""
    n, m = len(sheet.state), len(sheet.free)
    motion = np.zeros((3, n, 6))
    motion[0] = sheet.state
    return HeldSheet(
        motion, np.zeros((memory, n, 3)), 0, np.zeros(6), np.zeros(3), np.zeros((m, m)),
        np.zeros((n, 3, 3)),
    )  # fmt: skip


def released(sheet: Sheet, held: HeldSheet) -> HeldSheet:
    """Return a sheet as it is let go: its first rates, and the loads of the flow as they are."""
    motion = held.motion.copy()
    motion[1] = sheet.rate
    return held._replace(motion=motion)


def step_sheet(sheet: Sheet, held: HeldSheet, step: float) -> HeldSheet:
    """Return the sheet a step [s] later under the loads foreseen.

    Raises
    ------
    SolveError : no step is found, however short
    """
    dead = sheet.dead.copy()
    if held.filled:
        weights: Array = line_weights(held.filled, FORESEEN)
        dead[:, :3] += np.tensordot(weights, held.past[: held.filled], axes=1)
    for halving in range(HALVINGS + 1):
        march = _Stepper(sheet, dead, held)
        if march.make(step, 2**halving):
            return march.held
    raise SolveError("no step of the sheet is found")


class _Stepper:
    """A step being made, in one part or several."""

    def __init__(self, sheet: Sheet, dead: Array, held: HeldSheet) -> None:
        self.sheet = sheet
        self.held = held
        self.moving = MovingPlate(
            plate=sheet.plate,
            flow=sheet.flow,
            wake=no_wake(),
            mass=(sheet.mass, sheet.mass_columns, sheet.mass_rows),
            dead=dead,
            height=0.0,
            modulus=sheet.modulus,
            damping=sheet.damping,
            length=sheet.length,
        )
        self.still = Stream(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.0)
        self.mates = mates_of(sheet.plate.quads, len(sheet.state))

    def make(self, step: float, parts: int) -> bool:
        """Make a step in equal parts; return whether all were found."""
        fresh = parts == 1 and bool(self.held.inverse.any())
        for _ in range(parts):
            if not (fresh and self._advance(step / parts)):
                try:
                    self._renew(step / parts)
                except StepFailedError:
                    return False
                if not self._advance(step / parts):
                    return False
        if parts > 1:  # the inverse of a part does not serve the next whole step
            self.held = self.held._replace(inverse=np.zeros_like(self.held.inverse))
        return True

    def _advance(self, step: float) -> bool:
        held = self.held
        motion = held.motion.copy()
        history = np.zeros((1, HISTORY_COLUMNS))
        shapes = np.zeros((1, len(self.sheet.marks), 6))
        made, end = advance_plate(
            self.moving,
            self.still,
            Inverse(held.inverse, held.frames, self.mates, self.sheet.free),
            Stands(motion, np.zeros((2, 4)), np.zeros(ENERGY_TERMS)),
            Sampled(self.sheet.held, self.sheet.marks, history, shapes),
            step, 1, 1, 0,
        )  # fmt: skip
        if made != 1 or end != DONE:
            return False
        clamp = -np.concatenate([history[0, 9:12], history[0, 6:9]])
        self.held = held._replace(motion=motion, clamp=clamp, tangent=history[0, 3:6])
        return True

    def _renew(self, step: float) -> None:
        sheet, motion = self.sheet, self.held.motion
        state = half_on(motion, step)
        frames = np.zeros((len(state), 3, 3))
        node_frames(state, self.mates, frames)
        inverse = inverse_about(
            self.moving, _solid(sheet), sheet.free, state, motion[1], np.zeros((len(state), 3)),
            step,
        )  # fmt: skip
        self.held = self.held._replace(inverse=inverse, frames=frames)


def _solid(sheet: Sheet) -> Array:
    """Return the mass (m, m) of the solid between the unknowns that move."""
    rows = np.repeat(np.arange(len(sheet.mass_rows) - 1), np.diff(sheet.mass_rows))
    place = np.full(len(sheet.mass_rows) - 1, -1)
    place[sheet.free] = np.arange(len(sheet.free))
    row, column = place[rows], place[sheet.mass_columns]
    kept = (row >= 0) & (column >= 0)
    dense = np.zeros((len(sheet.free), len(sheet.free)))
    dense[row[kept], column[kept]] = sheet.mass[kept]
    return dense


def remember_sheet(
    sheet: Sheet, before: HeldSheet, after: HeldSheet, pieces: Pieces, loads: Array, step: float
) -> HeldSheet:
    """Return the sheet with the loads of the last step and the virtual inertia in its memory.

    ``loads`` (P, 6) are force and moment about the solids' centres in the world, means over it.
    """
    state = 0.5 * (before.motion[0] + after.motion[0])
    rate = 0.5 * (before.motion[1] + after.motion[1])
    change = (after.motion[1] - before.motion[1]) / step
    carried = np.zeros_like(state)
    flow_force(sheet.flow, state, rate, change, np.zeros((len(state), 3)), carried)
    here = loads_on_nodes(sheet.plate.quads, state[:, :3], pieces, loads) - carried[:, :3]
    filled = min(after.filled + 1, len(after.past))
    return after._replace(past=np.concatenate([[here], after.past[:-1]]), filled=filled)


def moulded_tip(sheet: Sheet) -> Array:
    """Return the direction (3,) of the middle line at the tip as moulded."""
    middle, left, right = sheet.marks[-1]
    along = np.cross(sheet.state[right, :3] - sheet.state[left, :3], sheet.state[middle, 3:])
    return np.asarray(along / np.linalg.norm(along))


def tip_path(sheet: Sheet, pieces: Pieces, centre: Array, axes: Array) -> Array:
    """Return where the middle of the tip was, array (R, 3) [m].

    ``centre`` (R, P, 3) [m] and ``axes`` (R, P, 3, 3) are those of the solids; the corners of
    elements that meet there are averaged.
    """
    element, corner = np.nonzero(sheet.plate.quads == sheet.marks[-1, 0])
    solid = np.array([np.flatnonzero(pieces.link == k)[0] for k in element])
    first = pieces.forms[solid, 5].astype(int)
    local = pieces.table[first + corner] * np.array([1.0, 1.0, 0.0])
    return np.asarray((centre[:, solid] + np.einsum("rkij,kj->rki", axes[:, solid], local)).mean(1))


def lightness_of_sheet(sheet: Sheet) -> float:
    """Return mass over added mass of a sheet that moves broadside."""
    places = np.arange(len(sheet.mass_rows) - 1) % UNKNOWNS == 0
    rows = np.repeat(places, np.diff(sheet.mass_rows))
    own = float(sheet.mass[rows & places[sheet.mass_columns]].sum())
    carried = float(sheet.flow.added.sum())
    return own / carried if carried > 0.0 else np.inf


def element_axes(corners: Array) -> tuple[Array, Array, Array, Array]:
    """Return middles (E, 3), axes (E, 3, 3) as columns and the mid-lines (E, 3) of elements.

    ``corners`` (E, 4, 3) [m]. Axis 1 goes along the first mid-line, axis 3 is normal to both.
    """
    first = 0.5 * np.einsum("a,eai->ei", CORNERS[:, 0], corners)
    second = 0.5 * np.einsum("a,eai->ei", CORNERS[:, 1], corners)
    along = first / np.linalg.norm(first, axis=1)[:, None]
    normal = np.cross(first, second)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    axes = np.stack([along, np.cross(normal, along), normal], axis=2)
    return corners.mean(axis=1), axes, first, second


def spin_rows(axes: Array, first: Array, second: Array) -> Array:
    """Return the map (E, 3, 2, 3) from the rates of both mid-lines to an element's spin.

    The spin is in the element's axes; that of an element that turns as a whole is met exactly.
    """
    length = np.linalg.norm(first, axis=1)
    lean = np.einsum("ei,ei->e", second, axes[:, :, 0])
    width = np.einsum("ei,ei->e", second, axes[:, :, 1])
    rows = np.zeros((len(axes), 3, 2, 3))
    rows[:, 0, 1] = axes[:, :, 2] / width[:, None]
    rows[:, 0, 0] = -axes[:, :, 2] * (lean / (length * width))[:, None]
    rows[:, 1, 0] = -axes[:, :, 2] / length[:, None]
    rows[:, 2, 0] = axes[:, :, 1] / length[:, None]
    return rows


def ride_sheet(sheet: Sheet, held: HeldSheet, pieces: Pieces) -> Places:
    """Return where the solids on elements and clamp are."""
    ridden = pieces.link != CLAMP
    centre, axes = pieces.offset.copy(), pieces.axes.copy()
    velocity, spin = np.zeros_like(centre), np.zeros_like(centre)
    quads = sheet.plate.quads[pieces.link[ridden]]
    middle, own, first, second = element_axes(held.motion[0][quads, :3])
    rates = held.motion[1][quads, :3]
    lines = 0.5 * np.einsum("ak,eai->eki", CORNERS, rates)
    turning = np.einsum("eckj,ekj->ec", spin_rows(own, first, second), lines)
    arm = np.einsum("eij,ej->ei", own, pieces.offset[ridden])
    centre[ridden] = sheet.root + middle + arm
    axes[ridden] = own @ pieces.axes[ridden]
    spin[ridden] = np.einsum("eij,ej->ei", own, turning)
    velocity[ridden] = rates.mean(axis=1) + np.cross(spin[ridden], arm)
    return Places(centre, axes, velocity, spin)


def loads_on_nodes(quads: Integers, place: Array, pieces: Pieces, loads: Array) -> Array:
    """Return the loads of the solids as forces (n, 3) [N] on the nodes, places (n, 3) [m].

    ``loads`` (P, 6) are force and moment about the solids' centres in the world. A force is shared
    by the four corners of its element, a moment pulls its mid-lines apart.
    """
    ridden = pieces.link != CLAMP
    own_quads = quads[pieces.link[ridden]]
    _, own, first, second = element_axes(place[own_quads])
    arm = np.einsum("eij,ej->ei", own, pieces.offset[ridden])
    force = loads[ridden, :3]
    moment = loads[ridden, 3:] + np.cross(arm, force)
    local = np.einsum("eij,ei->ej", own, moment)
    pull = np.einsum("eckj,ec->ekj", spin_rows(own, first, second), local)
    share = 0.25 * force[:, None] + 0.5 * np.einsum("ak,ekj->eaj", CORNERS, pull)
    total = np.zeros_like(place)
    np.add.at(total, own_quads, share)
    return total


def sheet_pieces(quads: Integers, state: Array, thickness: Array) -> Pieces:
    """Return a slab for each element of a moulded sheet.

    Parameters
    ----------
    quads : int array (E, 4), counter-clockwise
    state : array (n, 6), places and directors as moulded
    thickness : array (E,) [m]

    Returns
    -------
    Pieces
        Sides that two elements share are seams: no groove is left between them.
    """
    corners = state[quads, :3]
    middle, axes, _, _ = element_axes(corners)
    local = np.einsum("eaj,ejk->eak", corners - middle[:, None], axes)
    inner = _shared(quads)
    rows, forms = [], []
    for k in range(len(quads)):
        edge = EDGE * float(thickness[k])
        reach = np.abs(local[k, :, :2]).max(axis=0) + 0.5 * SEAM * float(thickness[k])
        solid = form(SLAB, float(reach[0]), float(reach[1]), 0.5 * float(thickness[k]), edge)
        forms.append(solid._replace(first=float(1 + ROWS * k), rows=float(ROWS)))
        rows.append(np.column_stack([local[k, :, :2], inner[k]]))
    count = len(quads)
    return no_pieces()._replace(
        forms=np.array(forms),
        link=np.arange(count),
        offset=np.zeros((count, 3)),
        axes=np.repeat(np.eye(3)[None], count, axis=0),
        table=np.vstack([np.zeros((1, 3)), *rows]),
    )


def _shared(quads: Integers) -> Array:
    """Return whether each side (E, 4) of elements, from its corner to the next, has a neighbour."""
    sides = np.sort(np.stack([quads, np.roll(quads, -1, axis=1)], axis=2), axis=2).reshape(-1, 2)
    _, inverse, count = np.unique(sides, axis=0, return_inverse=True, return_counts=True)
    return (count[inverse.ravel()] > 1).astype(float).reshape(quads.shape)
