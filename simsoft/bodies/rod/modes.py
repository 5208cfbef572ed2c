"""Natural frequencies and mode shapes about a rest shape, dry or wet."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.tangents import linearised
from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Rod

AXIS_NAMES = ("stiff bending", "soft bending", "twist")


@dataclass(frozen=True)
class Modes:
    """Undamped modes, lowest first.

    Attributes
    ----------
    frequency : array (M,) [Hz]
    shape : array (3 N, M), hinge angles of each mode, mass-normalised
    kind : tuple of str, axis that holds most of the bending energy
    """

    frequency: Array
    shape: Array
    kind: tuple[str, ...]


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
        Small amplitude: quadratic drag does not enter. An unstable direction (a part that
        buckles under its own weight) has frequency zero.
    """
    n = angle.shape[0]
    still = make_stream(0.0, np.array([1.0, 0.0, 0.0]))
    # the kernel that the search for starts compiles as well; a wake's own rows come last
    mass, _, stiffness = (
        matrix[: 3 * n, : 3 * n] for matrix in linearised(rod, still, angle, np.eye(3 * n))
    )
    count = min(count, 3 * n)
    square, shape = eigh(
        0.5 * (stiffness + stiffness.T),
        0.5 * (mass + mass.T),
        subset_by_index=(0, count - 1),
    )
    energy = (rod.stiffness.reshape(-1, 1) * shape**2).reshape(n, 3, count).sum(axis=0)
    kind = tuple(AXIS_NAMES[int(i)] for i in energy.argmax(axis=0))
    return Modes(np.sqrt(np.maximum(square, 0.0)) / (2.0 * math.pi), shape, kind)
