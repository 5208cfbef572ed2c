"""Rest shapes: equilibrium of the rod in a stream, followed from the moulded shape."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from simsoft.bodies.rod.stepper import ENERGY_TERMS, HISTORY_COLUMNS, advance
from simsoft.bodies.rod.tangents import at_rest, turned_by, whole_stiffness
from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Rod, Stream
from simsoft.mechanics.rotation import quaternion_from_vector, vector_from_quaternion
from simsoft.solvers.continuation import Branch, Steps, follow_speeds, let_on
from simsoft.solvers.newton import Corrections, Factors, Newton

RULE = Corrections(most=16, slow=0.2)
STEPS = Steps(largest=0.5, smallest_load=1.0 / 4096.0, smallest=1.0 / 64.0)
FALL_DAMPING = 0.1  # [s] Kelvin-Voigt time of a part let go to fall to its next rest shape
FALL_TIME = 6.0  # [s]
FALL_STEP = 2.0e-3  # [s]
STILL_RATE = 0.5  # [rad/s] of the whole rod, below which a fall has ended
PUSHES = (0.2, 0.5, 1.0)  # [rad] off an unstable shape, in search of the one it turns to


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


def turn(first: Rest, second: Rest) -> float:
    """Return the largest rotation [rad] of any node, small-angle sum of hinge changes."""
    return _turn(first.angle - second.angle)


def _turn(change: Array) -> float:
    return float(np.abs(np.cumsum(change, axis=0)).max())


@dataclass(frozen=True)
class _Held:
    """A rod at its clamp, see ``newton.Held``."""

    rod: Rod
    size: ClassVar[float] = 1.0

    def out_of_balance(self, stream: Stream, shape: Rest) -> Array:
        return np.asarray(at_rest(self.rod, stream, shape.angle).missing.ravel())

    def factored(self, stream: Stream, shape: Rest) -> Factors:
        return Factors(whole_stiffness(self.rod, stream, shape.angle))

    def moved(self, shape: Rest, change: Array) -> Rest:
        return Rest(turned_by(shape.angle, change.reshape(shape.angle.shape)), True)


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
    newton: Newton[Rest] = Newton(RULE)
    held = _Held(rod)
    begun = _let_down(newton, rod, direction) if start is None else Rest(start, True)
    if not begun.found:
        return [begun] * len(speeds)

    def at(speed: float) -> Stream:
        return make_stream(speed, direction, shear)

    branch = Branch(
        lambda speed, near: newton.solve(held, at(speed), near),
        turn, STEPS, begun, start_speed, ahead=_ahead,
    )  # fmt: skip
    asked = [float(speed) for speed in np.asarray(speeds, dtype=float)]
    if keep:
        return follow_speeds(branch, asked)
    return follow_speeds(
        branch,
        asked,
        lambda speed, rest: _fall(newton, held, at(speed), rest),
        lambda speed, rest: _stable_branch(newton, held, at(speed), rest),
    )


def _ahead(before: Rest, here: Rest, taken: float, step: float) -> Rest:
    """Return the shape expected a step [m/s] on, from the one taken to come here."""
    return Rest(here.angle + (here.angle - before.angle) / taken * step, True)


def _is_stable(newton: Newton[Rest], held: _Held, stream: Stream, rest: Rest) -> bool:
    """Return whether the tangent at a rest shape has a positive determinant; keep it."""
    newton.tangent = factors = held.factored(stream, rest)
    return factors.positive


def _stable_branch(
    newton: Newton[Rest], held: _Held, stream: Stream, rest: Rest
) -> tuple[bool, Rest | None]:
    """Return whether there is a stable rest shape, and it where ``rest`` is not the one.

    A determinant of the tangent below zero says that an odd number of directions has lost its
    static stability: the shape turns aside there. It is pushed along the weakest direction,
    further and further, both ways, until it settles on a shape with a positive determinant.
    Where there is none, the shape is left as it is and the eigenvalues will tell.
    """
    if _is_stable(newton, held, stream, rest):
        return True, None
    rod, angle = held.rod, rest.angle
    tangent = whole_stiffness(rod, stream, angle)
    values, vectors = np.linalg.eig(tangent / rod.stiffness.reshape(-1, 1))
    weakest = vectors[:, np.argmin(values.real)].real.reshape(angle.shape)
    weakest = weakest / _turn(weakest)
    weakest *= np.sign(weakest[np.unravel_index(np.abs(weakest).argmax(), weakest.shape)])
    for size in PUSHES:
        for push in (size, -size):
            newton.forget()
            found = newton.solve(held, stream, Rest(angle + push * weakest, True))
            if not found.found or turn(found, rest) < 0.1 * size:
                continue
            if _is_stable(newton, held, stream, found):
                return True, found
    return False, None


def _fall(newton: Newton[Rest], held: _Held, stream: Stream, rest: Rest) -> Rest | None:
    """Return the stable rest shape a part falls to when its own is gone, or None.

    The part is let go with heavy damping, which changes no equilibrium, and the shape it
    comes to is made exact by Newton's method.
    """
    rod, angle = held.rod, rest.angle
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
    newton.forget()
    found = newton.solve(held, stream, Rest(fallen, True))
    if not found.found or _turn(found.angle - fallen) > STEPS.largest:
        return None
    return found if _is_stable(newton, held, stream, found) else None


def _let_down(newton: Newton[Rest], rod: Rod, direction: Array) -> Rest:
    """Return the rest shape in still water, dead loads applied in as many steps as needed."""
    still = make_stream(0.0, direction)

    def solve(share: float, near: Rest) -> Rest:
        return newton.solve(_Held(with_dead_loads(rod, share)), still, near)

    return let_on(solve, turn, Rest(rod.natural.copy(), True), STEPS)


def with_dead_loads(rod: Rod, share: float) -> Rod:
    """Return a rod with a share of its dead loads, 0..1."""
    return rod._replace(
        weight=rod.weight * share,
        follower=rod.follower * share,
        tip_moment=rod.tip_moment * share,
        paddle=rod.paddle._replace(weight=rod.paddle.weight * share),
    )
