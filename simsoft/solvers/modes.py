"""Natural frequencies and mode shapes about a rest shape, the same for every body.

A body gives its stiffness and mass and a word for a shape; what it is made of is not known here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, eigh
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import ArpackNoConvergence, LinearOperator, eigsh, splu

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError


@dataclass(frozen=True)
class Modes:
    """Undamped modes, lowest first.

    Attributes
    ----------
    frequency : array (M,) [Hz]
    shape : array (m, M), the body's unknowns in each mode, mass-normalised
    kind : tuple of str, in words what holds most of each mode's energy
    """

    frequency: Array
    shape: Array
    kind: tuple[str, ...]


def dense_pairs(stiffness: Array, mass: Array, count: int, what: str) -> tuple[Array, Array]:
    """Return the squared rates [1/s^2] and mass-normalised shapes of the lowest modes.

    Parameters
    ----------
    stiffness, mass : arrays (m, m); their symmetric parts count
    count : int, modes wanted
    what : str, the body, as the message of a failure names it

    Raises
    ------
    SolveError
        If the mass is not positive.
    """
    count = min(count, len(stiffness))
    try:
        square, shape = eigh(
            0.5 * (stiffness + stiffness.T),
            0.5 * (mass + mass.T),
            subset_by_index=(0, count - 1),
        )
    except LinAlgError as error:
        raise SolveError(f"the natural frequencies of {what} fail") from error
    return square, shape


def sparse_pairs(
    stiffness: csr_matrix, mass: LinearOperator, count: int, what: str
) -> tuple[Array, Array]:
    """Return what ``dense_pairs`` does, of a sparse stiffness and a mass that only multiplies.

    Raises
    ------
    SolveError
        If the eigenvalues do not converge.
    """
    size = stiffness.shape[0]
    inverse = LinearOperator(stiffness.shape, matvec=splu(stiffness.tocsc()).solve, dtype=float)
    start = np.random.default_rng(0).standard_normal(size)
    try:
        square, vector = eigsh(
            stiffness, min(count, size - 1), M=mass, sigma=0.0, OPinv=inverse, v0=start, which="LM"
        )
    except ArpackNoConvergence as error:
        raise SolveError(f"the natural frequencies of {what} do not converge") from error
    order = np.argsort(square)
    return square[order], vector[:, order]


def modes_of(square: Array, shape: Array, word: Callable[[Array], str] | None) -> Modes:
    """Return modes of squared rates (M,) [1/s^2] and shapes (m, M), each with the body's word.

    ``word`` may be None where nobody asks what kind they are of: then they have no words.
    An unstable direction (a part that buckles under its own weight) has frequency zero.
    """
    kind = () if word is None else tuple(word(shape[:, i]) for i in range(shape.shape[1]))
    return Modes(np.sqrt(np.maximum(square, 0.0)) / (2.0 * math.pi), shape, kind)


def at_own_frequency(found: Modes, rate_exponent: float) -> Modes:
    """Return modes found with the modulus at 1 Hz, each with the modulus at its own frequency.

    A modulus ~ f^n only shifts each frequency, f = f0 (f/f0)^(n/2), as long as weight adds
    little to the stiffness; the shapes are those at the first mode's modulus.
    """
    power = 1.0 / (1.0 - 0.5 * rate_exponent)
    moving = found.frequency > 0.0
    own = np.where(moving, np.maximum(found.frequency, 1e-300) ** power, 0.0)
    return Modes(own, found.shape, found.kind)
