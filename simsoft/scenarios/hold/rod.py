"""A rod in still water: its damping, and the shape it hangs in."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from simsoft.bodies.answers.clearance import add_clearance
from simsoft.bodies.answers.in_body import add_body_depth
from simsoft.bodies.clearance.gap import moulded_rod, placed_rod
from simsoft.bodies.rod.equilibrium import Rest
from simsoft.bodies.rod.setup import Ready, modes_at_own_frequency, prepare_rod
from simsoft.bodies.rod.shapes import shape_of, tip_of
from simsoft.core.signals import angle_between, total_turning
from simsoft.hydrodynamics.viscous import RANGE, hydrodynamic_function
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.hold.driver import StillBody
from simsoft.solvers.modes import Modes

MODES = "linear modes of the rod, in water about its rest shape, in air about the moulded one"
DAMPING = "material loss plus viscous drag at small amplitude, Sader 1998; screening for tapers"
REST = "rest shape of the geometrically exact rod, resting modulus"


def add_rest(outcome: Outcome, ready: Ready, rest: Rest, scenario: str, *, speed: float) -> None:
    """Add curl-up, tip, hook clearance and, in still water, fold-back of a rest shape."""
    angle = rest.angle
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
    place = placed_rod(ready.rod, angle)
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
    outcome: Outcome, ready: Ready, rest: Rest, scenario: str, *, speed: float
) -> None:
    """Add the drawings of the moulded and the rest shape to an outcome."""
    strip = ready.strip
    for label, shown in (("moulded", ready.rod.natural), ("rest", rest.angle)):
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


def _add_wet(outcome: Outcome, ready: Ready, surrounding: Water, modes: Modes, _: str) -> None:
    add_damping(outcome, ready, surrounding, modes)


BODY = StillBody(
    prepare=prepare_rod,
    modes=modes_at_own_frequency,
    ringing=MODES,
    hanging=REST,
    add_wet=_add_wet,
    add_rest=add_rest,
    add_drawings=add_drawings,
)
