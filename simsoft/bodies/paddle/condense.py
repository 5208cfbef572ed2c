"""A plate in the frame of what carries it, condensed: what is left of it is a load and an inertia.

The plate's elastic tangent hardly changes in that frame, however far the frame turns, so one
inverse of the iteration matrix serves for long.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.linalg import inv
from scipy.sparse import csr_matrix

from simsoft.bodies.paddle.link import carried_motion
from simsoft.bodies.plate.modes import normal_map
from simsoft.bodies.rod.scheme import make_scheme
from simsoft.core.arrays import Array, Integers
from simsoft.hydrodynamics.flexible_paddle import Pad
from simsoft.hydrodynamics.plate.flow import Flow
from simsoft.mechanics.plate import Plate, free_matrix
from simsoft.mechanics.plate_forces import tangent


class Condensed(NamedTuple):
    """Matrices of one shape of a plate of m free unknowns, as in ``carried_plate.Leaf``.

    Attributes
    ----------
    inverse : array (m, m), carried, follows : array (m, 6), end : array (6, 6)
    rigid : array (6, 6), inertia of the plate as a stiff body, its water's too
    """

    inverse: Array
    carried: Array
    follows: Array
    end: Array
    rigid: Array


def condensed(
    mass: csr_matrix,
    water: Pad | Flow | None,
    free: Integers,
    plate: Plate,
    modulus: float,
    time: float,
    step: float,
    state: Array,
) -> Condensed:
    """Return a plate condensed in a shape, for implicit steps of a size.

    Parameters
    ----------
    mass : sparse (6 n, 6 n), of the solid
    water : Pad, Flow or None, whose added mass is carried
    free : int array (m,), unknowns that are not held
    plate, modulus, time : the plate for unit modulus, that modulus [Pa], Kelvin-Voigt time [s]
    step : float [s]
    state : array (n, 6), places and directors in the carrying frame

    Raises
    ------
    LinAlgError, ValueError
        If the matrix has no inverse, or the state is not finite.
    """
    scheme, stiff = make_scheme(step), carried_motion(state)
    elastic = scheme.angle_gain + time * scheme.rate_gain
    whole = free_matrix(plate, *tangent(plate, state, elastic, scheme.angle_gain), free)
    matrix = modulus * whole.toarray() + mass[free][:, free].toarray()
    moved = mass @ stiff
    if water is not None:
        normal = normal_map(water, state)
        own = normal[:, free].toarray()
        matrix += own.T @ (water.added @ own)
        moved = moved + normal.T @ (water.added @ (normal @ stiff))
    inverse = inv(matrix, overwrite_a=True, check_finite=True)
    across, rigid = moved[free], stiff.T @ moved
    follows = inverse @ across
    return Condensed(
        inverse=np.ascontiguousarray(inverse),
        carried=np.ascontiguousarray(across),
        follows=np.ascontiguousarray(follows),
        end=np.ascontiguousarray(rigid - across.T @ follows),
        rigid=np.ascontiguousarray(rigid),
    )
