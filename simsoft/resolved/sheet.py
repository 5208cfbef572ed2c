"""A plate marched under the loads of the resolved flow, and where its elements are between steps.

The plate is simsoft's own: its elements, its mass, its time step (``bodies/plate/stepper.py``). As
for a rod (``coupling.py``) its added mass by potential flow stands on both sides of the equation of
motion: the step knows it as the only load of its own water, the memory keeps what the resolved
flow lays on less that. What its elements are in the flow is in ``slabs.py``.
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
from simsoft.mechanics.plate import UNKNOWNS, Plate
from simsoft.mechanics.rod import Stream
from simsoft.resolved.coupling import Places, line_weights
from simsoft.resolved.pieces import Pieces
from simsoft.resolved.slabs import loads_on_nodes, ride_slabs
from simsoft.solvers.time_march import StepFailedError

FORESEEN = 1.5 - ALPHA_F  # [steps] from the middle of the last to where the next is in balance
HALVINGS = 4  # of a step that is not found


class SoftSheet(NamedTuple):
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


def start_sheet(sheet: SoftSheet, memory: int) -> HeldSheet:
    """Return a sheet at rest in its first shape; ``memory`` as in ``coupling.start_held``."""
    n, m = len(sheet.state), len(sheet.free)
    motion = np.zeros((3, n, 6))
    motion[0] = sheet.state
    return HeldSheet(
        motion, np.zeros((memory, n, 3)), 0, np.zeros(6), np.zeros(3), np.zeros((m, m)),
        np.zeros((n, 3, 3)),
    )  # fmt: skip


def released(sheet: SoftSheet, held: HeldSheet) -> HeldSheet:
    """Return a sheet as it is let go: its first rates, and the loads of the flow as they are."""
    motion = held.motion.copy()
    motion[1] = sheet.rate
    return held._replace(motion=motion)


def step_sheet(sheet: SoftSheet, held: HeldSheet, step: float) -> HeldSheet:
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

    def __init__(self, sheet: SoftSheet, dead: Array, held: HeldSheet) -> None:
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


def _solid(sheet: SoftSheet) -> Array:
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
    sheet: SoftSheet, before: HeldSheet, after: HeldSheet, pieces: Pieces, loads: Array, step: float
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


def ride_sheet(sheet: SoftSheet, held: HeldSheet, pieces: Pieces) -> Places:
    """Return where the solids on elements and clamp are."""
    place, rate = held.motion[0][:, :3], held.motion[1][:, :3]
    return ride_slabs(sheet.plate.quads, sheet.root, place, rate, pieces)


def moulded_tip(sheet: SoftSheet) -> Array:
    """Return the direction (3,) of the middle line at the tip as moulded."""
    middle, left, right = sheet.marks[-1]
    along = np.cross(sheet.state[right, :3] - sheet.state[left, :3], sheet.state[middle, 3:])
    return np.asarray(along / np.linalg.norm(along))


def tip_path(sheet: SoftSheet, pieces: Pieces, centre: Array, axes: Array) -> Array:
    """Return where the middle of the tip was, array (R, 3) [m].

    ``centre`` (R, P, 3) [m] and ``axes`` (R, P, 3, 3) are those of the solids; the corners of
    elements that meet there are averaged.
    """
    element, corner = np.nonzero(sheet.plate.quads == sheet.marks[-1, 0])
    solid = np.array([np.flatnonzero(pieces.link == k)[0] for k in element])
    first = pieces.forms[solid, 5].astype(int)
    local = pieces.table[first + corner] * np.array([1.0, 1.0, 0.0])
    return np.asarray((centre[:, solid] + np.einsum("rkij,kj->rki", axes[:, solid], local)).mean(1))


def lightness_of_sheet(sheet: SoftSheet) -> float:
    """Return mass over added mass of a sheet that moves broadside."""
    places = np.arange(len(sheet.mass_rows) - 1) % UNKNOWNS == 0
    rows = np.repeat(places, np.diff(sheet.mass_rows))
    own = float(sheet.mass[rows & places[sheet.mass_columns]].sum())
    carried = float(sheet.flow.added.sum())
    return own / carried if carried > 0.0 else np.inf
