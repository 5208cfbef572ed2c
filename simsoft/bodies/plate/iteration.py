"""The iteration matrix of a plate's time step, and its inverse that is kept while it serves."""

from __future__ import annotations

import numpy as np
from scipy.linalg import LinAlgError, inv

from simsoft.bodies.plate.modes import normal_map
from simsoft.bodies.plate.stepper import ALPHA_F, ALPHA_M, BETA, GAMMA, MovingPlate
from simsoft.core.arrays import Array, Integers
from simsoft.hydrodynamics.plate.tangent import flow_slopes
from simsoft.mechanics.plate import free_matrix
from simsoft.mechanics.plate_forces import tangent
from simsoft.solvers.time_march import StepFailedError


def half_on(motion: Array, step: float) -> Array:
    """Return the state (n, 6) of a motion (3, n, 6) at which a step [s] is iterated."""
    return np.asarray(motion[0] + (1.0 - ALPHA_F) * step * motion[1])


def inverse_about(
    moving: MovingPlate,
    solid: Array,
    free: Integers,
    state: Array,
    rate: Array,
    water: Array,
    step: float,
) -> Array:
    """Return the inverse (m, m) of the iteration matrix of the free unknowns.

    Parameters
    ----------
    moving : MovingPlate
    solid : array (m, m), mass of the solid between the free unknowns
    free : int array (m,), unknowns that move
    state, rate : array (n, 6)
    water : array (n, 3) [m/s], velocity of the water at the nodes
    step : float [s]

    Raises
    ------
    StepFailedError
        If the matrix has no inverse.
    """
    weight = BETA * step**2 * (1.0 - ALPHA_F)
    time_weight = GAMMA * step * (1.0 - ALPHA_F)
    plate, flow = moving.plate, moving.flow
    elastic = weight + time_weight * moving.damping
    whole = free_matrix(plate, *tangent(plate, state, elastic, weight), free)
    matrix = moving.modulus * whole.toarray()
    by_state, by_rate = flow_slopes(flow, state, rate, water)
    grid = np.ix_(free, free)
    matrix -= weight * by_state[grid] + time_weight * by_rate[grid]
    across = normal_map(flow, state)[:, free].toarray()
    matrix += (1.0 - ALPHA_M) * (solid + across.T @ (flow.added @ across))
    try:
        return np.ascontiguousarray(inv(matrix, overwrite_a=True, check_finite=True))
    except (LinAlgError, ValueError):
        raise StepFailedError(0.0, step) from None
