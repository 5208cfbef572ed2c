"""Natural frequencies of a plate about a rest shape, dry or with the water it carries."""

from __future__ import annotations

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.linalg import LinearOperator

from simsoft.core.arrays import Array
from simsoft.hydrodynamics.flexible_paddle import Pad
from simsoft.hydrodynamics.plate.flow import Flow
from simsoft.lure.plate_model import PlateModel
from simsoft.mechanics.plate import Plate, free_matrix, strains
from simsoft.mechanics.plate_forces import tangent
from simsoft.solvers.modes import Modes, modes_of, sparse_pairs

KINDS = ("in-plane", "in-plane", "in-plane", "soft bending", "cupping", "twist")


def stiffness_of(model: PlateModel, plate: Plate, modulus: float, state: Array) -> csr_matrix:
    """Return the tangent stiffness of the free unknowns about a state (n, 6)."""
    return modulus * free_matrix(plate, *tangent(plate, state, 1.0, 1.0), model.free)


def normal_map(flow: Flow | Pad, state: Array) -> csr_matrix:
    """Return the matrix (E, 6 n) from the nodes' rates to the panels' normal velocities."""
    count = len(flow.quads)
    normal = np.einsum("ea,eai->ei", flow.inset, state[flow.quads, 3:])
    values = flow.inset[:, :, None] * normal[:, None, :]
    columns = 6 * flow.quads[:, :, None] + np.arange(3)
    rows = np.broadcast_to(np.arange(count)[:, None, None], columns.shape)
    return csr_matrix((values.ravel(), (rows.ravel(), columns.ravel())), shape=(count, state.size))


def mass_operator(model: PlateModel, state: Array) -> LinearOperator:
    """Return solid and added mass of the free unknowns about a state (n, 6)."""
    solid = model.mass[model.free][:, model.free].tocsr()
    size = len(model.free)
    if model.flow is None:
        return LinearOperator((size, size), matvec=solid.dot, dtype=float)
    across = normal_map(model.flow, state)[:, model.free]
    back, added = across.T.tocsr(), model.flow.added

    def times(vector: Array) -> Array:
        return np.asarray(solid @ vector + back @ (added @ (across @ vector)))

    return LinearOperator((size, size), matvec=times, dtype=float)


def plate_modes(
    model: PlateModel,
    plate: Plate,
    modulus: float,
    state: Array,
    count: int,
    *,
    named: bool = True,
) -> Modes:
    """Return the lowest modes of small free motion about a rest shape in still water or air.

    Parameters
    ----------
    model : PlateModel
    plate : Plate, its stress-free shape as the motion feels it
    modulus : float [Pa]
    state : array (n, 6), rest shape
    count : int
    named : bool, False leaves out what kind the modes are of

    Returns
    -------
    Modes
        ``shape`` (6 n, M), with zeros where the plate is clamped.

    Raises
    ------
    SolveError
        If the eigenvalues do not converge.
    """
    stiffness = stiffness_of(model, plate, modulus, state)
    square, vector = sparse_pairs(stiffness, mass_operator(model, state), count, "the plate")
    shape = np.zeros((model.state.size, len(square)))
    shape[model.free] = vector
    word = (lambda moved: energy_word(plate, state, moved.reshape(-1, 6))) if named else None
    return modes_of(square, shape, word)


def energy_word(plate: Plate, state: Array, shape: Array) -> str:
    """Return the strain that holds most of a mode's energy, in a word."""
    size = 1.0e-4 * float(np.ptp(state[:, :3], axis=0).max()) / float(np.abs(shape[:, :3]).max())
    change = (strains(plate, state + size * shape)[0] - strains(plate, state - size * shape)[0]) / 2
    energy = np.zeros(6)
    for i in range(6):
        pull = plate.thickness * plate.law[i % 3, i % 3]
        line = plate.weight * (pull if i < 3 else plate.bend[..., i - 3, i - 3])
        energy[i] = float((line * change[..., i] ** 2).sum())
    return KINDS[int(np.argmax(energy))]
