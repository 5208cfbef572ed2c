"""Rest shapes: equilibrium of the rod in a stream, followed from the moulded shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg import LinAlgError, lu_factor, lu_solve

from simsoft.solve.linearise import static_jacobian, static_residual
from simsoft.structure.rod import Rod, Stream

Array = npt.NDArray[np.float64]

TOLERANCE = 1.0e-8  # [rad] largest correction of a converged hinge angle
LARGEST_CORRECTION = 0.3  # [rad] a hinge may turn in one correction
CORRECTIONS = 40
SLOW = 0.2  # a chord step that shrinks the correction less asks for a new tangent
LARGEST_TURN = 0.5  # [rad] of any node in one load step: a larger one may be another branch
SMALLEST_LOAD_STEP = 1.0 / 512.0  # of the way from one speed to the next
JUMP = "the shape jumps to another equilibrium"


@dataclass(frozen=True)
class Rest:
    """A rest shape.

    Attributes
    ----------
    angle : array (N, 3) [rad], hinge angles
    found : bool
    message : str, why not, where it was not found
    """

    angle: Array
    found: bool
    message: str = ""


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
            angle += correction * min(1.0, LARGEST_CORRECTION / max(size, 1e-300))
            if size < TOLERANCE:
                return Rest(angle, True)
            if size > SLOW * previous:
                self.factors = None
            fresh = False
            previous = size
        self.factors = None
        return Rest(start, False, f"no equilibrium after {CORRECTIONS} corrections")


def rest_branch(
    rod: Rod, speeds: Array, direction: Array, shear: float = 0.0, start: Array | None = None
) -> list[Rest]:
    """Follow the rest shape from still water, or ``start``, through ascending speeds.

    Parameters
    ----------
    rod : Rod with its material
    speeds : array (S,) [m/s], ascending
    direction : array (3,), unit vector of the stream
    shear : float [1/s]
    start : array (N, 3) [rad], a rest shape just below the first speed; default the moulded
        shape let down under its own weight in still water

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
    speed_from, slope = 0.0, np.zeros_like(angle)
    lost: Rest | None = None
    for speed in np.asarray(speeds, dtype=float):
        if lost is not None:
            results.append(lost)
            continue
        target = float(speed)
        at, part = speed_from, 1.0
        while at < target or (target == at == 0.0):
            trial = min(target, at + part * (target - speed_from))
            rest = newton.solve(
                rod, make_stream(trial, direction, shear), angle + slope * (trial - at)
            )
            if not rest.found and slope.any():
                rest = newton.solve(rod, make_stream(trial, direction, shear), angle)
            if rest.found and _turn(rest.angle - angle) <= LARGEST_TURN:
                if trial > at:
                    slope = (rest.angle - angle) / (trial - at)
                angle, at = rest.angle, trial
                part = min(1.0, 2.0 * part)
                if trial == target:
                    break
            else:
                part *= 0.5
                slope = np.zeros_like(angle)
                if part < SMALLEST_LOAD_STEP:
                    lost = Rest(
                        angle, False, f"rest shape lost at {trial:.4g} m/s: {rest.message or JUMP}"
                    )
                    break
        results.append(lost if lost is not None else Rest(angle, True))
        speed_from = target
    return results


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
            if part < SMALLEST_LOAD_STEP:
                return Rest(angle, False, f"no rest shape in still water: {rest.message or JUMP}")
    return Rest(angle, True)
