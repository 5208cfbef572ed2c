"""Rest shapes of a plate: Newton's method on its unknowns, followed through rising speeds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse.linalg import splu

from simsoft.bodies.plate.modes import stiffness_of
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.plate.flow import flow_force
from simsoft.hydrodynamics.plate.tangent import flow_slopes
from simsoft.lure.plate_model import PlateModel
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.plate_forces import internal_forces
from simsoft.mechanics.rod import Stream
from simsoft.solvers.continuation import Branch, Steps, follow_speeds, let_on
from simsoft.solvers.newton import LARGEST_CORRECTION, Corrections, Factors, Newton, Solve

ALIGNED = 1.0e-12  # correction below which a start is taken as the rest shape it already is
RULE = Corrections(most=40, slow=0.3, large=LARGEST_CORRECTION)
STEPS = Steps(largest=0.35, smallest_load=1.0 / 256.0, smallest=1.0 / 256.0, squared=True)


@dataclass(frozen=True)
class PlateRest:
    """A rest shape: state (n, 6), whether it was found, why not, and see ``Rest.aside``."""

    state: Array
    found: bool
    message: str = ""
    aside: bool = False


def water_at(model: PlateModel, stream: Stream, state: Array) -> Array:
    """Return the velocity of the water (n, 3) [m/s] at the nodes of a state."""
    height = state[:, 2] + model.root[2]
    return np.asarray(stream.velocity + stream.shear * height[:, None] * stream.direction)


def water_force(model: PlateModel, stream: Stream, state: Array) -> Array:
    """Return the water's force (n, 6) [N] on a plate at rest."""
    force = np.zeros_like(state)
    if model.flow is not None and np.any(stream.velocity):
        still = np.zeros_like(state)
        flow_force(model.flow, state, still, still, water_at(model, stream, state), force)
    return force


def plate_residual(
    model: PlateModel, plate: Plate, modulus: float, stream: Stream, state: Array
) -> Array:
    """Return the force out of balance (n, 6): elastic less dead and water's."""
    inner = np.zeros_like(state)
    internal_forces(plate, state, np.zeros_like(state), 0.0, inner)
    return modulus * inner - model.dead - water_force(model, stream, state)


def clamp_load_of_plate(
    model: PlateModel, modulus: float, stream: Stream, state: Array
) -> tuple[Array, Array]:
    """Return force (3,) [N] and moment (3,) [N m] of a plate at rest on its clamp."""
    held = np.flatnonzero(model.planform.clamped)
    out = plate_residual(model, model.plate, modulus, stream, state)[held]
    turning = np.cross(state[held, :3], out[:, :3]) + np.cross(state[held, 3:], out[:, 3:])
    return -out[:, :3].sum(axis=0), -turning.sum(axis=0)


def extent(model: PlateModel) -> float:
    """Return the length [m] of the planform."""
    return float(np.ptp(model.planform.plan[:, 0]))


@dataclass(frozen=True)
class _Held:
    """A plate at its clamp, see ``newton.Held``."""

    model: PlateModel
    plate: Plate
    modulus: float

    @property
    def size(self) -> Array:
        scale = np.ones(self.model.state.shape)
        scale[:, :3] = 1.0 / extent(self.model)
        return np.asarray(scale.ravel()[self.model.free])

    def out_of_balance(self, stream: Stream, shape: PlateRest) -> Array:
        whole = plate_residual(self.model, self.plate, self.modulus, stream, shape.state)
        return np.asarray(whole.ravel()[self.model.free])

    def factored(self, stream: Stream, shape: PlateRest) -> Solve:
        model, state = self.model, shape.state
        stiffness = stiffness_of(model, self.plate, self.modulus, state)
        if model.flow is None or not np.any(stream.velocity):
            solve: Solve = splu(stiffness.tocsc()).solve
            return solve
        by_state, _ = flow_slopes(
            model.flow, state, np.zeros_like(state), water_at(model, stream, state)
        )
        return Factors(stiffness.toarray() - by_state[np.ix_(model.free, model.free)])

    def moved(self, shape: PlateRest, change: Array) -> PlateRest:
        state = shape.state.copy()
        state.flat[self.model.free] += change
        return PlateRest(state, True)

    def balances(self, stream: Stream, shape: PlateRest) -> bool:
        """Return whether a shape is in balance as it is: a look with the elastic tangent.

        A plate aligned with the stream is, at every speed.
        """
        stiffness = stiffness_of(self.model, self.plate, self.modulus, shape.state)
        missing = self.out_of_balance(stream, shape)
        most = ALIGNED * (abs(stiffness) @ (1.0 / self.size))
        if np.any(np.abs(missing) > most):
            return False  # corrections as small as that could not do it
        try:
            solve = splu(stiffness.tocsc()).solve
        except RuntimeError:
            return False
        change = solve(missing)
        return bool(np.abs(change * self.size).max() < ALIGNED)


def _search(newton: Newton[PlateRest], held: _Held, stream: Stream, near: PlateRest) -> PlateRest:
    """Return the rest shape in a stream, sought from a near one unless that is it already."""
    if newton.tangent is None and held.balances(stream, near):
        return PlateRest(near.state, True)
    return newton.solve(held, stream, near)


def still_plate(model: PlateModel, plate: Plate, modulus: float) -> PlateRest:
    """Return the rest shape in still water: the dead loads let on in smaller and smaller parts."""
    still = Stream(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.0)

    def solve(share: float, near: PlateRest) -> PlateRest:
        part = replace(model, dead=share * model.dead)
        return _search(Newton(RULE), _Held(part, plate, modulus), still, near)

    return let_on(solve, _turn, PlateRest(model.state, True), STEPS)


def plate_branch(
    model: PlateModel,
    plate: Plate,
    modulus: float,
    speeds: Array,
    direction: Array,
    shear: float,
    start: Array,
    start_speed: float = 0.0,
) -> list[PlateRest]:
    """Follow the rest shape from ``start`` through ascending speeds.

    Parameters
    ----------
    model, plate, modulus : the plate as a long-held shape feels it
    speeds : array (S,) [m/s], ascending
    direction : array (3,) of the stream
    shear : float [1/s]
    start : array (n, 6), rest shape at ``start_speed`` [m/s]

    Returns
    -------
    list of PlateRest
        After the branch is lost the last shape found is returned, with ``found`` false.
    """
    newton: Newton[PlateRest] = Newton(RULE)
    held = _Held(model, plate, modulus)
    branch = Branch(
        lambda speed, near: _search(newton, held, make_stream(speed, direction, shear), near),
        _turn, STEPS, PlateRest(start, True), start_speed, forget=newton.forget,
    )  # fmt: skip
    return follow_speeds(branch, [float(speed) for speed in speeds])


def _turn(first: PlateRest, second: PlateRest) -> float:
    """Return the largest change of a director between two shapes."""
    return float(np.abs(first.state[:, 3:] - second.state[:, 3:]).max())
