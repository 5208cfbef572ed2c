"""How a plate hangs on a rod's end: motions of its nodes, its wrench on the end, and slopes.

Everything of the plate is in the frame of the end node. Coordinates of the whole are right
increments of the hinge rotations (3 N) and the plate's free unknowns (m).
"""

from __future__ import annotations

import numpy as np

from simsoft.bodies.rod.projection import motions
from simsoft.bodies.rod.shapes import frames_of
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.flexible_paddle import Pad, pad_force, stiff_rate
from simsoft.hydrodynamics.rim import no_rim
from simsoft.lure.paddle_model import StemModel
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.plate_forces import internal_forces
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import matrix_from_quaternion, quaternion_from_vector

TURN_STEP = 1.0e-6  # [rad] of the differences of the water's force
DIRECTOR_STEP = 1.0e-6  # the same, of the mean director


def skew(vectors: Array) -> Array:
    """Return the matrices (..., 3, 3) of the cross products with vectors (..., 3)."""
    result = np.zeros((*vectors.shape, 3))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        result[..., i, j] = -vectors[..., k]
        result[..., j, i] = vectors[..., k]
    return result


def carried_motion(state: Array) -> Array:
    """Return the motions (6 n, 6) of the nodes with the end's turn [rad] and shift [m]."""
    result = np.zeros((len(state), 6, 6))
    result[:, :3, :3] = -skew(state[:, :3])
    result[:, :3, 3:] = np.eye(3)
    result[:, 3:, :3] = -skew(state[:, 3:])
    return result.reshape(-1, 6)


def relative_frames(angle: Array) -> Array:
    """Return the rotation matrices (N, 3, 3) of hinge angles (N, 3) [rad]."""
    quaternion, result = np.zeros(4), np.zeros((len(angle), 3, 3))
    for k in range(len(angle)):
        quaternion_from_vector(angle[k], quaternion)
        matrix_from_quaternion(quaternion, result[k])
    return result


def end_motion(rod: Rod, angle: Array, turns: Array) -> Array:
    """Return turn and shift (6, M) of the end node, its own axes, for hinge turns (3 N, M)."""
    shaped = np.ascontiguousarray(turns.reshape(len(angle), 3, -1))
    last = motions(rod, relative_frames(angle), shaped)[-1]
    reach = 0.5 * float(rod.length[-1])
    result = np.array(last)
    result[3] += last[1] * reach
    result[4] -= last[0] * reach
    return result


def spread_motion(model: StemModel, rod: Rod, angle: Array, state: Array, basis: Array) -> Array:
    """Return the motions (6 n, M) of the plate's nodes in shapes (3 N + m, M) of the whole."""
    hinges = 3 * len(angle)
    result = carried_motion(state) @ end_motion(rod, angle, basis[:hinges])
    result[model.free] += basis[hinges:]
    return result


def water_on(
    model: StemModel, stream: Stream, frame: Array, node: Array, state: Array
) -> tuple[Array, Array]:
    """Return the water's force (n, 6) [N] on a plate at rest, and its mean motion (6,)."""
    force, motion = np.zeros_like(state), np.zeros(6)
    if model.pad is not None:
        rate = still_rate(stream, frame, node, state)
        pad_force(model.pad, state, rate, np.zeros_like(state), no_rim(), force, motion)
    return force, motion


def still_rate(stream: Stream, frame: Array, node: Array, state: Array) -> Array:
    """Return the rates (n, 6) against the water of a plate at rest: the stream at the end node."""
    seen = stream.velocity + stream.shear * node[2] * stream.direction
    return stiff_rate(state, np.concatenate([np.zeros(3), -(seen @ frame)]))


def out_of_balance(
    model: StemModel, plate: Plate, modulus: float, force: Array, frame: Array, state: Array
) -> Array:
    """Return the force (n, 6) out of balance on the nodes: elastic less dead and water's."""
    inner = np.zeros_like(state)
    internal_forces(plate, state, np.zeros_like(state), 0.0, inner)
    out = modulus * inner - force
    out[:, :3] -= model.dead @ frame
    return np.asarray(out)


def with_end_load(rod: Rod, frame: Array, wrench: Array) -> Rod:
    """Return the rod bearing a plate's wrench (6,) on its end, torque first, as a dead load."""
    weight = rod.weight.copy()
    weight[-1] -= frame @ wrench[3:]
    return rod._replace(weight=weight, tip_moment=rod.tip_moment - frame @ wrench[:3])


def pad_slopes(
    pad: Pad | None, stream: Stream, frame: Array, node: Array, state: Array
) -> tuple[Array, Array]:
    """Return the slopes of the water's force at rest (6 n, 3): with the end's turn, and with the
    mean director, both in the end's axes.
    """  # fmt: skip
    size = state.size
    by_turn, by_director = np.zeros((size, 3)), np.zeros((size, 3))
    if pad is None or not np.any(stream.velocity):
        return by_turn, by_director
    rate = still_rate(stream, frame, node, state)
    flow = rate[0, :3]
    motion, none, wake = np.zeros(6), np.zeros_like(state), no_rim()
    for i in range(3):
        pair = []
        for sign in (1.0, -1.0):
            turn = np.zeros(3)
            turn[i] = sign * TURN_STEP
            moved = rate.copy()
            moved[:, :3] = flow - np.cross(turn, flow)
            force = np.zeros_like(state)
            pad_force(pad, state, moved, none, wake, force, motion)
            pair.append(force.ravel())
        by_turn[:, i] = (pair[0] - pair[1]) / (2.0 * TURN_STEP)
        pair = []
        for sign in (1.0, -1.0):
            leaned = state.copy()
            leaned[:, 3 + i] += sign * DIRECTOR_STEP
            force = np.zeros_like(state)
            pad_force(pad, leaned, rate, none, wake, force, motion)
            pair.append(force.ravel())
        by_director[:, i] = (pair[0] - pair[1]) / (2.0 * DIRECTOR_STEP)
    return by_turn, by_director


def end_of(rod: Rod, angle: Array) -> tuple[Array, Array]:
    """Return frame (3, 3) and place (3,) [m] of the end node."""
    node, frame = frames_of(rod, angle)
    return frame[-1].copy(), node[-1].copy()
