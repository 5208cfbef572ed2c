"""Rest shapes of a plate on a rod's end: Newton's method on both, followed through speeds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, lu_factor, lu_solve

from simsoft.bodies.continuation import follow_speeds, let_on
from simsoft.bodies.paddle.modes import STILL, hung, jacobian, out_of_shape
from simsoft.bodies.plate.equilibrium import CORRECTIONS, LARGEST_CORRECTION, SLOW, TOLERANCE
from simsoft.bodies.rod.tangents import clamp_load, turned_by
from simsoft.core.arrays import Array
from simsoft.lure.paddle_model import StemModel
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.rod import Rod, Stream


@dataclass(frozen=True)
class StemRest:
    """A rest shape.

    Attributes
    ----------
    angle : array (N, 3) [rad], of the rod's hinges
    state : array (n, 6), the plate in the end's frame
    found : bool
    message : str, why not
    """

    angle: Array
    state: Array
    found: bool
    message: str = ""


class _Newton:
    """Newton's method with a tangent that is kept while it serves."""

    def __init__(self, model: StemModel, rod: Rod, plate: Plate, modulus: float) -> None:
        self.model, self.rod, self.plate, self.modulus = model, rod, plate, modulus
        self.length = float(np.ptp(model.local[:, :3], axis=0).max())
        self.factors: tuple[Array, Array] | None = None

    def forget(self) -> None:
        """Drop the tangent."""
        self.factors = None

    def solve(self, stream: Stream, start: StemRest) -> StemRest:
        """Return the rest shape in a stream, sought from a shape near to it."""
        angle, state = start.angle.copy(), start.state.copy()
        hinges = angle.size
        scale = np.ones(state.shape)
        scale[:, :3] /= self.length
        weight = np.concatenate([np.ones(hinges), scale.ravel()[self.model.free]])
        previous, fresh = np.inf, False
        shape = (self.model, self.rod, self.plate, self.modulus, stream)
        for _ in range(CORRECTIONS):
            if self.factors is None:
                try:
                    parts = hung(*shape, angle, state)
                    self.factors = lu_factor(jacobian(parts, stream, angle))
                except (LinAlgError, ValueError):
                    return StemRest(start.angle, start.state, False, "the tangent is singular")
                fresh = True
            change = -lu_solve(self.factors, out_of_shape(*shape, angle, state)[1])
            size = float(np.abs(change * weight).max())
            if not np.isfinite(size):
                break
            if size > SLOW * previous and size > TOLERANCE and not fresh:
                self.factors, previous = None, np.inf
                continue
            change *= min(1.0, LARGEST_CORRECTION / max(size, 1e-300))
            angle = turned_by(angle, change[:hinges].reshape(-1, 3))
            state.flat[self.model.free] += change[hinges:]
            if size < TOLERANCE:
                return StemRest(angle, state, True)
            if size > SLOW * previous or size > LARGEST_CORRECTION:
                self.factors = None
            previous, fresh = size, False
        self.factors = None
        reason = f"no equilibrium after {CORRECTIONS} corrections"
        return StemRest(start.angle, start.state, False, reason)


def _turn(first: StemRest, second: StemRest) -> float:
    """Return the largest turning [rad] between two shapes, of the rod's nodes or of the plate."""
    rod = np.abs(np.cumsum(first.angle - second.angle, axis=0)).max()
    return max(float(rod), float(np.abs(first.state - second.state)[:, 3:].max()))


def still_stem(model: StemModel, rod: Rod, plate: Plate, modulus: float) -> StemRest:
    """Return the rest shape in still water: the dead loads let on in smaller and smaller parts.

    ``rod`` has its material; ``plate`` is for unit modulus, ``modulus`` [Pa] its own.
    """

    def solve(share: float, near: StemRest) -> StemRest:
        part = StemModel(**{**vars(model), "dead": share * model.dead})
        light = rod._replace(
            weight=share * rod.weight,
            follower=share * rod.follower,
            tip_moment=share * rod.tip_moment,
        )
        return _Newton(part, light, plate, modulus).solve(STILL, near)

    return let_on(solve, _turn, StemRest(rod.natural, model.local, True))


def stem_branch(
    model: StemModel,
    rod: Rod,
    plate: Plate,
    modulus: float,
    streams: list[Stream],
    start: StemRest,
    start_speed: float = 0.0,
) -> list[StemRest]:
    """Follow the rest shape from ``start`` through streams of ascending speed.

    Parameters
    ----------
    model, rod, plate, modulus : as a long-held shape feels them, see ``still_stem``
    streams : list of Stream, one direction, ascending speed
    start : StemRest at ``start_speed`` [m/s]

    Returns
    -------
    list of StemRest
        After the branch is lost the last shape found is returned, with ``found`` false.
    """
    newton = _Newton(model, rod, plate, modulus)
    return follow_speeds(newton.solve, newton.forget, _turn, streams, start, start_speed)


def clamp_load_of_stem(
    model: StemModel, rod: Rod, plate: Plate, modulus: float, stream: Stream, rest: StemRest
) -> Array:
    """Return force [N] and moment [N m] (6,) of stem and plate at rest on the clamp."""
    loaded, _ = out_of_shape(model, rod, plate, modulus, stream, rest.angle, rest.state)
    return np.asarray(clamp_load(loaded, stream, rest.angle))
