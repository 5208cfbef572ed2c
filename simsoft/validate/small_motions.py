"""Numbers of published checks that no record holds: eigenvalues of small motions.

Each function takes a checked case of one straight part and asks the solver for the tangents about
the straight shape. Only soft bending is kept, as in the planar theories behind the checks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.modes import natural_modes
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.tangents import tangents
from simsoft.case.model import Case
from simsoft.core.arrays import Array, ComplexArray
from simsoft.core.errors import SolveError
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.rod_model import with_material
from simsoft.mechanics.rod import Rod, Stream

BASIS = 16  # soft-bending modes that carry a small motion
REAL_SHARE = 1e-6  # imaginary part, relative to the largest, below which an eigenvalue is real
GROWTH_SHARE = 1e-7  # of the frequency: growth below it is rounding
BISECTIONS = 24
X = np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True)
class FollowerLimit:
    """Where a column under a follower load begins to beat.

    Attributes
    ----------
    load : float [N, N/m], at the tip, or at the clamp for a load spread along the column
    angular_frequency : float [rad/s]
    """

    load: float
    angular_frequency: float


def follower_limit(case: Case, distribution: str, lowest: float, highest: float) -> FollowerLimit:
    """Return the critical compressive load that follows the column's tangent.

    Parameters
    ----------
    case : Case with one part and no water forces; its material gives the damping
    distribution : 'tip' (Beck), 'uniform' (Leipholz) or 'triangular' (Hauger: largest at the
        clamp, zero at the tip)
    lowest, highest : float, loads between which the motion begins to grow

    Raises
    ------
    SolveError
        If the column is not stable at ``lowest`` or not unstable at ``highest``.

    Notes
    -----
    The solver knows follower loads at the tip. A load spread along the column is a dead one, which
    the solver knows as well, and the share that turns with the tangent, which is added here.
    """
    rod = _rod(case)
    basis = _soft_basis(rod)
    still = make_stream(0.0, X)
    place = np.cumsum(rod.length) / rod.length.sum()
    line = {"uniform": np.ones_like(place), "triangular": 1.0 - place}.get(distribution)

    def leading(load: float) -> complex:
        if line is None:
            loaded = rod._replace(follower=np.array([0.0, 0.0, -load]))
            return complex(_spectrum(loaded, still, basis)[0])
        force = load * line * rod.span
        pressed = rod._replace(weight=np.outer(-force, rod.frame[:, 2]))
        turning = basis[1::3].T @ _turning_stiffness(rod, force) @ basis[1::3]
        return complex(_spectrum(pressed, still, basis, turning)[0])

    def grows(load: float) -> bool:
        value = leading(load)
        return value.real > GROWTH_SHARE * abs(value)

    load = bisect(grows, lowest, highest)
    return FollowerLimit(load, abs(leading(load).imag))


def decay_rates(case: Case, speed: float) -> ComplexArray:
    """Return the eigenvalues [1/s] of small beating motions of an aligned part, slowest first.

    Parameters
    ----------
    case : Case with one part that hangs straight along the stream
    speed : float [m/s]

    Returns
    -------
    eigenvalues : complex array, of soft bending; growth rate + i angular frequency, the overdamped
        ones left out
    """
    rod = _rod(case)
    found = _spectrum(rod, make_stream(speed, X), _soft_basis(rod))
    beating = found[found.imag > REAL_SHARE * np.abs(found.imag).max()]
    return np.asarray(beating[np.argsort(beating.imag)])


def damping_ratios(case: Case) -> Array:
    """Return the damping ratios [-] of the soft-bending modes of a straight part, slowest first."""
    found = decay_rates(case, 0.0)
    return np.asarray(-found.real / np.abs(found))


def damping_ratio_growth(case: Case) -> float:
    """Return the damping ratio of the second soft-bending mode over that of the first [-].

    Raises
    ------
    SolveError
        If the second mode is overdamped.
    """
    ratio = damping_ratios(case)
    if len(ratio) < 2:
        raise SolveError("the second mode does not beat")
    return float(ratio[1] / ratio[0])


def bisect(beyond: Callable[[float], bool], low: float, high: float) -> float:
    """Return where ``beyond`` turns true between two numbers, to 1e-7 of their distance.

    Raises
    ------
    SolveError
        If it is true at ``low`` already or not yet at ``high``.
    """
    if beyond(low) or not beyond(high):
        raise SolveError(f"the limit is not between {low:g} and {high:g}")
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        if beyond(middle):
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


def _rod(case: Case) -> Rod:
    """Return the rod of the case's first part as slow motion feels it."""
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare_rod(
        Specimen(strip, lure.water, values_of(strip), gravity=case.scenarios[0].gravity)
    )
    return with_material(ready.rod, *ready.material(1.0))


def _soft_basis(rod: Rod) -> Array:
    """Return the lowest soft-bending modes (3 N, m) of the straight rod without its loads."""
    straight = np.zeros_like(rod.natural)
    plain = rod._replace(drag=np.zeros_like(rod.drag), follower=np.zeros(3), reactive=0.0)
    modes = natural_modes(plain, straight, min(4 * BASIS, straight.size))
    soft = [i for i, kind in enumerate(modes.kind) if kind == "soft bending"]
    return modes.shape[:, soft[:BASIS]]


def _turning_stiffness(rod: Rod, force: Array) -> Array:
    """Return what compressive node forces (N,) [N] add to the hinge stiffness by following.

    Node k has turned by the sum of the hinge angles up to k; its force -F then has a part -F times
    that angle across the rod, with the lever from hinge j to node k. Array (N, N) [N m/rad].
    """
    node = np.cumsum(rod.length)
    lever = np.tril(node[:, None] - (node - 0.5 * rod.length)[None, :])
    turns = np.tril(np.ones_like(lever))
    return np.asarray(lever.T @ (force[:, None] * turns))


def _spectrum(
    rod: Rod, stream: Stream, basis: Array, more_stiffness: Array | float = 0.0
) -> ComplexArray:
    """Return the eigenvalues [1/s] of small motions of a straight rod, fastest growing first."""
    size = basis.shape[1]
    mass, damping, stiffness = tangents(rod, stream, np.zeros_like(rod.natural), basis)
    stiffness = stiffness + more_stiffness
    system = np.zeros((2 * size, 2 * size))
    system[:size, size:] = np.eye(size)
    system[size:] = -np.linalg.solve(mass, np.hstack([stiffness, damping]))
    values = np.linalg.eigvals(system).astype(np.complex128)
    return np.asarray(values[np.argsort(-values.real)])
