"""Scenario 'hold' for a paddle that bends on its stem: modes, damping, the shape it hangs in."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.answers.clearance import lack_clearance
from simsoft.bodies.answers.stream import modes_in_air_and_water
from simsoft.bodies.paddle.equilibrium import StemRest
from simsoft.bodies.paddle.setup import StemReady, prepare_stem, stem_modes_at_own_frequency
from simsoft.bodies.paddle.shapes import stem_mode_surfaces, stem_shape
from simsoft.bodies.rod.modes import Modes
from simsoft.case.model import Scenario
from simsoft.lure.parts import Strip, in_still_water
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.hold.rod import REST, add_damping, add_model, add_modes, add_rest

MODES = (
    "linear modes of the plate on its stem, in water about its rest shape with the added mass of "
    "the paddle by boundary elements, in air about the moulded one"
)
# Of its width, what a rim gives way past which a flat plate's loads are wrong: a judgement.
CUPPED = 0.15
RIM = "farthest that the plate gives way from the end of its stem, rest shape, resting modulus"


def stem_hold(
    strip: Strip,
    surrounding: Water,
    values: dict[str, float],
    scenario: Scenario,
    *,
    elements: int | None = None,
) -> Outcome:
    """Answer one paddle in still water: modes dry and wet, sag, curl-up."""
    outcome = Outcome()
    add_model(outcome, strip)
    values = in_still_water(strip, values)
    wet = prepare_stem(strip, surrounding, values, gravity=scenario.gravity, elements=elements)
    dry = prepare_stem(strip, surrounding, values, gravity=False, elements=elements, air=True)

    def add(modes: Modes, medium: str) -> None:
        add_modes(outcome, modes, medium, MODES)
        if medium == "water":
            add_damping(outcome, wet.stiff, surrounding, modes)
            outcome.surfaces += stem_mode_surfaces(wet, modes, scenario.name)

    def modes_of(ready: StemReady) -> Modes:
        return stem_modes_at_own_frequency(ready, scenario.modes)

    modes_in_air_and_water(outcome, dry, wet, MODES, modes_of, add)
    if wet.still.found:
        add_stem_rest(outcome, wet, wet.still, scenario.name, speed=0.0)
        add_stem_drawings(outcome, wet, wet.still, scenario.name, speed=0.0)
    else:
        lack_clearance(outcome, strip, REST, wet.still.message, speed=0.0, state="rest")
    return outcome


def add_stem_rest(
    outcome: Outcome, ready: StemReady, rest: StemRest, scenario: str, *, speed: float
) -> None:
    """Add what a rod's rest shape tells, and how far the plate bends on its stem."""
    add_rest(outcome, ready.stiff, rest.angle, scenario, speed=speed)
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
