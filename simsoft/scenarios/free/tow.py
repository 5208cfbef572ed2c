"""The free lure on the retrieve: its eye towed by the line, its body free to turn.

The same lure is marched twice, free and with a base that cannot turn, so that what recoil does to
the beat is a comparison within one model.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simsoft.bodies.answers.stream import say_shading
from simsoft.bodies.free.base_step import HELD, Line
from simsoft.bodies.free.course import Trajectory, in_lure_axes, march_once, state_at_rest
from simsoft.case.model import Scenario
from simsoft.core.errors import SolveError
from simsoft.lure.assembly import Whole
from simsoft.lure.free_lure import FreeLure, Values, build_free, free_values, length_on, rows_of
from simsoft.lure.parts import DEFAULT_FREQUENCY, GRAVITY
from simsoft.lure.shading import in_shade
from simsoft.results.outcome import Outcome
from simsoft.scenarios.free.clearance import add_free_clearance
from simsoft.scenarios.free.fall import HALVINGS
from simsoft.scenarios.free.line_path import tow_leads
from simsoft.scenarios.free.ride import (
    MOVES,
    FreeDetail,
    Outcomes,
    beat,
    fold_back,
    kept_motion,
    still_turning,
)

LONGEST = 5.0  # [s], of a tow
MEASURED = 0.5  # of it, the last part
SAMPLE = 5.0e-3  # [s]
FIRM = 1.0e3  # [kg m^2], turning inertia of a base that is held
TURNED_OVER = math.radians(90.0)
MODEL = "march of the free lure towed at its eye, material at 5 Hz, quasi-steady body; screening"
HELD_MODEL = "the same lure with its body held; screening"


def tow(whole: Whole, values: Values | None, scenario: Scenario, detail: FreeDetail) -> Outcomes:
    """Return what the towed lure and its parts do at every speed, by part; '' is the whole.

    Parameters and errors as ``sink.sink``.
    """
    given = free_values(whole) if values is None else values
    shaded = in_shade(given)
    lure = build_free(whole, shaded, elements=detail.elements, frequency=DEFAULT_FREQUENCY)
    outcomes: Outcomes = {"": Outcome()} | {name: Outcome() for name in lure.names}
    for strip in whole.strips:
        if "shading" in given[strip.name]:
            say_shading(outcomes[""], strip, given[strip.name])
    _roll_stability(outcomes[""], lure)
    longest = LONGEST if scenario.duration is None else scenario.duration
    for speed in scenario.speeds:
        free = towed(lure, speed, longest, detail.size())
        first = int((1.0 - MEASURED) * len(free.time))
        window = slice(first, len(free.time))
        _body_answers(outcomes[""], lure, free, window, speed)
        drifting = still_turning(free, first)
        if drifting:
            outcomes[""].warnings.append(f"{scenario.name} at {speed:.3g} m/s: {drifting}")
            outcomes[""].distrust("attitude", drifting, speed=speed)
        held = towed(held_base(lure), speed, longest, detail.size()) if lure.names else None
        for name in lure.names:
            _part_answers(outcomes[name], lure, (free, held), window, name, speed)
            add_free_clearance(
                outcomes[name], whole, given, lure, free, name,
                np.arange(first, len(free.time)), scenario.name, state="free", speed=speed,
            )  # fmt: skip
        if detail.extras:
            label = f"tow at {speed:.4g} m/s"
            outcomes[""].motions.append(
                kept_motion(
                    whole, lure, free, scenario.name, label, (first, len(free.time)), speed=speed
                )
            )
    return outcomes


def held_base(lure: FreeLure) -> FreeLure:
    """Return the lure with a base that cannot turn."""
    structure = lure.tree.base.structure.copy()
    structure[:3, :3] += FIRM * np.eye(3)
    return replace(lure, tree=lure.tree._replace(base=lure.tree.base._replace(structure=structure)))


def towed(lure: FreeLure, speed: float, longest: float, step: float) -> Trajectory:
    """Return the course of a lure whose eye is towed along -x at a speed [m/s].

    Raises
    ------
    SolveError
        If the march diverges even with an eighth of the step.
    """
    line = Line(HELD, np.zeros(3), 0.0, 1.0, 0.0, 0.0)
    for attempt in range(HALVINGS + 1):
        size = step / 2**attempt
        stride = max(1, round(SAMPLE / size))
        time = size * np.arange(1.0, round(longest / size) + 1.0)
        course = march_once(
            lure, line, tow_leads(speed, time), size, stride, state_at_rest(lure, 0.0)
        )
        if course is not None:
            return course
    raise SolveError(f"the tow at {speed:.3g} m/s diverged with a step of {size:.1e} s")


def righting_moment(lure: FreeLure) -> float:
    """Return the moment [N m] per radian of roll about the eye that turns the lure upright.

    Weight below the eye and buoyancy above it right it: W (-z_m) + B z_b.
    """
    weight, buoyancy = lure.mass * GRAVITY, lure.displaced * GRAVITY
    return float(buoyancy * lure.centre_of_buoyancy[2] - weight * lure.centre_of_mass[2])


def _roll_stability(own: Outcome, lure: FreeLure) -> None:
    moment = righting_moment(lure)
    basis = "weight and buoyancy of the moulded lure about a line through the eye, along the body"
    own.add("righting_moment", moment, "N m", f"{basis}, per radian; positive rights itself")
    below = float(lure.centre_of_buoyancy[2] - lure.centre_of_mass[2])
    own.add("keel", below, "m", "centre of mass below centre of buoyancy, moulded lure")
    if moment <= 0.0:
        own.warnings.append(
            "roll: weight and buoyancy turn the towed lure over (righting moment "
            f"{1e3 * moment:.2g} N mm per radian); weight below the eye or a keel would right it"
        )


def _body_answers(
    own: Outcome, lure: FreeLure, free: Trajectory, window: slice, speed: float
) -> None:
    """Add sway, yaw, pitch and roll (peak to peak), mean attitude and the line's force."""
    turned = free.frames[window]
    nose = -turned[:, :, 0]
    yaw = np.arctan2(nose[:, 1], -nose[:, 0])
    roll = np.unwrap(free.roll[window])
    swings = {"yaw": yaw, "pitch": free.attitude[window], "roll": roll}
    for name, angle in swings.items():
        size = math.degrees(float(np.ptp(angle)))
        own.add(f"{name}_swing", size, "deg", f"peak to peak; {MODEL}", speed=speed)
    mean = nose.mean(axis=0) / max(float(np.linalg.norm(nose.mean(axis=0))), 1e-12)
    wobble = 2.0 * float(np.max(np.arccos(np.clip(nose @ mean, -1.0, 1.0))))
    own.add("wobble", math.degrees(wobble), "deg", f"swing of the nose, {MODEL}", speed=speed)
    sway = float(np.ptp(free.centre[window, 1]))
    own.add("sway", sway, "m", f"side to side, centre of mass; {MODEL}", speed=speed)
    attitude = math.degrees(float(free.attitude[window].mean()))
    own.add("attitude", attitude, "deg", f"{MODEL}; nose down positive", speed=speed)
    own.add("roll", math.degrees(float(roll.mean())), "deg", f"mean; {MODEL}", speed=speed)
    pull = free.line[window].mean(axis=0)
    tension = float(np.linalg.norm(pull))
    own.add("line_tension", tension, "N", f"mean; {MODEL}", speed=speed)
    upward = math.degrees(math.atan2(float(pull[2]), -float(pull[0])))
    own.add("line_angle", upward, "deg", f"of the line above level; {MODEL}", speed=speed)
    own.add("energy_residual", free.energy["residual"], "", "books of the march", speed=speed)
    own.add("momentum_residual", free.momentum_residual, "", "momentum less impulse", speed=speed)
    if float(np.max(np.abs(roll))) > TURNED_OVER:
        own.warnings.append(f"the towed lure rolls past 90 degrees at {speed:.3g} m/s")


