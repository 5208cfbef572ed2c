"""Screening of a paddle without a time march: its rest shape and the modes of small motions."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.bodies.rod.tangents import at_rest, static_jacobian, tangents
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.mechanics.rod import Rod, Stream

TOLERANCE = 1.0e-7  # [rad] largest correction of a converged hinge angle
CORRECTIONS = 24
SLOW = 0.2  # a chord step that shrinks the correction less asks for a new tangent
LARGEST_CORRECTION = 0.3  # [rad]


class Rods(NamedTuple):
    """One rod three times.

    Attributes
    ----------
    resting : as a long-held shape feels it: resting modulus, steady paddle
    moving : resting modulus, with the paddle's turning moment
    unit : unit modulus
    """

    resting: Rod
    moving: Rod
    unit: Rod


@kernel()
def settle_rest(rod: Rod, stream: Stream, angle: Array) -> bool:
    """Replace ``angle`` (N, 3) [rad] by the rest shape near it; tell whether it was found."""
    n = angle.shape[0]
    trial = angle.copy()
    inverse = np.zeros((3 * n, 3 * n))
    fresh, previous = False, 0.0
    for _ in range(CORRECTIONS):
        if not fresh:
            inverse = np.ascontiguousarray(np.linalg.inv(static_jacobian(rod, stream, trial)))
            fresh = True
        missing = at_rest(rod, stream, trial).missing.reshape(3 * n)
        correction = -(inverse @ missing)
        size = np.abs(correction).max()
        if not np.isfinite(size):
            return False
        trial += min(1.0, LARGEST_CORRECTION / max(size, 1e-300)) * correction.reshape((n, 3))
        if size < TOLERANCE:
            angle[:] = trial
            return True
        fresh = size < SLOW * previous or previous == 0.0
        previous = size
    return False


@kernel()
def wet_basis(rod: Rod, still: Stream, angle: Array, basis: Array) -> float:
    """Write the lowest wet modes into ``basis`` (3 N, m); return the first [rad/s]."""
    size, count = basis.shape
    mass, _, stiffness = tangents(rod, still, angle, np.eye(size))
    lower = np.linalg.cholesky(0.5 * (mass + mass.T))
    inverse = np.linalg.inv(lower)
    reduced = inverse @ (0.5 * (stiffness + stiffness.T)) @ inverse.T
    values, vectors = np.linalg.eigh(0.5 * (reduced + reduced.T))
    shapes = np.ascontiguousarray(inverse.T) @ np.ascontiguousarray(vectors)
    for j in range(count):
        for i in range(size):
            basis[i, j] = shapes[i, j]
    return math.sqrt(max(values[0], 0.0))
