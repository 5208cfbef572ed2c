"""Rest shapes: equilibrium of the rod in a stream, followed from the moulded shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, lu_factor, lu_solve

from simsoft.bodies.rod.stepper import ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.bodies.rod.tangents import static_jacobian, static_residual, turned_by
from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import quaternion_from_vector, vector_from_quaternion

TOLERANCE = 1.0e-8  # [rad] largest correction of a converged hinge angle
LARGEST_CORRECTION = 0.3  # [rad] a hinge may turn in one correction
CORRECTIONS = 16
SLOW = 0.2  # a chord step that shrinks the correction less asks for a new tangent
LARGEST_TURN = 0.5  # [rad] of any node in one load step: a larger one may be another branch
SMALLEST_LOAD_STEP = 1.0 / 64.0  # of the way from one speed to the next
FALL_DAMPING = 0.1  # [s] Kelvin-Voigt time of a part let go to fall to its next rest shape
FALL_TIME = 6.0  # [s]
FALL_STEP = 2.0e-3  # [s]
STILL_RATE = 0.5  # [rad/s] of the whole rod, below which a fall has ended
PUSHES = (0.2, 0.5, 1.0)  # [rad] off an unstable shape, in search of the one it turns to
SMALLEST_SHARE = 1.0 / 4096.0  # of the dead loads, let down in still water
JUMP = "the shape jumps to another equilibrium"
STRAY_TURN = 1.0e-3  # [rad] farther from both neighbours than they from each other: a stray
EXCHANGE = "a stable rest shape is gone over to that was not found at the speeds below"


@dataclass(frozen=True)
class Rest:
    """A rest shape.

    Attributes
    ----------
    angle : array (N, 3) [rad], hinge angles
    found : bool
    message : str, why not, where it was not found; else what the branch does there, if anything
    aside : bool, the shape has turned aside onto a branch that forks off the moulded one
    """

    angle: Array
    found: bool
    message: str = ""
    aside: bool = False


def make_stream(speed: float, direction: Array, shear: float = 0.0) -> Stream:
    """Return the stream of a speed [m/s] along a unit vector with a shear [1/s]."""
    unit = np.asarray(direction, dtype=float)
    return Stream(speed * unit, unit, float(shear))


def _turn(change: Array) -> float:
    """Return the largest rotation [rad] of any node, small-angle sum of hinge changes."""
    return float(np.abs(np.cumsum(change, axis=0)).max())


class _Newton:
    """Newton's method on the hinge angles, reusing its factored tangent while it serves."""

    def __init__(self) -> None:
        self.factors: tuple[Array, Array] | None = None

    def stable(self, rod: Rod, stream: Stream, angle: Array) -> bool:
        """Return whether the tangent at a rest shape has a positive determinant; keep it."""
        self.factors = lu_factor(static_jacobian(rod, stream, angle))
        triangle, pivot = self.factors
        swaps = int(np.count_nonzero(pivot != np.arange(len(pivot))))
        negative = int(np.count_nonzero(np.diag(triangle) < 0.0))
        return bool(np.all(np.diag(triangle) != 0.0)) and (swaps + negative) % 2 == 0

    def solve(self, rod: Rod, stream: Stream, start: Array) -> Rest:
        angle = start.copy()
        fresh = False
        previous = np.inf
        for _ in range(CORRECTIONS):
            residual = static_residual(rod, stream, angle)
            if self.factors is None:
                try:
                    self.factors = lu_factor(static_jacobian(rod, stream, angle))
                except (LinAlgError, ValueError):
                    return Rest(start, False, "the tangent stiffness is singular")
                fresh = True
            correction = -lu_solve(self.factors, residual.ravel()).reshape(angle.shape)
            size = float(np.abs(correction).max())
            if not np.isfinite(size):
                self.factors = None
                return Rest(start, False, "the correction is not finite")
            if size > SLOW * previous and size > TOLERANCE and not fresh:
                self.factors = None
                previous = np.inf
                continue
            angle = turned_by(angle, correction * min(1.0, LARGEST_CORRECTION / max(size, 1e-300)))
            if size < TOLERANCE:
                return Rest(angle, True)
            if size > SLOW * previous:
                self.factors = None
            fresh = False
            previous = size
        self.factors = None
        return Rest(start, False, f"no equilibrium after {CORRECTIONS} corrections")


