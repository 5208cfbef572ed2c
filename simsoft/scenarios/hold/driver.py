"""Scenario 'hold': still water. Natural frequencies, damping, and the shape a part hangs in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any

from simsoft.bodies.answers.clearance import lack_clearance
from simsoft.bodies.answers.stream import modes_in_air_and_water
from simsoft.case.model import Scenario
from simsoft.lure.parts import Specimen, Strip, in_still_water
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.solvers.modes import Modes

BUCKLES = "not stable: it falls over to one side under its own weight"


@dataclass(frozen=True)
class StillBody:
    """What a body states of itself in still water; ``ready`` is what its ``prepare`` returns.

    Attributes
    ----------
    prepare : function of a Specimen
    modes : function of ready and how many
    ringing, hanging : str, basis of the frequencies and of the rest shape
    add_wet : function of outcome, ready, water, modes in water and the scenario's name; adds
        damping and drawings of the modes
    add_rest, add_drawings : functions of outcome, ready, rest shape, scenario's name and speed
    """

    prepare: Callable[[Specimen], Any]
    modes: Callable[[Any, int], Modes]
    ringing: str
    hanging: str
    add_wet: Callable[[Outcome, Any, Water, Modes, str], None]
    add_rest: Callable[..., None]
    add_drawings: Callable[..., None]


def still_body(strip: Strip) -> StillBody:
    """Return what the body that a strip is solved as states of itself; loaded when asked for."""
    found: StillBody = import_module(f"simsoft.scenarios.hold.{strip.solved_as}").BODY
    return found


def hold(
    strip: Strip,
    surrounding: Water,
    values: dict[str, float],
    scenario: Scenario,
    *,
    elements: int | None = None,
) -> Outcome:
    """Answer one strip in still water: modes dry and wet, sag, curl-up."""
    body, outcome = still_body(strip), Outcome()
    add_model(outcome, strip)
    values = in_still_water(strip, values)
    held = Specimen(strip, surrounding, values, gravity=scenario.gravity, elements=elements)
    wet, dry = body.prepare(held), body.prepare(replace(held, gravity=False, air=True))

    def add(modes: Modes, medium: str) -> None:
        add_modes(outcome, modes, medium, body.ringing)
        if medium == "water":
            body.add_wet(outcome, wet, surrounding, modes, scenario.name)

    def modes_of(ready: Any) -> Modes:
        return body.modes(ready, scenario.modes)

    modes_in_air_and_water(outcome, dry, wet, body.ringing, modes_of, add)
    if wet.still.found:
        body.add_rest(outcome, wet, wet.still, scenario.name, speed=0.0)
        body.add_drawings(outcome, wet, wet.still, scenario.name, speed=0.0)
    else:
        why = wet.still.message
        lack_clearance(outcome, strip, body.hanging, why, speed=0.0, state="rest")
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