def _part_answers(
    own: Outcome,
    lure: FreeLure,
    courses: tuple[Trajectory, Trajectory | None],
    window: slice,
    name: str,
    speed: float,
) -> None:
    """Add stroke and rate of a part, free and held, and what recoil makes of the rate."""
    rates: list[float | None] = []
    rows = rows_of(lure, name)
    length = length_on(lure, name)
    for course, state, basis in zip(courses, ("free", "held"), (MODEL, HELD_MODEL), strict=True):
        if course is None:
            continue
        local = in_lure_axes(course)[window]
        stroke, rate = beat(course.time[window], local[:, rows.stop - 1])
        moves = rate is not None and stroke > MOVES * length
        rates.append(rate if moves else None)
        at: dict[str, float | int | str] = {"speed": speed, "body": state}
        own.add("stroke", stroke, "m", f"tip in the lure's axes; {basis}", **at)
        fold = fold_back(lure, local, name)
        own.add("fold_back", fold, "deg", basis, **at)
        if moves and rate is not None:
            own.add("flap_frequency", rate, "Hz", basis, **at)
        else:
            reason = f"the tip wanders over {1e3 * stroke:.2g} mm without two full beats"
            own.lack("flap_frequency", "Hz", basis, reason, **at)
    basis = "rate with the body free over the rate with it held; screening"
    if len(rates) == 2 and rates[0] is not None and rates[1] is not None:
        own.add("recoil_ratio", rates[0] / rates[1], "", basis, speed=speed)
    else:
        own.lack(
            "recoil_ratio", "", basis, "the part does not beat both free and held", speed=speed
        )