def rest_branch(
    rod: Rod,
    speeds: Array,
    direction: Array,
    shear: float = 0.0,
    start: Array | None = None,
    start_speed: float = 0.0,
    keep: bool = False,
) -> list[Rest]:
    """Follow the rest shape from still water, or ``start``, through ascending speeds.

    Parameters
    ----------
    rod : Rod with its material
    speeds : array (S,) [m/s], ascending
    direction : array (3,), unit vector of the stream
    shear : float [1/s]
    start : array (N, 3) [rad], a rest shape at ``start_speed`` [m/s]; default the moulded shape
        let down under its own weight in still water
    keep : bool, stay on the branch of the start, stable or not, and end where it ends

    Returns
    -------
    list of Rest, one a speed; from the speed where the branch is lost on, ``found`` is false
    and the angles are the last that were found
    """
    newton = _Newton()
    if start is None:
        begun = _let_down(newton, rod, direction)
        if not begun.found:
            return [begun] * len(speeds)
        angle = begun.angle
    else:
        angle = start
    results: list[Rest] = []
    here = _Place(start_speed, angle, np.zeros_like(angle))
    aside, stable = False, True
    for speed in np.asarray(speeds, dtype=float):
        target = float(speed)
        stream = make_stream(target, direction, shear)
        message = _follow(newton, rod, here, target, direction, shear)
        if message:
            jumped = None if keep else _fall(newton, rod, stream, here.angle)
            if jumped is None:
                lost = Rest(here.angle, False, message)
                return results + [lost] * (len(speeds) - len(results))
            here, aside, message = _Place(target, jumped, np.zeros_like(angle)), True, ""
        was_stable = stable
        if target > 0.0 and not keep:
            stable, forked = _stable_branch(newton, rod, stream, here.angle)
            if forked is not None:
                here, aside = _Place(target, forked, np.zeros_like(angle)), True
                message = "" if was_stable else f"at {target:.4g} m/s {EXCHANGE}"
        results.append(Rest(here.angle, True, message, aside))
    return results


def strays(found: Rest, low: Rest, high: Rest) -> bool:
    """Return whether a shape that turned aside lies on another branch than both its neighbours.

    ``low`` and ``high`` are the shapes at the next lower and higher speed sampled. On one branch
    a shape between them is no farther from the nearer one than they are from each other.
    """
    if not (found.aside and found.found and low.found and high.found):
        return False
    nearest = min(_turn(found.angle - other.angle) for other in (low, high))
    return nearest > _turn(high.angle - low.angle) + STRAY_TURN


@dataclass
class _Place:
    """Where a branch has been followed to: speed [m/s], angles and their slope with speed."""

    speed: float
    angle: Array
    slope: Array


def _follow(
    newton: _Newton, rod: Rod, here: _Place, target: float, direction: Array, shear: float
) -> str:
    """Follow a branch to a speed [m/s], in halved steps where need be; return why it ended."""
    whole = target - here.speed
    part = 1.0
    while True:
        left = target - here.speed
        step = left if abs(part * whole) >= abs(left) else part * whole
        trial = here.speed + step
        stream = make_stream(trial, direction, shear)
        rest = newton.solve(rod, stream, here.angle + here.slope * step)
        if not rest.found and here.slope.any():
            rest = newton.solve(rod, stream, here.angle)
        if rest.found and _turn(rest.angle - here.angle) <= LARGEST_TURN:
            if step != 0.0:
                here.slope = (rest.angle - here.angle) / step
            here.angle, here.speed = rest.angle, trial
            part = min(1.0, 2.0 * part)
            if step == left:
                here.speed = target
                return ""
        else:
            part *= 0.5
            here.slope = np.zeros_like(here.angle)
            if part < SMALLEST_LOAD_STEP:
                return f"rest shape lost at {trial:.4g} m/s: {rest.message or JUMP}"


