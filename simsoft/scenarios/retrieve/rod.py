"""Scenario 'retrieve': a part held in a stream. Rest shape, start speed, beat at each speed."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.answers.beat import (
    add_start,
    start_of_part,
    warn_aside,
)
from simsoft.bodies.answers.stream import (
    add_beat,
    add_edges,
    add_rest_load,
    lack_beat,
    lack_stream,
    say_root,
    say_shading,
    warn_lost_rest,
)
from simsoft.bodies.answers.trace import outline_of, trace_of
from simsoft.bodies.clearance.gap import moulded_rod
from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch
from simsoft.bodies.rod.setup import modes_at_own_frequency, prepare
from simsoft.bodies.rod.stability import find_onset
from simsoft.bodies.rod.tangents import clamp_load
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.lure.parts import Strip
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome, Stood
from simsoft.scenarios.hold.rod import REST, add_drawings, add_model, add_rest
from simsoft.scenarios.retrieve.marcher import FLUTTER, Detail, Marcher, march_at
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.start_speed import Start, search_speeds, top_speed

LARGE_KICK = 40.0  # times the standard disturbance, for a motion that a small one does not reach
SAME_STROKE = 0.05  # relative difference of stroke up to which two marches found one motion
FROM_ABOVE = "time march to the limit cycle from a large motion"


def retrieve(
    strip: Strip,
    surrounding: Water,
    values: dict[str, float],
    scenario: Scenario,
    detail: Detail,
) -> Outcome:
    """Answer one strip in a stream at every speed of the scenario."""
    outcome = Outcome()
    add_model(outcome, strip)
    ready = prepare(strip, surrounding, values, gravity=scenario.gravity, elements=detail.elements)
    if not ready.still.found:
        lack_stream(outcome, strip, scenario.speeds, FLUTTER, REST, ready.still.message)
        return outcome
    direction = values.get("shading", 1.0) * np.asarray(scenario.stream_direction)
    speeds = np.array(sorted(scenario.speeds))
    rests = rest_branch(
        ready.resting_rod(), speeds, direction, scenario.shear, start=ready.still.angle
    )
    fastest = float(modes_at_own_frequency(ready, 1).frequency[0])
    solver = Marcher(ready, scenario, direction, fastest, detail)
    start = Start(None, None, "not asked for")
    if scenario.onset:
        start = _start(outcome, solver, detail)
    beats = [
        _at_speed(outcome, solver, float(speed), rest, start)
        for speed, rest in zip(speeds, rests, strict=True)
    ]
    if detail.pictures:
        say_shading(outcome, strip, values)
        say_root(outcome, strip)
    if detail.pictures and scenario.march:
        _from_above(outcome, solver, speeds, rests, beats)
    return outcome


def _start(outcome: Outcome, solver: Marcher, detail: Detail) -> Start:
    """Find the start speed and put it, and every other stability limit, into the outcome."""
    ready, scenario = solver.ready, solver.scenario
    top = top_speed(scenario.max_speed, scenario.speeds)
    onset = find_onset(
        ready.rod,
        ready.resting_modulus,
        ready.material,
        search_speeds(top, detail.near, detail.below),
        solver.direction,
        scenario.shear,
        detail.careful,
    )
    told = (onset.lost, onset.other)
    outcome.warnings += [f"{ready.strip.name}: {sentence}" for sentence in told if sentence]
    start, jumped = start_of_part(solver.stroke_at, solver.part.length, onset, top)
    warn_aside(outcome, solver.part, start, onset.crossings)
    basis = solver.start_basis
    add_start(outcome, start, onset.crossings, jumped or basis, basis)
    return start


def _at_speed(
    outcome: Outcome, solver: Marcher, speed: float, rest: Rest, start: Start
) -> Beat | None:
    """Answer one speed; return the beat of the march, if there is one."""
    ready, scenario = solver.ready, solver.scenario
    if not rest.found:
        warn_lost_rest(outcome, ready.strip.name, speed, rest.message)
    else:
        add_rest(outcome, ready, rest.angle, scenario.name, speed=speed)
        if solver.detail.pictures:
            add_drawings(outcome, ready, scenario.name, rest.angle, speed=speed)
    beat = _march_at(outcome, solver, speed, rest, start) if scenario.march else None
    if rest.found:
        _rest_load(outcome, solver, speed, rest)
    return beat


def _march_at(
    outcome: Outcome, solver: Marcher, speed: float, rest: Rest, start: Start
) -> Beat | None:
    """March at one speed and put measures, verdict, warnings and trace into the outcome."""
    ready, scenario = solver.ready, solver.scenario
    basis = solver.basis
    try:
        beat = march_at(solver, speed, rest)
    except SolveError as error:
        lack_beat(outcome, ready.strip, solver.part, speed, basis, str(error))
        return None
    state = beat.march.state
    if beat.frequency > 0.0 and beat.march.settled and state is not None:
        outcome.stood[speed] = Stood(
            beat.frequency, beat.stroke, (state.quaternion, state.motion, state.wake)
        )
    add_beat(
        outcome, ready.strip, solver.part, speed, beat, basis, start,
        rod=ready.rod, moulded=lambda: moulded_rod(ready.rod), shift=ready.values["thickness"],
        scenario=scenario.name,
    )  # fmt: skip
    outline = outline_of(ready.strip, ready.rod, beat.march)
    add_edges(outcome, solver.part, speed, beat, outline, basis)
    if solver.detail.pictures:
        outcome.traces.append(
            trace_of(
                beat,
                scenario=scenario.name,
                part=ready.strip.name,
                speed=speed,
                elements=len(ready.rod.length),
                outline=outline,
            )
        )
    return beat


def _from_above(
    outcome: Outcome,
    solver: Marcher,
    speeds: Array,
    rests: list[Rest],
    beats: list[Beat | None],
) -> None:
    """March again from the motion of the next higher speed and report what differs.

    Above the highest speed stands a kick many times the usual one. Where the motion found so is
    another than the one from a small kick, both exist side by side and both are told.
    """
    above: Beat | None = None
    for speed, rest, below in zip(speeds[::-1], rests[::-1], beats[::-1], strict=True):
        if below is None:
            above = None
            continue
        moving = above is not None and above.frequency > 0.0
        start = above.march.state if above is not None and moving else None
        above = below
        if start is None and below.frequency <= 0.0:
            continue  # at rest, and nothing moves above it either
        try:
            found = solver.at(float(speed), rest.angle, start=start, kick=LARGE_KICK)
        except SolveError as error:
            outcome.warnings.append(f"{solver.part.name} at {speed:.3g} m/s, from above: {error}")
            continue
        apart = abs(found.stroke - below.stroke)
        if apart <= SAME_STROKE * max(found.stroke, below.stroke) or not below.march.settled:
            continue
        above = found if found.stroke > below.stroke else below
        outcome.add("stroke_from_above", found.stroke, "m", FROM_ABOVE, speed=float(speed))
        if found.frequency > 0.0:
            outcome.add(
                "flap_frequency_from_above", found.frequency, "Hz", FROM_ABOVE, speed=float(speed)
            )
        outcome.warnings.append(
            f"{solver.part.name} at {speed:.3g} m/s: two motions side by side, stroke "
            f"{1e3 * below.stroke:.3g} mm from a small kick and {1e3 * found.stroke:.3g} mm from a "
            "large motion"
        )


def _rest_load(outcome: Outcome, solver: Marcher, speed: float, rest: Rest) -> None:
    """Add drag and root moment of a rest shape."""
    stream = make_stream(speed, solver.direction, solver.scenario.shear)
    load = clamp_load(solver.ready.resting_rod(), stream, rest.angle)
    add_rest_load(outcome, load[:3], load[3:], solver.direction, REST, speed)
