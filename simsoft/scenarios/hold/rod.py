"""Scenario 'hold': still water. Natural frequencies, damping, and the shape a part hangs in."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from simsoft.bodies.answers.clearance import add_clearance, lack_clearance
from simsoft.bodies.answers.in_body import add_body_depth
from simsoft.bodies.answers.stream import modes_in_air_and_water
from simsoft.bodies.clearance.gap import moulded_rod, placed
from simsoft.bodies.rod.modes import Modes
from simsoft.bodies.rod.setup import Ready, modes_at_own_frequency, prepare
from simsoft.bodies.rod.shapes import shape_of, tip_of
from simsoft.case.model import Scenario
from simsoft.core.signals import angle_between, total_turning
from simsoft.hydrodynamics.viscous import RANGE, hydrodynamic_function
from simsoft.lure.parts import Strip, in_still_water
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome

MODES = "linear modes of the rod, in water about its rest shape, in air about the moulded one"
DAMPING = "material loss plus viscous drag at small amplitude, Sader 1998; screening for tapers"
BUCKLES = "not stable: it falls over to one side under its own weight"
REST = "rest shape of the geometrically exact rod, resting modulus"


def hold(
    strip: Strip,
    surrounding: Water,
    values: dict[str, float],
    scenario: Scenario,
    *,
    elements: int | None = None,
) -> Outcome:
    """Answer one strip in still water: modes dry and wet, sag, curl-up."""
    outcome = Outcome()
    add_model(outcome, strip)
    values = in_still_water(strip, values)
    wet = prepare(strip, surrounding, values, gravity=scenario.gravity, elements=elements)
    dry = prepare(strip, surrounding, values, gravity=False, elements=elements, air=True)

    def add(modes: Modes, medium: str) -> None:
        add_modes(outcome, modes, medium, MODES)
        if medium == "water":
            add_damping(outcome, wet, surrounding, modes)

    modes_in_air_and_water(
        outcome, dry, wet, MODES, lambda ready: modes_at_own_frequency(ready, scenario.modes), add
    )
    if wet.still.found:
        add_rest(outcome, wet, wet.still.angle, scenario.name, speed=0.0)
        add_drawings(outcome, wet, scenario.name, wet.still.angle, speed=0.0)
    else:
        lack_clearance(outcome, strip, REST, wet.still.message, speed=0.0, state="rest")
    return outcome


def add_model(outcome: Outcome, strip: Strip) -> None:
    """Add whether a strip is solved as a rod or as a plate, and why."""
    outcome.add("model", strip.model, "", strip.model_reason)


def add_modes(outcome: Outcome, modes: Modes, medium: str, basis: str) -> None:
    """Add the natural frequencies of a part in a medium to an outcome."""
    for i, (frequency, kind) in enumerate(zip(modes.frequency, modes.kind, strict=True)):
        at: dict[str, float | int | str] = {"mode": i + 1, "medium": medium, "motion": kind}
        if frequency > 0.0:
            outcome.add("natural_frequency", float(frequency), "Hz", basis, **at)
        else:
            outcome.lack("natural_frequency", "Hz", basis, BUCKLES, **at)


def add_rest(
    outcome: Outcome, ready: Ready, angle: np.ndarray, scenario: str, *, speed: float
) -> None:
    """Add curl-up, tip, hook clearance and, in still water, fold-back of a rest shape."""
    moulded_tip = tip_of(ready.rod, ready.rod.natural)[1]
    tip, tangent = tip_of(ready.rod, angle)
    outcome.add("curl_up", math.degrees(total_turning(angle)), "deg", REST, speed=speed)
    outcome.add("tip_position", tuple(float(x) for x in tip), "m", REST, speed=speed, state="rest")
    clamp = ready.rod.frame[:, 2]
    outcome.add("tip_angle", math.degrees(angle_between(clamp, tangent)), "deg", REST, speed=speed)
    if speed == 0.0:
        outcome.add(
            "fold_back", math.degrees(angle_between(moulded_tip, tangent)), "deg", REST, speed=0.0
        )
    place = placed(ready.rod, angle)
    shift = ready.values["thickness"]
    add_clearance(
        outcome, ready.strip, ready.rod, shift, place, scenario,
        basis=REST, speed=speed, state="rest",
    )  # fmt: skip
    add_body_depth(
        outcome, ready.strip, shift, place, lambda: moulded_rod(ready.rod),
        basis=REST, speed=speed, state="rest",
    )  # fmt: skip


def add_drawings(
    outcome: Outcome, ready: Ready, scenario: str, angle: np.ndarray, *, speed: float
) -> None:
    """Add the drawings of the moulded and the rest shape to an outcome."""
    strip = ready.strip
    for label, shown in (("moulded", ready.rod.natural), ("rest", angle)):
        outcome.shapes.append(
            shape_of(strip, ready.rod, shown, scenario=scenario, speed=speed, label=label)
        )


def add_damping(outcome: Outcome, ready: Ready, surrounding: Water, modes: Modes) -> None:
    """Add the damping ratio of the first wet mode that bends the soft way, where it is known."""
    soft = [i for i, kind in enumerate(modes.kind) if kind == "soft bending"]
    if not soft or surrounding.viscosity <= 0.0 or not ready.strip.part.loads.added_mass:
        return
    i = soft[0]
    omega = 2.0 * math.pi * float(modes.frequency[i])
    if omega <= 0.0:
        return
    rod = ready.rod
    width = 2.0 * math.sqrt(float(rod.added[:, 0].mean()) / (math.pi * surrounding.density))
    reynolds = surrounding.density * omega * width**2 / (4.0 * surrounding.viscosity)
    section: Literal["circular", "rectangular"]
    section = "rectangular" if ready.strip.part.section == "rectangle" else "circular"
    if section == "rectangular" and reynolds > RANGE[1]:  # a wide or stiff strip; not fitted there
        return
    carried = complex(hydrodynamic_function(np.array([reynolds]), section)[0])
    line_mass = float(rod.structure[:, 3, 3].sum() / rod.span.sum())
    share = line_mass / float(rod.added[:, 0].mean())
    viscous = abs(carried.imag) / (2.0 * (share + carried.real))
    modulus_time = ready.material(float(modes.frequency[i]))[1]
    solid = 0.5 * modulus_time * omega
    outcome.add("damping_ratio", solid + viscous, "", DAMPING, mode=i + 1, medium="water")
