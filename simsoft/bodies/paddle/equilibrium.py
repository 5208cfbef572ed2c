"""Rest shapes of a plate on a rod's end: Newton's method on both, followed through speeds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simsoft.bodies.paddle.modes import STILL, Carried, jacobian, linearised_stem, out_of_shape
from simsoft.bodies.plate.equilibrium import RULE, STEPS
from simsoft.bodies.rod.equilibrium import make_stream, with_dead_loads
from simsoft.bodies.rod.tangents import at_rest, turned_by
from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Stream
from simsoft.solvers.continuation import Branch, follow_speeds, let_on
from simsoft.solvers.newton import Factors, Newton


@dataclass(frozen=True)
class StemRest:
    """A rest shape.

    Attributes
    ----------
    angle : array (N, 3) [rad], of the rod's hinges
    state : array (n, 6), the plate in the end's frame
    found : bool
    message : str, why not
    aside : bool, see ``Rest``
    """

    angle: Array
    state: Array
    found: bool
    message: str = ""
    aside: bool = False


@dataclass(frozen=True)
class _Held:
    """A plate on its stem at the clamp, see ``newton.Held``."""

    carried: Carried

    @property
    def size(self) -> Array:
        local = self.carried.model.local
        scale = np.ones(local.shape)
        scale[:, :3] /= float(np.ptp(local[:, :3], axis=0).max())
        hinges = np.ones(self.carried.rod.natural.size)
        return np.concatenate([hinges, scale.ravel()[self.carried.model.free]])

    def out_of_balance(self, stream: Stream, shape: StemRest) -> Array:
        return out_of_shape(self.carried, stream, shape.angle, shape.state)[1]

    def factored(self, stream: Stream, shape: StemRest) -> Factors:
        parts = linearised_stem(self.carried, stream, shape.angle, shape.state)
        return Factors(jacobian(parts, stream, shape.angle))

    def moved(self, shape: StemRest, change: Array) -> StemRest:
        hinges = shape.angle.size
        state = shape.state.copy()
        state.flat[self.carried.model.free] += change[hinges:]
        return StemRest(turned_by(shape.angle, change[:hinges].reshape(-1, 3)), state, True)


def _turn(first: StemRest, second: StemRest) -> float:
    """Return the largest turning [rad] between two shapes, of the rod's nodes or of the plate."""
    rod = np.abs(np.cumsum(first.angle - second.angle, axis=0)).max()
    return max(float(rod), float(np.abs(first.state - second.state)[:, 3:].max()))


def still_stem(carried: Carried) -> StemRest:
    """Return the rest shape in still water: the dead loads let on in smaller and smaller parts."""
    model, rod = carried.model, carried.rod

    def solve(share: float, near: StemRest) -> StemRest:
        part = replace(model, dead=share * model.dead)
        loaded = carried._replace(model=part, rod=with_dead_loads(rod, share))
        return Newton[StemRest](RULE).solve(_Held(loaded), STILL, near)

    return let_on(solve, _turn, StemRest(rod.natural, model.local, True), STEPS)


def stem_branch(
    carried: Carried,
    speeds: Array,
    direction: Array,
    shear: float,
    start: StemRest,
    start_speed: float = 0.0,
) -> list[StemRest]:
    """Follow the rest shape from ``start`` through ascending speeds.

    Parameters
    ----------
    carried : Carried, as a long-held shape feels it
    speeds : array (S,) [m/s], ascending
    direction : array (3,) of the stream, as long as the share that a body ahead leaves
    shear : float [1/s]
    start : StemRest at ``start_speed`` [m/s]

    Returns
    -------
    list of StemRest
        After the branch is lost the last shape found is returned, with ``found`` false.
    """
    newton: Newton[StemRest] = Newton(RULE)
    held = _Held(carried)
    branch = Branch(
        lambda speed, near: newton.solve(held, make_stream(speed, direction, shear), near),
        _turn, STEPS, start, start_speed, forget=newton.forget,
    )  # fmt: skip
    return follow_speeds(branch, [float(speed) for speed in speeds])


def clamp_load_of_stem(carried: Carried, stream: Stream, rest: StemRest) -> Array:
    """Return force [N] and moment [N m] (6,) of stem and plate at rest on the clamp."""
    loaded, _ = out_of_shape(carried, stream, rest.angle, rest.state)
    return np.asarray(at_rest(loaded, stream, rest.angle).load)
