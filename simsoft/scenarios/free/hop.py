"""Scenario 'hop': the lure lifted and dropped, twitched or shaken by its line."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from simsoft.bodies.free.base_step import HELD, ONE_SIDED, Line
from simsoft.bodies.free.course import Trajectory, in_lure_axes, march_once, state_at_rest
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import main_direction
from simsoft.lure.assembly import Whole
from simsoft.lure.free_lure import FreeLure, Values, build_free, free_values, rows_of
from simsoft.lure.parts import DEFAULT_FREQUENCY, GRAVITY
from simsoft.results.outcome import Outcome
from simsoft.scenarios.free.clearance import add_free_clearance
from simsoft.scenarios.free.fall import HALVINGS, LINE_FRICTION
from simsoft.scenarios.free.line_path import hop_path, leads_along
from simsoft.scenarios.free.ride import (
    FreeDetail,
    Outcomes,
    beat,
    fold_back,
    kept_motion,
    still_turning,
)

Rows = npt.NDArray[np.int64]

PERIODS = 4  # marched at least, the last half of them measured
SHORTEST = 4.0  # [s], marched at least: a shaken lure first swings to where it hangs
SAMPLE = 5.0e-3  # [s]
LINE_STIFFNESS = 200.0  # [N/m], ten metres of braid to one of nylon (judgement)
LINE_DAMPING = 0.3  # of critical, of the lure on its line (judgement)
SLACK = 0.05  # of the net weight: a line that pulls less counts as slack
PEAK = 98.0  # [%], a line that comes taut jerks for a moment, as hard as it is stiff
LEAST = 5  # samples of a lift or a drop that can be measured
MODEL = "march of the free lure on its line, material at 5 Hz, quasi-steady body; screening"


def hop(whole: Whole, values: Values | None, scenario: Scenario, detail: FreeDetail) -> Outcomes:
    """Return what lure and parts do on the lift and on the drop, by part; '' is the whole.

    Parameters and errors as ``sink.sink``.
    """
    given = free_values(whole) if values is None else values
    lure = build_free(whole, given, elements=detail.elements, frequency=DEFAULT_FREQUENCY)
    course, path, first = _marched(whole, lure, scenario, detail.size())
    window = np.arange(first, len(course.time))
    net = abs(lure.mass - lure.displaced) * GRAVITY
    pull = np.linalg.norm(course.line[window], axis=1)
    held = scenario.line.kind == "held"
    rising = path[window, 1] > 0.0
    stretches: dict[str, Rows] = (
        {"lift": window[rising], "drop": window[~rising]}
        if held
        else {"lift": window[pull > SLACK * net], "drop": window[pull <= SLACK * net]}
    )
    if scenario.hop.motion == "shake" and not scenario.hop.times:
        stretches = {"shake": window}
    outcomes: Outcomes = {"": _whole_answers(course, path, window, stretches, scenario.hop.cadence)}
    for name in lure.names:
        own = _part_answers(lure, course, name, window, stretches, scenario.hop.cadence)
        for state, rows in stretches.items():
            add_free_clearance(
                own, whole, given, lure, course, name, rows, scenario.name, state=state
            )
        outcomes[name] = own
    drifting = still_turning(course, first)
    if drifting and not scenario.hop.times:
        outcomes[""].warnings.append(f"{scenario.name}: {drifting}")
        for own in outcomes.values():
            own.distrust("tail_motion", drifting)
            for name in stretches:
                for quantity in ("attitude", "stroke"):
                    own.distrust(quantity, drifting, during=name)
    if not lure.names:
        _tail_of_body(outcomes[""], whole, lure, course, window, scenario.hop.cadence)
    if detail.extras:
        lead = path[:, :1] * np.asarray(scenario.line.direction)
        outcomes[""].motions.append(
            kept_motion(
                whole, lure, course, scenario.name, "hop", (first, len(course.time)), lead=lead
            )
        )
    return outcomes


def _marched(
    whole: Whole, lure: FreeLure, scenario: Scenario, step: float
) -> tuple[Trajectory, Array, int]:
    """Return the course, the path of the line's end at its samples, and the first one measured."""
    longest = scenario.duration
    if longest is None:
        hop_input = scenario.hop
        longest = (
            hop_input.times[-1] if hop_input.times else max(SHORTEST, PERIODS / hop_input.cadence)
        )
    line_input = scenario.line
    direction = np.asarray(line_input.direction)
    for attempt in range(HALVINGS + 1):
        size = step / 2**attempt
        stride = max(1, round(SAMPLE / size))
        time = size * np.arange(1.0, round(longest / size) + 1.0)
        path = hop_path(scenario.hop, time)
        line = _line(whole, lure, scenario)
        offset = 0.0 if line.mode == HELD else line_input.length
        leads = leads_along(path, direction, offset)
        course = march_once(lure, line, leads, size, stride, state_at_rest(lure, 0.0))
        if course is not None:
            sampled = path[stride - 1 :: stride][: len(course.time)]
            first = 0 if scenario.hop.times else len(course.time) // 2
            return course, sampled, first
    raise SolveError(f"the hop diverged with a step of {size:.1e} s")


