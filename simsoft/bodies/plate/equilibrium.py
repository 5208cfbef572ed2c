"""Rest shapes of a plate: Newton's method on its unknowns, followed through rising speeds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, lu_factor, lu_solve
from scipy.sparse.linalg import splu

from simsoft.bodies.continuation import follow_speeds, let_on
from simsoft.bodies.plate.modes import stiffness_of
from simsoft.core.arrays import Array
from simsoft.hydrodynamics.plate.flow import flow_force
from simsoft.hydrodynamics.plate.tangent import flow_slopes
from simsoft.lure.plate_model import PlateModel
from simsoft.mechanics.plate import Plate
from simsoft.mechanics.plate_forces import internal_forces
from simsoft.mechanics.rod import Stream

TOLERANCE = 1.0e-8  # largest correction of a director [-] and of a place over the length
ALIGNED = 1.0e-12  # correction below which a start is taken as the rest shape it already is
LARGEST_CORRECTION = 0.3  # of a director in one correction
CORRECTIONS = 40
SLOW = 0.3  # a step with an old tangent that shrinks the correction less asks for a new one


@dataclass(frozen=True)
class PlateRest:
    """A rest shape: state (n, 6), whether it was found, and why not."""

    state: Array
    found: bool
    message: str = ""


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


def residual(
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
    out = residual(model, model.plate, modulus, stream, state)[held]
    turning = np.cross(state[held, :3], out[:, :3]) + np.cross(state[held, 3:], out[:, 3:])
    return -out[:, :3].sum(axis=0), -turning.sum(axis=0)


def extent(model: PlateModel) -> float:
    """Return the length [m] of the planform."""
    return float(np.ptp(model.planform.plan[:, 0]))


class _Newton:
    """Newton's method with a tangent that is kept while it serves."""

    def __init__(self, model: PlateModel, plate: Plate, modulus: float) -> None:
        self.model, self.plate, self.modulus = model, plate, modulus
        self.length = extent(model)
        self.solver: Callable[[Array], Array] | None = None

    def _factor(self, stream: Stream, state: Array) -> Callable[[Array], Array]:
        model = self.model
        stiffness = stiffness_of(model, self.plate, self.modulus, state)
        if model.flow is None or not np.any(stream.velocity):
            solve: Callable[[Array], Array] = splu(stiffness.tocsc()).solve
            return solve
        by_state, _ = flow_slopes(
            model.flow, state, np.zeros_like(state), water_at(model, stream, state)
        )
        dense = lu_factor(stiffness.toarray() - by_state[np.ix_(model.free, model.free)])
        return lambda vector: np.asarray(lu_solve(dense, vector))

    def _holds_already(self, stream: Stream, state: Array, scale: Array) -> bool:
        """Return whether a state is in balance as it is: one cheap look with the elastic tangent.

        A plate aligned with the stream is, at every speed.
        """
        force = residual(self.model, self.plate, self.modulus, stream, state)
        try:
            solve = splu(stiffness_of(self.model, self.plate, self.modulus, state).tocsc()).solve
        except RuntimeError:
            return False
        change = np.zeros_like(state)
        change.flat[self.model.free] = solve(force.ravel()[self.model.free])
        return bool(np.abs(change * scale).max() < ALIGNED)

    def forget(self) -> None:
        """Drop the tangent."""
        self.solver = None

    def solve(self, stream: Stream, start: Array) -> PlateRest:
        state = start.copy()
        scale = np.array([1.0 / self.length] * 3 + [1.0] * 3)
        previous = np.inf
        fresh = False
        if self.solver is None and self._holds_already(stream, state, scale):
            return PlateRest(state, True)
        for _ in range(CORRECTIONS):
            force = residual(self.model, self.plate, self.modulus, stream, state)
            if self.solver is None:
                try:
                    self.solver = self._factor(stream, state)
                except (LinAlgError, RuntimeError, ValueError):
                    return PlateRest(start, False, "the tangent stiffness is singular")
                fresh = True
            change = np.zeros_like(state)
            change.flat[self.model.free] = -self.solver(force.ravel()[self.model.free])
            size = float(np.abs(change * scale).max())
            if not np.isfinite(size):
                break
            if size > SLOW * previous and size > TOLERANCE and not fresh:
                self.solver = None
                previous = np.inf
                continue
            state += change * min(1.0, LARGEST_CORRECTION / max(size, 1e-300))
            if size < TOLERANCE:
                return PlateRest(state, True)
            if size > SLOW * previous or size > LARGEST_CORRECTION:
                self.solver = None
            fresh = False
            previous = size
        self.solver = None
        return PlateRest(start, False, f"no equilibrium after {CORRECTIONS} corrections")


def still_plate(model: PlateModel, plate: Plate, modulus: float) -> PlateRest:
    """Return the rest shape in still water: the dead loads let on in smaller and smaller parts."""
    still = Stream(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.0)

    def solve(share: float, near: PlateRest) -> PlateRest:
        part = PlateModel(**{**vars(model), "dead": share * model.dead})
        return _Newton(part, plate, modulus).solve(still, near.state)

    return let_on(solve, _turn, PlateRest(model.state, True))


def plate_branch(
    model: PlateModel,
    plate: Plate,
    modulus: float,
    streams: list[Stream],
    start: Array,
    start_speed: float = 0.0,
) -> list[PlateRest]:
    """Follow the rest shape from ``start`` through streams of ascending speed.

    Parameters
    ----------
    model, plate, modulus : the plate as a long-held shape feels it
    streams : list of Stream, one direction, ascending speed
    start : array (n, 6), rest shape at ``start_speed`` [m/s]

    Returns
    -------
    list of PlateRest
        After the branch is lost the last shape found is returned, with ``found`` false.
    """
    newton = _Newton(model, plate, modulus)
    return follow_speeds(
        lambda stream, near: newton.solve(stream, near.state),
        newton.forget,
        _turn,
        streams,
        PlateRest(start, True),
        start_speed,
    )


def _turn(first: PlateRest, second: PlateRest) -> float:
    """Return the largest change of a director between two shapes."""
    return float(np.abs(first.state[:, 3:] - second.state[:, 3:]).max())
