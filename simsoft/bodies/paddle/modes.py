"""Small motions of a plate on a rod's end: matrices of the whole, natural frequencies."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simsoft.bodies.paddle.link import (
    carried_motion,
    end_motion,
    end_of,
    out_of_balance,
    pad_slopes,
    skew,
    spread_motion,
    water_on,
    with_end_load,
)
from simsoft.bodies.plate.modes import energy_word
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.modes import bending_word, energy_by_axis
from simsoft.bodies.rod.tangents import at_rest, tangents, whole_stiffness
from simsoft.core.arrays import Array
from simsoft.lure.paddle_model import StemModel
from simsoft.mechanics.plate import Plate, global_matrix
from simsoft.mechanics.plate_forces import tangent
from simsoft.mechanics.rod import Rod, Stream
from simsoft.solvers.modes import Modes, dense_pairs, modes_of

STILL = make_stream(0.0, np.array([1.0, 0.0, 0.0]))


class Carried(NamedTuple):
    """A plate on its rod, both with one material.

    Attributes
    ----------
    model : StemModel
    rod : Rod with its material
    plate : Plate for unit modulus
    modulus : float [Pa]
    """

    model: StemModel
    rod: Rod
    plate: Plate
    modulus: float


class Linearised(NamedTuple):
    """A plate on its rod in one shape.

    Attributes
    ----------
    rod : Rod bearing the plate's wrench as a dead load
    residual : array (3 N + m,), moments and forces out of balance
    end, across, own : arrays (6, 6), (6, m), (m, 6), (m, m) for ``turned``: change of the wrench
        with the end's motion and with the plate's unknowns, of the plate's forces with both
    """

    rod: Rod
    residual: Array
    end: Array
    across: Array
    turned: Array
    own: Array


def out_of_shape(carried: Carried, stream: Stream, angle: Array, state: Array) -> tuple[Rod, Array]:
    """Return the rod with the plate's load on its end, and the residual (3 N + m,) at rest.

    Parameters
    ----------
    carried : Carried
    stream : Stream
    angle : array (N, 3) [rad]
    state : array (n, 6), the plate in the end's frame
    """
    model, rod, plate, modulus = carried
    frame, node = end_of(rod, angle)
    force, _ = water_on(model, stream, frame, node, state)
    out = out_of_balance(model, plate, modulus, force, frame, state).ravel()
    loaded = with_end_load(rod, frame, carried_motion(state).T @ out)
    hinges = at_rest(loaded, stream, angle).missing.ravel()
    return loaded, np.concatenate([hinges, out[model.free]])


def linearised_stem(carried: Carried, stream: Stream, angle: Array, state: Array) -> Linearised:
    """Return residual and slopes of a plate on its rod at rest; arguments as ``out_of_shape``."""
    model, rod, plate, modulus = carried
    frame, node = end_of(rod, angle)
    force, _ = water_on(model, stream, frame, node, state)
    out = out_of_balance(model, plate, modulus, force, frame, state).ravel()
    motion = carried_motion(state)
    wrench = motion.T @ out
    loaded = with_end_load(rod, frame, wrench)
    hinges = at_rest(loaded, stream, angle).missing.ravel()
    by_turn, by_director = pad_slopes(model.pad, stream, frame, node, state)
    of_dead = np.zeros((len(state), 6, 6))
    of_dead[:, :3, :3] = -skew(model.dead @ frame)
    with_turn = of_dead.reshape(-1, 6)
    with_turn[:, :3] -= by_turn
    with_own = (modulus * global_matrix(plate, *tangent(plate, state, 1.0, 1.0))).toarray()
    if model.pad is not None and np.any(by_director):
        for i in range(3):
            with_own[:, 3 + i :: 6] -= by_director[:, i : i + 1] * model.pad.share
    # the wrench is carried by the rod as a dead load: its turning with the end is put back
    turning = np.zeros((6, 6))
    turning[:3, :3], turning[3:, :3] = -skew(wrench[:3]), -skew(wrench[3:])
    free = model.free
    return Linearised(
        rod=loaded,
        residual=np.concatenate([hinges, out[free]]),
        end=motion.T @ with_turn + turning,
        across=motion.T @ with_own[:, free],
        turned=with_turn[free],
        own=with_own[np.ix_(free, free)],
    )


def _joined(parts: Linearised, stiffness: Array, end: Array) -> Array:
    """Return the stiffness (3 N + m) squared of the whole.

    ``stiffness`` (3 N, 3 N) is the loaded rod's, ``end`` (6, 3 N) the end's motions, see
    ``paddle.link.end_motion``.
    """
    return np.block(
        [
            [stiffness + end.T @ parts.end @ end, end.T @ parts.across],
            [parts.turned @ end, parts.own],
        ]
    )


def jacobian(parts: Linearised, stream: Stream, angle: Array) -> Array:
    """Return the change of the residual of the whole with its coordinates."""
    hinges = 3 * len(angle)
    end = end_motion(parts.rod, angle, np.eye(hinges))
    return _joined(parts, whole_stiffness(parts.rod, stream, angle), end)


def plate_mass(model: StemModel, state: Array, motion: Array) -> Array:
    """Return the mass (M, M) of solid and water of a plate in motions (6 n, M) of its nodes."""
    result = motion.T @ (model.mass @ motion)
    if model.pad is not None:
        pad = model.pad
        normal = np.einsum("ea,eai->ei", pad.inset, state[pad.quads, 3:])
        nodal = motion.reshape(len(state), 6, -1)[:, :3]
        at_panel = np.einsum("ea,eaim->eim", pad.inset, nodal[pad.quads])
        across = np.einsum("ei,eim->em", normal, at_panel)
        result = result + across.T @ pad.added @ across
    return np.asarray(result)


def stem_modes(carried: Carried, angle: Array, state: Array, count: int) -> Modes:
    """Return the lowest modes of small free motion about a rest shape in still water or air.

    Parameters
    ----------
    carried : Carried, its rod without drag and convective force
    angle : array (N, 3) [rad]
    state : array (n, 6)
    count : int

    Returns
    -------
    Modes
        ``shape`` (3 N + m, M), hinge turns and the plate's free unknowns.

    Raises
    ------
    SolveError
        If the mass of the whole is not positive.
    """
    model, rod = carried.model, carried.rod
    hinges = 3 * len(angle)
    parts = linearised_stem(carried, STILL, angle, state)
    of_rod, _, stiffness = tangents(parts.rod, STILL, angle, np.eye(hinges))
    whole = _joined(parts, stiffness, end_motion(rod, angle, np.eye(hinges)))
    size = len(whole)
    mass = plate_mass(model, state, spread_motion(model, rod, angle, state, np.eye(size)))
    mass[:hinges, :hinges] += of_rod
    pairs = dense_pairs(whole, mass, count, "the plate on its stem")
    return modes_of(*pairs, lambda shape: _kind(carried, parts.own, state, shape))


def _kind(carried: Carried, own: Array, state: Array, shape: Array) -> str:
    """Return in words what holds most of a mode's energy: the stem's axis or the plate."""
    model, rod, plate, _ = carried
    hinges = rod.stiffness.size
    in_rod = energy_by_axis(rod, shape[:hinges])
    bent = shape[hinges:]
    if float(bent @ own @ bent) <= in_rod.sum():
        return bending_word(in_rod)
    moved = np.zeros(state.size)
    moved[model.free] = bent
    return "plate " + energy_word(plate, state, moved.reshape(-1, 6))