def _stable_branch(
    newton: _Newton, rod: Rod, stream: Stream, angle: Array
) -> tuple[bool, Array | None]:
    """Return whether there is a stable rest shape, and it where ``angle`` is not the one.

    A determinant of the tangent below zero says that an odd number of directions has lost its
    static stability: the shape turns aside there. It is pushed along the weakest direction,
    further and further, both ways, until it settles on a shape with a positive determinant.
    Where there is none, the shape is left as it is and the eigenvalues will tell.
    """
    if newton.stable(rod, stream, angle):
        return True, None
    tangent = static_jacobian(rod, stream, angle)
    values, vectors = np.linalg.eig(tangent / rod.stiffness.reshape(-1, 1))
    weakest = vectors[:, np.argmin(values.real)].real.reshape(angle.shape)
    weakest = weakest / _turn(weakest)
    weakest *= np.sign(weakest[np.unravel_index(np.abs(weakest).argmax(), weakest.shape)])
    for size in PUSHES:
        for push in (size, -size):
            newton.factors = None
            rest = newton.solve(rod, stream, angle + push * weakest)
            if not rest.found or _turn(rest.angle - angle) < 0.1 * size:
                continue
            if newton.stable(rod, stream, rest.angle):
                return True, rest.angle
    return False, None


def _fall(newton: _Newton, rod: Rod, stream: Stream, angle: Array) -> Array | None:
    """Return the stable rest shape a part falls to when its own is gone, or None.

    The part is let go with heavy damping, which changes no equilibrium, and the shape it
    comes to is made exact by Newton's method.
    """
    n = angle.shape[0]
    heavy = rod._replace(
        kelvin_voigt=FALL_DAMPING, paddle=rod.paddle._replace(rim_force=0.0, force_growth=0.0)
    )
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(angle[k], quaternion[k])
    motion = np.zeros((4, n, 6))
    steps = int(FALL_TIME / FALL_STEP)
    done = advance(
        heavy,
        stream,
        FALL_STEP,
        steps,
        steps,
        False,
        quaternion,
        motion,
        np.zeros(4),
        np.zeros((2, ENERGY_TERMS)),
        np.zeros((1, HISTORY_COLUMNS)),
        np.zeros((1, n, 6)),
    )
    if done < steps or np.abs(motion[0]).max() * n > STILL_RATE:
        return None
    fallen = np.zeros((n, 3))
    for k in range(n):
        vector_from_quaternion(quaternion[k], fallen[k])
    newton.factors = None
    rest = newton.solve(rod, stream, fallen)
    if not rest.found or _turn(rest.angle - fallen) > LARGEST_TURN:
        return None
    return rest.angle if newton.stable(rod, stream, rest.angle) else None


def _let_down(newton: _Newton, rod: Rod, direction: Array) -> Rest:
    """Return the rest shape in still water, dead loads applied in as many steps as needed."""
    still = make_stream(0.0, direction)
    angle = rod.natural.copy()
    done, part = 0.0, 1.0
    while done < 1.0:
        share = min(1.0, done + part)
        loaded = rod._replace(
            weight=rod.weight * share,
            follower=rod.follower * share,
            tip_moment=rod.tip_moment * share,
            paddle=rod.paddle._replace(weight=rod.paddle.weight * share),
        )
        rest = newton.solve(loaded, still, angle)
        if rest.found and _turn(rest.angle - angle) <= LARGEST_TURN:
            angle, done = rest.angle, share
            part = min(2.0 * part, 1.0)
        else:
            part *= 0.5
            if part < SMALLEST_SHARE:
                return Rest(angle, False, f"no rest shape in still water: {rest.message or JUMP}")
    return Rest(angle, True)
