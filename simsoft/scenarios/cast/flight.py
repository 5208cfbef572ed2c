"""Ballistic flight of a point mass with quadratic drag in wind, many throws at once.

m dv/dt = m g - (rho/2) CdA |v - w| (v - w) - c |v| v, from a release height to the water. The
last term is the pull of the line behind the lure, against its velocity over ground. Axes: x
down range, y to the left, z up from the water.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.lure.parts import GRAVITY

LONGEST = 120.0  # [s] no cast flies so long
RELATIVE, ABSOLUTE = 1.0e-8, 1.0e-8  # tolerances of the integration
LANDING = 1.0e-9  # [m] height at which a lure counts as landed
CORRECTIONS = 12
PATH_POINTS = 81
TOGETHER = 100  # throws solved as one system: the dense output costs their number squared


@dataclass(frozen=True)
class Throws:
    """Throws, one an entry; every field is an array (n,) or a float that holds for all.

    Attributes
    ----------
    mass : [kg]
    drag_area : [m^2], drag coefficient times area
    speed : [m/s], at release
    angle : [rad], of the release above the horizon
    height : [m], of the release above the water
    wind_x, wind_y : [m/s], velocity of the air down range and to the left
    air_density : [kg/m^3]
    line_drag : [N s^2/m^2], c above
    """

    mass: Array | float
    drag_area: Array | float
    speed: Array | float
    angle: Array | float
    height: Array | float = 2.0
    wind_x: Array | float = 0.0
    wind_y: Array | float = 0.0
    air_density: Array | float = 1.225
    line_drag: Array | float = 0.0


@dataclass(frozen=True)
class Landings:
    """Where throws end, arrays (n,).

    Attributes
    ----------
    distance, drift : [m], down range and to the left, where the lure meets the water
    time : [s]
    speed : [m/s], at the water
    apex : [m], greatest height above the water
    """

    distance: Array
    drift: Array
    time: Array
    speed: Array
    apex: Array


def fly(throws: Throws) -> Landings:
    """Return where throws land.

    Raises
    ------
    SolveError
        If the integration fails or a lure does not come down within two minutes.
    """
    whole, n = _spread(throws)
    found = [_land(_some(whole, slice(k, k + TOGETHER))) for k in range(0, n, TOGETHER)]
    columns = {
        item.name: np.concatenate([getattr(part, item.name) for part in found])
        for item in fields(Landings)
    }
    return Landings(**columns)


def _land(throws: Throws) -> Landings:
    """Return where a handful of throws land, solved as one system of equations."""
    n = len(np.asarray(throws.mass))
    solution = _integrate(throws, n)
    # From the end of each lure's first step below the water, Newton's method on the dense
    # output: the vertical speed at landing is far from zero. The last lure lands at the last step.
    height = solution.y.reshape(6, n, -1)[2]
    below = height <= LANDING
    below[:, 0], below[:, -1] = False, True
    time = np.asarray(solution.t[np.argmax(below, axis=1)], dtype=float)
    rows = np.arange(n)
    for _ in range(CORRECTIONS):
        state = solution.sol(time).reshape(6, n, n)[:, rows, rows]
        if np.abs(state[2]).max() < LANDING:
            break
        time = time - state[2] / state[5]
    else:
        raise SolveError("a flight did not come down cleanly: give a lower release or speed")
    return Landings(
        distance=state[0],
        drift=state[1],
        time=time,
        speed=np.linalg.norm(state[3:], axis=0),
        apex=_peak(solution, n),
    )


def throw_path(throws: Throws, landings: Landings, which: int) -> Array:
    """Return the path (points, 3) [m] of one throw from release to water.

    Parameters
    ----------
    throws : Throws
    landings : Landings, of the same throws
    which : int, number of the throw
    """
    whole, _ = _spread(throws)
    solution = _integrate(_some(whole, slice(which, which + 1)), 1)
    times = np.linspace(0.0, float(landings.time[which]), PATH_POINTS)
    return np.asarray(solution.sol(times)[:3].T)


def _spread(throws: Throws) -> tuple[Throws, int]:
    """Return the throws with every field an array of the same length, and that length."""
    columns = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(getattr(throws, item.name), float)) for item in fields(throws))
    )
    names = [item.name for item in fields(throws)]
    return Throws(**dict(zip(names, columns, strict=True))), len(columns[0])


def _some(throws: Throws, rows: slice) -> Throws:
    return Throws(**{item.name: getattr(throws, item.name)[rows] for item in fields(throws)})


def _integrate(throws: Throws, n: int):  # type: ignore[no-untyped-def]
    """Return SciPy's solution of all throws together, past the last landing."""
    from scipy.integrate import solve_ivp  # slow to import

    mass = np.asarray(throws.mass)
    factor = 0.5 * np.asarray(throws.air_density) * np.asarray(throws.drag_area) / mass
    pull = np.asarray(throws.line_drag) / mass
    wind = np.stack([throws.wind_x, throws.wind_y, np.zeros(n)])
    start = np.zeros((6, n))
    start[2] = throws.height
    start[3] = throws.speed * np.cos(throws.angle)
    start[5] = throws.speed * np.sin(throws.angle)

    def rate(_: float, flat: Array) -> Array:
        state = flat.reshape(6, n)
        velocity = state[3:]
        relative = velocity - wind
        change = np.empty_like(state)
        change[:3] = velocity
        change[3:] = -factor * np.sqrt((relative**2).sum(axis=0)) * relative
        change[3:] -= pull * np.sqrt((velocity**2).sum(axis=0)) * velocity
        change[5] -= GRAVITY
        return change.ravel()

    def highest(_: float, flat: Array) -> float:
        return float(flat.reshape(6, n)[2].max())

    highest.terminal = True  # type: ignore[attr-defined]
    highest.direction = -1.0  # type: ignore[attr-defined]
    solution = solve_ivp(
        rate, (0.0, LONGEST), start.ravel(), method="DOP853", rtol=RELATIVE, atol=ABSOLUTE,
        dense_output=True, events=highest,
    )  # fmt: skip
    if not solution.success or solution.t_events[0].size == 0:
        raise SolveError(f"the flight could not be solved: {solution.message}")
    return solution


def _peak(solution, n: int) -> Array:  # type: ignore[no-untyped-def]
    """Return the greatest height [m] of every throw between the steps: z at vertical speed 0."""
    states = solution.y.reshape(6, n, -1)
    best = states[2].max(axis=1)
    row = np.argmax(states[2], axis=1)
    rows = np.arange(n)
    # a parabola through the highest step: z + v^2/(2 g) is its top to second order
    rise = states[5][rows, row]
    return np.asarray(best + 0.5 * rise**2 / GRAVITY)
