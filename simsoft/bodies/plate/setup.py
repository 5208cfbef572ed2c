"""A plate made ready to be solved: model, material law, rest shape in still water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simsoft.bodies.plate.equilibrium import PlateRest, still_plate
from simsoft.bodies.plate.modes import plate_modes
from simsoft.core.arrays import Array
from simsoft.lure.parts import Specimen, Strip, law_of
from simsoft.lure.plate_model import PlateModel, build_plate
from simsoft.mechanics.material_law import Law
from simsoft.mechanics.plate import Plate, relaxed_plate
from simsoft.results.result import Shape
from simsoft.solvers.modes import Modes, at_own_frequency


@dataclass(frozen=True)
class PlateReady:
    """A plate at one set of input values.

    Attributes
    ----------
    strip : Strip
    values : dict of input values by name
    model : PlateModel
    resting_modulus : float [Pa]
    material : Law, modulus [Pa] and Kelvin-Voigt time [s] against frequency [Hz]
    still : PlateRest, rest shape in still water
    """

    strip: Strip
    values: dict[str, float]
    model: PlateModel
    resting_modulus: float
    material: Law
    still: PlateRest

    def moving_plate(self, state: Array, modulus: float) -> Plate:
        """Return the plate as motion with a dynamic modulus [Pa] about a rest shape feels it."""
        return relaxed_plate(self.model.plate, state, self.resting_modulus / modulus)


def prepare_plate(specimen: Specimen) -> PlateReady:
    """Return a plate ready to be solved, with its rest shape in still water (or air)."""
    strip, values = specimen.strip, specimen.values
    model, modulus = build_plate(specimen), values["modulus"]
    still = still_plate(model, model.plate, modulus)
    return PlateReady(strip, values, model, modulus, law_of(strip, values), still)


def plate_modes_at_own_frequency(ready: PlateReady, count: int) -> Modes:
    """Return natural modes, each with the modulus at its own frequency."""
    modulus, _ = ready.material(1.0)
    state = ready.still.state
    found = plate_modes(ready.model, ready.moving_plate(state, modulus), modulus, state, count)
    return at_own_frequency(found, ready.strip.rate_exponent)


def square_to_chords(model: PlateModel, state: Array) -> Array:
    """Return the unit vectors (rows, 3) in the plate, square to the chords between the edges."""
    edges = model.planform.edges
    across = state[edges[:, 1], :3] - state[edges[:, 0], :3]
    tangent = np.cross(across, state[model.planform.centre, 3:])
    return np.asarray(tangent / np.linalg.norm(tangent, axis=1)[:, None])


def tangents_of(model: PlateModel, state: Array) -> Array:
    """Return the unit tangents (rows, 3) of the middle line from the clamp to the tip.

    A mesh on a drawn outline has no two nodes just abreast: its chords lean, by what they lean on
    the planform, whose middle line is straight.
    """
    tangent = square_to_chords(model, state)
    planform = model.planform
    if not planform.leans:
        return tangent
    chord = planform.plan[planform.edges[:, 1]] - planform.plan[planform.edges[:, 0]]
    chord /= np.linalg.norm(chord, axis=1)[:, None]
    across = np.cross(state[planform.centre, 3:], tangent)
    tangent = chord[:, 1:] * tangent + chord[:, :1] * across
    return np.asarray(tangent / np.linalg.norm(tangent, axis=1)[:, None])


def tip_of_plate(model: PlateModel, state: Array) -> tuple[Array, Array]:
    """Return tip point from the clamp [m] and unit tangent there."""
    return state[model.planform.centre[-1], :3], tangents_of(model, state)[-1]


def turning_of_plate(model: PlateModel, state: Array) -> float:
    """Return the total turning [rad] of the middle line across the flat.

    Summed from row to row by the directors, which a twist does not turn along the line.
    """
    director = state[model.planform.centre, 3:]
    tangent = tangents_of(model, state)
    mean = tangent[:-1] + tangent[1:]
    mean /= np.linalg.norm(mean, axis=1)[:, None]
    half = 0.5 * np.abs(((director[1:] - director[:-1]) * mean).sum(axis=1))
    return float(2.0 * np.arcsin(np.minimum(half, 1.0)).sum())


def shape_of_plate(
    strip: Strip, model: PlateModel, state: Array, *, scenario: str, speed: float, label: str
) -> Shape:
    """Return the drawing of a plate in a state, positions from the clamp [m]."""
    planform = model.planform
    place = state[:, :3]
    return Shape(
        scenario,
        strip.name,
        speed,
        place[planform.centre],
        place[planform.edges],
        place[planform.outline],
        label,
        model.root,
    )
