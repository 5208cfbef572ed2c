"""Scenario 'retrieve': a part held in a stream. Rest shape, start speed, beat at each speed."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

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
from simsoft.solvers.time_march import CAME_TO_REST

LARGE_KICK = 40.0  # times the standard disturbance, for a motion that a small one does not reach
SAME_STROKE = 0.05  # relative difference of stroke up to which two marches found one motion
Marched = Beat | SolveError | None  # a march, why it failed, or None where there was none
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
    start, marched = _started_and_marched(outcome, solver, speeds, rests)
    beats = [
        _at_speed(outcome, solver, float(speed), rest, start, beat)
        for speed, rest, beat in zip(speeds, rests, marched, strict=True)
    ]
    if detail.pictures:
        say_shading(outcome, strip, values)
        say_root(outcome, strip)
    if detail.pictures and scenario.march:
        _from_above(outcome, solver, speeds, rests, beats)
    return outcome


def _started_and_marched(
    outcome: Outcome, solver: Marcher, speeds: Array, rests: list[Rest]
) -> tuple[Start, list[Marched]]:
    """Find the start and march at every speed, several at a time where the detail says so.

    Only the search for the start puts anything into the outcome.
    """
    scenario = solver.scenario

    def search() -> Start:
        asked = scenario.onset
        return _start(outcome, solver) if asked else Start(None, None, "not asked for")

    def march(speed: float, rest: Rest) -> Marched:
        try:
            return march_at(solver, speed, rest) if scenario.march else None
        except SolveError as error:
            return error

    if scenario.march:
        solver.growth()  # made once, before several ask for it
    tasks: list[Callable[[], Start | Marched]] = [search]
    for speed, rest in zip(speeds, rests, strict=True):
        tasks.append(partial(march, float(speed), rest))
    start, *marched = solver.detail.each(lambda task: task(), tasks)
    return start, marched


def _start(outcome: Outcome, solver: Marcher) -> Start:
    """Find the start speed and put it, and every other stability limit, into the outcome."""
    ready, scenario, detail = solver.ready, solver.scenario, solver.detail
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
    outcome: Outcome, solver: Marcher, speed: float, rest: Rest, start: Start, marched: Marched
) -> Beat | None:
    """Answer one speed; return the beat of the march, if there is one."""
    ready, scenario = solver.ready, solver.scenario
    if not rest.found:
        warn_lost_rest(outcome, ready.strip.name, speed, rest.message)
    else:
        add_rest(outcome, ready, rest.angle, scenario.name, speed=speed)
        if solver.detail.pictures:
            add_drawings(outcome, ready, scenario.name, rest.angle, speed=speed)
    beat = marched if isinstance(marched, Beat) else None
    if isinstance(marched, SolveError):
        lack_beat(outcome, ready.strip, solver.part, speed, solver.basis, str(marched))
    elif beat is not None:
        _add_march(outcome, solver, speed, rest, start, beat)
    if rest.found:
        _rest_load(outcome, solver, speed, rest)
    return beat


def _add_march(
    outcome: Outcome, solver: Marcher, speed: float, rest: Rest, start: Start, beat: Beat
) -> None:
    """Put measures, verdict, warnings and trace of a march into the outcome."""
    ready, scenario = solver.ready, solver.scenario
    basis = solver.basis
    state = beat.march.state
    if beat.frequency > 0.0 and beat.march.settled and state is not None:
        outcome.stood[speed] = Stood(
            beat.frequency, beat.stroke, (state.quaternion, state.motion, state.wake)
        )
    if rest.found and speed > 0.0 and beat.march.message == CAME_TO_REST:
        lead = solver.lead(speed, rest.angle)
        outcome.rested[speed] = lead.slow * solver.part.length / speed
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

    def marched(number: int, above: Beat | None) -> Marched:
        below, moving = beats[number], above is not None and above.frequency > 0.0
        if below is None or not (moving or below.frequency > 0.0):
            return None  # at rest, and nothing moves above it either
        start = above.march.state if above is not None and moving else None
        speed, rest = float(speeds[number]), rests[number].angle
        try:
            return solver.at(speed, rest, start=start, kick=LARGE_KICK)
        except SolveError as error:
            return error

    likely = [*beats[1:], None]  # from where a march goes on unless one from above strokes more
    numbers = range(len(beats))
    foreseen = list(solver.detail.each(lambda number: marched(number, likely[number]), numbers))
    above: Beat | None = None
    for number in reversed(numbers):
        speed, below = speeds[number], beats[number]
        found = foreseen[number] if above is likely[number] else marched(number, above)
        above = below
        if isinstance(found, SolveError):
            outcome.warnings.append(f"{solver.part.name} at {speed:.3g} m/s, from above: {found}")
        if below is None or not isinstance(found, Beat):
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