def _line(whole: Whole, lure: FreeLure, scenario: Scenario) -> Line:
    given = scenario.line
    pull = given.tension * np.asarray(given.direction)
    rub = 0.5 * whole.water.density * LINE_FRICTION * math.pi * given.diameter * given.length
    if given.kind == "held":
        return Line(HELD, np.zeros(3), 0.0, 1.0, 0.0, 0.0)
    moved = lure.mass + float(lure.tree.base.fluid[5, 5])
    damping = 2.0 * LINE_DAMPING * math.sqrt(LINE_STIFFNESS * moved)
    return Line(ONE_SIDED, pull, rub, given.length, LINE_STIFFNESS, damping)


def _whole_answers(
    course: Trajectory, path: Array, window: Rows, stretches: dict[str, Rows], cadence: float
) -> Outcome:
    """Add nose motion, attitude and speed on lift and drop, the hardest pull, the books."""
    own = Outcome()
    asked = float(np.ptp(path[window, 0]))
    done = per_cycle(course.time[window], course.position[window], cadence)
    own.add("nose_motion", done, "m", f"of the eye per cycle, drift taken off; {MODEL}")
    own.add("line_motion", asked, "m", "of the line's end, peak to peak, as stated")
    speed = np.gradient(course.centre, course.time, axis=0)
    for name, rows in stretches.items():
        if len(rows) < LEAST:
            own.lack("attitude", "deg", MODEL, f"there is no {name}", during=name)
            continue
        attitude = math.degrees(float(course.attitude[rows].mean()))
        own.add("attitude", attitude, "deg", f"mean, nose down positive; {MODEL}", during=name)
        sink = -float(speed[rows, 2].mean())
        own.add("sink_rate", sink, "m/s", f"mean; {MODEL}", during=name)
    tension = float(np.percentile(np.linalg.norm(course.line[window], axis=1), PEAK))
    own.add("line_tension", tension, "N", f"peak, {PEAK:g} % of the time below it; {MODEL}")
    own.add("energy_residual", course.energy["residual"], "", "books of the march")
    own.add("momentum_residual", course.momentum_residual, "", "momentum less impulse")
    return own


def _spread(path: Array) -> float:
    """Return the longest extent [m] of a path (T, 3) along its main direction."""
    _, _, rows = np.linalg.svd(path - path.mean(axis=0), full_matrices=False)
    return float(np.ptp(path @ rows[0]))


def per_cycle(time: Array, path: Array, cadence: float) -> float:
    """Return the mean way [m] of a point (T, 3) in a cycle, its steady drift taken off.

    ``cadence`` [Hz]; without one the whole stretch is the cycle.
    """
    seconds = time - time[0]
    drift = np.polyfit(seconds, path, 1)
    steady = path - np.outer(seconds, drift[0]) - drift[1]
    count = max(1, int(seconds[-1] * cadence)) if cadence > 0.0 else 1
    pieces = np.array_split(steady, count)
    return float(np.mean([_spread(piece) for piece in pieces]))


def _part_answers(
    lure: FreeLure,
    course: Trajectory,
    name: str,
    window: Rows,
    stretches: dict[str, Rows],
    cadence: float,
) -> Outcome:
    """Add the way of the tip per cycle, and what the part does on the lift and on the drop."""
    own = Outcome()
    last = rows_of(lure, name).stop - 1
    way = per_cycle(course.time[window], course.nodes[window, last], cadence)
    own.add("tail_motion", way, "m", f"of the tip per cycle, drift taken off; {MODEL}")
    local = in_lure_axes(course)
    for stretch, rows in stretches.items():
        if len(rows) < LEAST:
            own.lack("stroke", "m", MODEL, f"there is no {stretch}", during=stretch)
            continue
        stroke = float(np.ptp(local[rows, last] @ main_direction(local[rows, last])))
        own.add("stroke", stroke, "m", f"tip in the lure's axes; {MODEL}", during=stretch)
        own.add("fold_back", fold_back(lure, local[rows], name), "deg", MODEL, during=stretch)
        _, rate = beat(course.time[rows], local[rows, last]) if _whole_piece(rows) else (0.0, None)
        if rate is not None:
            own.add("flap_frequency", rate, "Hz", MODEL, during=stretch)
    return own


def _whole_piece(rows: Rows) -> bool:
    """Return whether samples follow one another without a gap."""
    return bool(np.all(np.diff(rows) == 1))


def _tail_of_body(
    own: Outcome, whole: Whole, lure: FreeLure, course: Trajectory, window: Rows, cadence: float
) -> None:
    """Add the way of the rear end of a stiff lure per cycle."""
    length = 0.0 if whole.body is None else whole.body.length
    rear = course.position + course.frames @ (np.array([length, 0.0, 0.0]) - lure.origin)
    way = per_cycle(course.time[window], rear[window], cadence)
    own.add("tail_motion", way, "m", f"of the rear end per cycle, drift taken off; {MODEL}")
