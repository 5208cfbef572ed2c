"""Scenario 'retrieve': a part held in a stream. Rest shape, start speed, beat at each speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.case.model import Scenario
from simsoft.errors import SolveError
from simsoft.lure import Strip
from simsoft.measures import total_turning
from simsoft.solve.cycle import (
    CYCLE,
    NO_STROKE,
    Moving,
    add_start,
    expected_beat,
    start_of_part,
    warn_aside,
)
from simsoft.solve.hold import REST, add_drawings, add_model, add_rest
from simsoft.solve.linearise import clamp_load
from simsoft.solve.march import STEPS_PER_MODE, State
from simsoft.solve.onset import Crossing, Growth
from simsoft.solve.outcome import Outcome
from simsoft.solve.point import Beat, beat_at, expected_shedding, outline_of, trace_of
from simsoft.solve.rest import Rest, make_stream, rest_branch
from simsoft.solve.setup import Ready, modes_at_own_frequency, prepare
from simsoft.solve.start import (
    START_FRACTION,
    Start,
    start_by_instability,
    start_by_stroke,
    start_near,
    top_speed,
)
from simsoft.solve.told import add_beat, add_rest_load, lack_beat, lack_stream, warn_lost_rest
from simsoft.water import Water

Array = npt.NDArray[np.float64]

STEPS_PER_ELEMENT = 3.0  # in which the stream passes an element of a part that may flutter
LARGE_KICK = 40.0  # times the standard disturbance, for a motion that a small one does not reach
SAME_STROKE = 0.05  # relative difference of stroke up to which two marches found one motion
FROM_ABOVE = "time march to the limit cycle from a large motion"
FLUTTER_KICK = 6.0  # times the standard disturbance, so that slow growth need not be waited for
START_RULE = 0.75  # start speed over f_n D/St, rule of thumb of a planar study, screening
FLUTTER = "eigenvalues of small motions about the rest shape (elongated-body force, drag)"
WAKE = (
    "stroke of the wake-driven paddle passes 15 % of its width; mechanism by elimination, "
    "screening: start speed to a factor 1.5"
)
CYCLE_WAKE = (
    "time march, wake-driven paddle, screening: frequency to 20 %, stroke to a factor 3 until "
    "filmed"
)


@dataclass(frozen=True)
class Detail:
    """How a scenario is solved.

    Attributes
    ----------
    elements : int or None, None takes the strip's own
    step_factor : float, multiple of the chosen time step
    step : float or None [s], a step asked for by the user
    near : float or None [m/s], start speed found before; narrows the search
    pictures : bool, keep shapes and traces
    careful : bool, search for starts between the sampled speeds too; not for the bands of a part
        whose own search has done so
    """

    elements: int | None = None
    step_factor: float = 1.0
    step: float | None = None
    near: float | None = None
    pictures: bool = True
    careful: bool = True


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
    direction = np.asarray(scenario.stream_direction)
    speeds = np.array(sorted(scenario.speeds))
    rests = rest_branch(
        ready.resting_rod(), speeds, direction, scenario.shear, start=ready.still.angle
    )
    fastest = float(modes_at_own_frequency(ready, 1).frequency[0])
    solver = _Marcher(ready, scenario, direction, fastest, detail)
    start = Start(None, None, "not asked for")
    if scenario.onset:
        start = _start(outcome, solver, detail)
    beats = [
        _at_speed(outcome, solver, float(speed), rest, start)
        for speed, rest in zip(speeds, rests, strict=True)
    ]
    if detail.pictures and scenario.march and not solver.sheds:
        _from_above(outcome, solver, speeds, rests, beats)
    return outcome


class _Marcher:
    """Marches of one strip at any speed, with the expected beat and step chosen."""

    def __init__(
        self, ready: Ready, scenario: Scenario, direction: Array, fastest: float, detail: Detail
    ) -> None:
        self.ready = ready
        self.scenario = scenario
        self.direction = direction
        self.fastest = max(fastest, 1e-9)
        self.detail = detail
        self.sheds = ready.rod.paddle.wake_moment > 0.0
        self.growth: Growth | None = None
        self.part = Moving(
            name=ready.strip.name,
            length=float(ready.rod.length.sum()),
            moulded_turning=total_turning(ready.rod.natural),
            paddle_width=ready.rod.paddle.width if self.sheds else 0.0,
        )

    def expected(self, speed: float, rest: Array) -> float:
        """Return the expected beat [Hz] at a speed."""
        if self.sheds:
            return max(
                expected_shedding(self.ready, speed, rest, self.direction), 1e-3 * self.fastest
            )
        if self.growth is None:
            self.growth = Growth(
                self.ready.rod,
                self.ready.resting_modulus,
                self.ready.material,
                self.direction,
                self.scenario.shear,
            )
        leading = self.growth.at(speed, Rest(rest, True)).frequency
        return max(leading, expected_beat(None, self.fastest, speed, self.part.length))

    def at(
        self,
        speed: float,
        rest: Array,
        longest: float | None = None,
        start: State | None = None,
        kick: float = FLUTTER_KICK,
        rough: bool = False,
    ) -> Beat:
        """March at a speed from its kicked rest shape or from where another march stands."""
        expected = self.expected(speed, rest)
        crossing = 0.0
        if not self.sheds:
            element = float(self.ready.rod.length.max())
            crossing = STEPS_PER_ELEMENT * speed / element / STEPS_PER_MODE
        step = self.detail.step
        chosen = self.detail.step_factor
        return beat_at(
            self.ready,
            speed,
            rest,
            expected=expected,
            fastest=max(self.fastest, crossing),
            direction=self.direction,
            shear=self.scenario.shear,
            longest=self.scenario.duration if longest is None else longest,
            step=step * chosen if step is not None else None,
            coarsen=chosen,
            kick=1.0 if self.sheds else kick,
            start=start,
            rough=rough,
        )

    def stroke_at(self, speed: float) -> tuple[float, float]:
        """Return stroke [m] and frequency [Hz] at any speed, from the nearest rest shape."""
        rest = rest_branch(
            self.ready.resting_rod(),
            np.array([speed]),
            self.direction,
            self.scenario.shear,
            start=self.ready.still.angle,
        )[0]
        beat = self.at(speed, rest.angle, rough=True)
        return max(beat.stroke, NO_STROKE), beat.frequency


def _start(outcome: Outcome, solver: _Marcher, detail: Detail) -> Start:
    """Find the start speed and put it, and every other stability limit, into the outcome."""
    ready, scenario = solver.ready, solver.scenario
    top = top_speed(scenario.max_speed, scenario.speeds)
    crossings: tuple[Crossing, ...] = ()
    if solver.sheds and detail.near is not None:
        basis = WAKE
        wanted = START_FRACTION * ready.rod.paddle.width
        start = start_near(solver.stroke_at, wanted, detail.near, top)
    else:
        basis = FLUTTER
        start, onset = start_by_instability(
            ready, top, solver.direction, scenario.shear, detail.near, detail.careful
        )
        crossings = onset.crossings
        if onset.lost:
            outcome.warnings.append(f"{ready.strip.name}: {onset.lost}")
        if solver.sheds:
            basis = WAKE
            width = ready.rod.paddle.width
            guess = START_RULE * solver.fastest * width / ready.rod.paddle.strouhal
            start = start_by_stroke(solver.stroke_at, START_FRACTION * width, 0.25 * guess, top)
        else:
            start, jumped = start_of_part(solver.stroke_at, solver.part.length, onset, top)
            basis = jumped or basis
            warn_aside(outcome, solver.part, start, crossings)
    add_start(outcome, start, crossings, basis, FLUTTER)
    return start


def _at_speed(
    outcome: Outcome, solver: _Marcher, speed: float, rest: Rest, start: Start
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
    outcome: Outcome, solver: _Marcher, speed: float, rest: Rest, start: Start
) -> Beat | None:
    """March at one speed and put measures, verdict, warnings and trace into the outcome."""
    ready, scenario = solver.ready, solver.scenario
    basis = CYCLE_WAKE if solver.sheds else CYCLE
    try:
        beat = solver.at(speed, rest.angle)
    except SolveError as error:
        lack_beat(outcome, ready.strip, solver.part, speed, basis, str(error))
        return None
    add_beat(
        outcome, ready.strip, solver.part, speed, beat, basis, start,
        rod=ready.rod, shift=ready.values["thickness"], scenario=scenario.name,
    )  # fmt: skip
    if solver.detail.pictures:
        outcome.traces.append(
            trace_of(
                beat,
                scenario=scenario.name,
                part=ready.strip.name,
                speed=speed,
                elements=len(ready.rod.length),
                outline=outline_of(ready.strip, ready.rod, beat.march),
            )
        )
    return beat


def _from_above(
    outcome: Outcome,
    solver: _Marcher,
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


def _rest_load(outcome: Outcome, solver: _Marcher, speed: float, rest: Rest) -> None:
    """Add drag and root moment of a rest shape."""
    stream = make_stream(speed, solver.direction, solver.scenario.shear)
    load = clamp_load(solver.ready.resting_rod(), stream, rest.angle)
    add_rest_load(outcome, load[:3], load[3:], solver.direction, REST, speed)
