"""A paddle that bends on its stem in still water: its damping, and the shape it hangs in."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.paddle.equilibrium import StemRest
from simsoft.bodies.paddle.setup import StemReady, prepare_stem, stem_modes_at_own_frequency
from simsoft.bodies.paddle.shapes import stem_mode_surfaces, stem_shape
from simsoft.bodies.rod.equilibrium import Rest
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.hold.driver import StillBody
from simsoft.scenarios.hold.rod import REST, add_damping, add_rest
from simsoft.solvers.modes import Modes

MODES = (
    "linear modes of the plate on its stem, in water about its rest shape with the added mass of "
    "the paddle by boundary elements, in air about the moulded one"
)
# Of its width, what a rim gives way past which a flat plate's loads are wrong: a judgement.
CUPPED = 0.15
RIM = "farthest that the plate gives way from the end of its stem, rest shape, resting modulus"


def add_stem_rest(
    outcome: Outcome, ready: StemReady, rest: StemRest, scenario: str, *, speed: float
) -> None:
    """Add what a rod's rest shape tells, and how far the plate bends on its stem."""
    add_rest(outcome, ready.stiff, Rest(rest.angle, True), scenario, speed=speed)
    moved = np.linalg.norm((rest.state - ready.model.local)[:, :3], axis=1)
    rim = float(moved.max())
    outcome.add("rim_deflection", rim, "m", RIM, speed=speed)
    width = float(np.ptp(ready.model.local[:, :3], axis=0).max())
    if rim > CUPPED * width:
        why = (
            f"the paddle's rim gives way by {1e3 * rim:.2g} mm; its loads are those of a flat one, "
            f"past {CUPPED:g} of its width drag and stroke"
        )
        outcome.warnings.append(
            f"{ready.strip.name} at {speed:.3g} m/s: {why} are not to be trusted"
        )
        for quantity in ("drag", "stroke"):
            outcome.distrust(quantity, f"{why} are none to rely on", speed=speed)


def add_stem_drawings(
    outcome: Outcome, ready: StemReady, rest: StemRest, scenario: str, *, speed: float
) -> None:
    """Add the drawings of the moulded and the rest shape to an outcome."""
    moulded = StemRest(ready.model.rod.natural, ready.model.local, True)
    for label, shown in (("moulded", moulded), ("rest", rest)):
        outcome.shapes.append(stem_shape(ready, shown, scenario=scenario, speed=speed, label=label))


def _add_wet(
    outcome: Outcome, ready: StemReady, surrounding: Water, modes: Modes, scenario: str
) -> None:
    add_damping(outcome, ready.stiff, surrounding, modes)
    outcome.surfaces += stem_mode_surfaces(ready, modes, scenario)


BODY = StillBody(
    prepare=prepare_stem,
    modes=stem_modes_at_own_frequency,
    ringing=MODES,
    hanging=REST,
    add_wet=_add_wet,
    add_rest=add_stem_rest,
    add_drawings=add_stem_drawings,
)
