"""A plate in still water: its damping, and the shape it hangs in."""

from __future__ import annotations

import math

import numpy as np

from simsoft.bodies.answers.clearance import add_clearance
from simsoft.bodies.answers.in_body import add_body_depth
from simsoft.bodies.clearance.gap import Placed
from simsoft.bodies.plate.equilibrium import PlateRest
from simsoft.bodies.plate.modes import normal_map
from simsoft.bodies.plate.setup import (
    PlateReady,
    plate_modes_at_own_frequency,
    prepare_plate,
    shape_of_plate,
    tip_of_plate,
    turning_of_plate,
)
from simsoft.bodies.plate.shapes import mode_surfaces
from simsoft.core.arrays import Array
from simsoft.core.signals import angle_between
from simsoft.hydrodynamics.viscous import RANGE, hydrodynamic_function
from simsoft.lure.plate_model import PlateModel
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.hold.driver import StillBody
from simsoft.solvers.modes import Modes

MODES = (
    "linear modes of the plate, in water about its rest shape with the added mass of its "
    "planform by boundary elements, in air about the moulded one"
)
DAMPING = (
    "material loss plus viscous drag at small amplitude, Sader 1998, of a strip as wide as the "
    "plate; screening"
)
REST = "rest shape of the plate, exact in rotation, resting modulus"


def add_plate_rest(
    outcome: Outcome, ready: PlateReady, rest: PlateRest, scenario: str, *, speed: float
) -> None:
    """Add curl-up, tip, hook clearance and, in still water, fold-back of a rest shape."""
    model, state = ready.model, rest.state
    tip, tangent = tip_of_plate(model, state)
    outcome.add("curl_up", math.degrees(turning_of_plate(model, state)), "deg", REST, speed=speed)
    outcome.add("tip_position", tuple(float(x) for x in tip), "m", REST, speed=speed, state="rest")
    clamp = np.asarray(ready.strip.part.direction)
    outcome.add("tip_angle", math.degrees(angle_between(clamp, tangent)), "deg", REST, speed=speed)
    if speed == 0.0:
        moulded = tip_of_plate(model, model.state)[1]
        fold = math.degrees(angle_between(moulded, tangent))
        outcome.add("fold_back", fold, "deg", REST, speed=0.0)
    shift = ready.values["thickness"]
    place = placed_plate(model, state)
    add_clearance(
        outcome, ready.strip, None, shift, place, scenario, basis=REST, speed=speed, state="rest"
    )
    add_body_depth(
        outcome, ready.strip, shift, place, lambda: placed_plate(model, model.state),
        basis=REST, speed=speed, state="rest",
    )  # fmt: skip


def placed_plate(model: PlateModel, state: Array) -> Placed:
    """Return a plate in one position: its middle line and the lines across it."""
    line = state[model.planform.centre, :3] + model.root
    edges = state[model.planform.edges, :3]
    across = edges[:, 1] - edges[:, 0]
    across = across / np.linalg.norm(across, axis=1, keepdims=True)
    tangent = line[-1] - line[-2]
    return Placed(line[None], across[None], tangent[None] / np.linalg.norm(tangent))


def add_plate_drawings(
    outcome: Outcome, ready: PlateReady, rest: PlateRest, scenario: str, *, speed: float
) -> None:
    """Add the drawings of the moulded and the rest shape to an outcome."""
    for label, shown in (("moulded", ready.model.state), ("rest", rest.state)):
        outcome.shapes.append(
            shape_of_plate(
                ready.strip, ready.model, shown, scenario=scenario, speed=speed, label=label
            )
        )


def _damping(outcome: Outcome, ready: PlateReady, surrounding: Water, modes: Modes) -> None:
    """Add the damping ratio of the first wet mode that bends the soft way."""
    soft = [i for i, kind in enumerate(modes.kind) if kind == "soft bending"]
    flow = ready.model.flow
    if not soft or surrounding.viscosity <= 0.0 or flow is None or not np.any(flow.added):
        return
    i = soft[0]
    omega = 2.0 * math.pi * float(modes.frequency[i])
    if omega <= 0.0:
        return
    width = float(flow.area.sum()) / ready.strip.part.length
    reynolds = surrounding.density * omega * width**2 / (4.0 * surrounding.viscosity)
    if reynolds > RANGE[1]:
        return
    viscous = complex(hydrodynamic_function(np.array([reynolds]), "rectangular")[0]).imag
    across = normal_map(flow, ready.still.state) @ modes.shape[:, i]
    strip = surrounding.density * 0.25 * math.pi * width * flow.area
    share = float((strip * across**2).sum())  # of the mode's unit mass: water carried by strips
    solid = 0.5 * ready.material(float(modes.frequency[i]))[1] * omega
    ratio = solid + 0.5 * abs(viscous) * share
    outcome.add("damping_ratio", ratio, "", DAMPING, mode=i + 1, medium="water")


def _add_wet(
    outcome: Outcome, ready: PlateReady, surrounding: Water, modes: Modes, scenario: str
) -> None:
    _damping(outcome, ready, surrounding, modes)
    outcome.surfaces += mode_surfaces(ready, modes, scenario)


BODY = StillBody(
    prepare=prepare_plate,
    modes=plate_modes_at_own_frequency,
    ringing=MODES,
    hanging=REST,
    add_wet=_add_wet,
    add_rest=add_plate_rest,
    add_drawings=add_plate_drawings,
)
