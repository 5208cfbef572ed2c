"""Natural frequencies and mode shapes of a rod about a rest shape, dry or wet."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.tangents import linearised
from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Rod
from simsoft.solvers.modes import Modes, dense_pairs, modes_of

AXIS_NAMES = ("stiff bending", "soft bending", "twist")


def natural_modes(rod: Rod, angle: Array, count: int) -> Modes:
    """Return the lowest modes of small free motion about a rest shape in still water.

    Parameters
    ----------
    rod : Rod with its material; built for air, it gives the dry modes
    angle : array (N, 3) [rad], rest shape
    count : int

    Returns
    -------
    Modes
        ``shape`` (3 N, M), hinge angles. Small amplitude: quadratic drag does not enter.
    """
    n = angle.shape[0]
    still = make_stream(0.0, np.array([1.0, 0.0, 0.0]))
    # the kernel that the search for starts compiles as well; a wake's own rows come last
    mass, _, stiffness = (
        matrix[: 3 * n, : 3 * n] for matrix in linearised(rod, still, angle, np.eye(3 * n))
    )
    pairs = dense_pairs(stiffness, mass, count, "the rod")
    return modes_of(*pairs, lambda turns: bending_word(energy_by_axis(rod, turns)))


def energy_by_axis(rod: Rod, turns: Array) -> Array:
    """Return twice the energy [J] (3,) that hinge angles (3 N,) store about each axis."""
    stored = rod.stiffness.ravel() * turns**2
    return np.asarray(stored.reshape(-1, 3).sum(axis=0))


def bending_word(energy: Array) -> str:
    """Return the axis that holds most of an energy (3,), in a word."""
    return AXIS_NAMES[int(np.argmax(energy))]
