"""Marches of a rod at any speed: from rest, or on from where one of nearly the same stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from simsoft.bodies.answers.beat import CYCLE, NO_STROKE, Moving, expected_beat
from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch
from simsoft.bodies.rod.setup import Ready
from simsoft.bodies.rod.stability import Growth
from simsoft.bodies.rod.time_march import STEPS_PER_MODE, MarchState, beat_at, rest_at
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import total_turning
from simsoft.lure.parts import Strip
from simsoft.mechanics.rod import Stream
from simsoft.results.outcome import Stood
from simsoft.results.record import ON_SOFT_BODY
from simsoft.solvers.crossing import Lead
from simsoft.solvers.limit_cycle import MATERIAL_PASSES, Beat
from simsoft.solvers.time_march import (
    CAME_TO_REST,
    CLOSELY,
    ROUGH_SPREAD,
    Settling,
    TimeStep,
    longest_march,
)

Each = Callable[[Callable[[Any], Any], Iterable[Any]], Iterable[Any]]
STEPS_PER_ELEMENT = 3.0  # in which the stream passes an element of a part that may flutter
OTHER_MOTION = 1.5  # ratio of strokes past which two marches are held to move differently
GLANCE = 3.0  # beats that tell the material of a march that goes on from another
FEW_PASSES = 3  # marches with the material of the beat found, of one that goes on from another
DYING = Settling(faded=0.002, dies=True)  # where small motions die out
ELSEWHERE = 0.02  # of the length, from the tip of a rest shape to where another may be
ROUGHLY = Settling(change=ROUGH_SPREAD)  # of a march behind bands that are far wider
FEWEST_ELEMENTS = 4  # of half a mesh
FLUTTER_KICK = 6.0  # times the standard disturbance, so that slow growth need not be waited for
LARGE_KICK = 40.0  # times the same, for a motion that a small one does not reach
FLUTTER = "eigenvalues of small motions about the rest shape (elongated-body force, drag)"
PADDLE_FLUTTER = (
    "eigenvalues of small motions about the rest shape (bend-twist flutter of stem and paddle), "
    "screening: start speed to a factor 1.5"
)
PADDLE_CYCLE = (
    f"{CYCLE} of a paddle, screening: frequency to 20 %, stroke to a factor of two of a resolved "
    "flow"
)


def half_mesh(elements: int) -> int:
    """Return how many elements half a mesh has."""
    return max(FEWEST_ELEMENTS, elements // 2)


def on_soft_body(basis: str, strip: Strip) -> str:
    """Return what a paddle tail's number rests on, and that its stem goes on in soft body."""
    return f"{basis}; {ON_SOFT_BODY}" if strip.part.soft_ahead > 0.0 else basis


@dataclass(frozen=True)
class Detail:
    """How a scenario is solved.

    Attributes
    ----------
    elements : int or None, None takes the strip's own
    step_factor : float, multiple of the chosen time step
    step : float or None [s], a step asked for by the user
    near : float or None [m/s], start speed found before; narrows the search
    below : bool, search more widely spaced below that too
    pictures : bool, keep shapes and traces
    careful : bool, search for starts between the sampled speeds too; not for the bands of a part
        whose own search has done so
    begun : dict of Stood by speed [m/s], where marches of nearly the same part stand; None for
        every march from rest
    rested : dict of float by speed [m/s], see ``Outcome``, of marches of nearly the same part
    screened : bool, no march: a stiff paddle by its small motions, all else on a coarse mesh
    each : function of a function and its arguments, ``map`` or one that works on several at a time
    """

    elements: int | None = None
    step_factor: float = 1.0
    step: float | None = None
    near: float | None = None
    below: bool = False
    pictures: bool = True
    careful: bool = True
    begun: Mapping[float, Stood] | None = None
    rested: Mapping[float, float] = field(default_factory=dict)
    screened: bool = False
    each: Each = map

    def stays(self, speed: float, length: float, lead: Lead) -> bool:
        """Return whether a part of a length [m] is sure to come to rest at a speed [m/s].

        It is where the unmoved part came to rest from the same kick, and small motions die out no
        more slowly than those of the unmoved part that the longest took to.
        """
        if speed not in self.rested or lead.growth >= 0.0:
            return False
        return lead.slow * length / speed <= max(self.rested.values())

    def time_step(self, first: float, speed: float, element: float, per_mode: float) -> TimeStep:
        """Return the step that resolves a part's first mode and the stream's passing.

        ``first`` [Hz], ``speed`` [m/s], ``element`` [m], ``per_mode`` steps of the body's march.
        """
        crossing = STEPS_PER_ELEMENT * speed / element / per_mode
        return TimeStep(max(first, crossing), self.step, self.step_factor)


class Marcher:
    """Marches of one strip at any speed, with the expected beat and step chosen."""

    def __init__(
        self, ready: Ready, scenario: Scenario, direction: Array, fastest: float, detail: Detail
    ) -> None:
        self.ready = ready
        self.scenario = scenario
        self.direction = direction
        self.fastest = max(fastest, 1e-9)
        self.detail = detail
        paddle = ready.rod.paddle
        hung = paddle.area > 0.0
        self.start_basis = on_soft_body(PADDLE_FLUTTER, ready.strip) if hung else FLUTTER
        self.basis = on_soft_body(PADDLE_CYCLE, ready.strip) if hung else CYCLE
        self.hasty = detail.begun is not None
        self.unasked = (0.0, ready.still.angle)
        self.asked = self.unasked
        self._growth: Growth | None = None
        self.part = Moving(
            name=ready.strip.name,
            length=float(ready.rod.length.sum()),
            moulded_turning=total_turning(ready.rod.natural),
            paddle_width=paddle.width if hung else 0.0,
        )

    def lead(self, speed: float, rest: Array) -> Lead:
        """Return the leading small motion about a rest shape at a speed."""
        return self.growth().at(speed, Rest(rest, True))

    def growth(self) -> Growth:
        """Return the small motions about its rest shapes."""
        if self._growth is None:
            self._growth = Growth(
                self.ready.rod,
                self.ready.resting_modulus,
                self.ready.material,
                self.direction,
                self.scenario.shear,
            )
        return self._growth

    def stays(self, speed: float, rest: Array) -> bool:
        """Return whether the part is sure to come to rest at a speed."""
        detail = self.detail
        return speed in detail.rested and detail.stays(
            speed, self.part.length, self.lead(speed, rest)
        )

    def expected(self, speed: float, rest: Array) -> float:
        """Return the expected beat [Hz] at a speed."""
        leading = self.lead(speed, rest).frequency
        return max(leading, expected_beat(None, self.fastest, speed, self.part.length))

    def at(
        self,
        speed: float,
        rest: Array,
        longest: float | None = None,
        start: MarchState | None = None,
        kick: float = FLUTTER_KICK,
        rough: bool = False,
        expected: float | None = None,
        passes: int = MATERIAL_PASSES,
        settling: Settling = CLOSELY,
    ) -> Beat:
        """March at a speed from its kicked rest shape or from where another march stands."""
        return beat_at(
            self.ready,
            speed,
            rest,
            stream=self._stream(speed),
            expected=self.expected(speed, rest) if expected is None else expected,
            step=self._step(speed),
            longest=self.scenario.duration if longest is None else longest,
            kick=kick,
            start=start,
            rough=rough,
            passes=passes,
            settling=replace(settling, passing=not self.hasty),
        )

    def settling(self, speed: float, rest: Array) -> Settling:
        """Return what counts as settled about a rest shape at a speed."""
        return DYING if self.lead(speed, rest).growth <= 0.0 else CLOSELY

    def _stream(self, speed: float) -> Stream:
        return make_stream(speed, self.direction, self.scenario.shear)

    def _step(self, speed: float) -> TimeStep:
        element = float(self.ready.rod.length.max())
        return self.detail.time_step(self.fastest, speed, element, STEPS_PER_MODE)

    def at_rest(self, speed: float, rest: Array) -> Beat:
        """Return the measures of the part in its rest shape at a speed."""
        return rest_at(
            self.ready,
            speed,
            rest,
            stream=self._stream(speed),
            expected=self.expected(speed, rest),
            step=self._step(speed),
        )

    def stroke_at(self, speed: float) -> tuple[float, float]:
        """Return stroke [m] and frequency [Hz] at any speed, from the nearest rest shape.

        In haste the rest shape is followed from that of the last lower speed asked for.
        """
        near = self.asked if self.hasty and self.asked[0] <= speed else self.unasked
        rest = rest_branch(
            self.ready.resting_rod(),
            np.array([speed]),
            self.direction,
            self.scenario.shear,
            start=near[1],
            start_speed=near[0],
        )[0]
        settling = self.settling(speed, rest.angle) if rest.found else CLOSELY
        if rest.found:
            self.asked = (speed, rest.angle)
        beat = self.at(speed, rest.angle, rough=True, settling=settling)
        return max(beat.stroke, NO_STROKE), beat.frequency


def march_at(solver: Marcher, speed: float, rest: Rest) -> Beat:
    """March at one speed: from rest, or on from where a march of nearly the same part stands.

    No march where the part is sure to come to rest, and the measures of the rest shape where it has
    done so. On only where small motions about the rest shape grow, so that from rest too it would
    beat.
    Where it does not soon settle to a motion like that one, the march from rest is the answer.
    """
    begun = solver.detail.begun
    if not rest.found:
        return solver.at(speed, rest.angle)
    if solver.stays(speed, rest.angle):
        return solver.at_rest(speed, rest.angle)
    if solver.settling(speed, rest.angle).dies:
        return _dying(solver, speed, rest.angle)
    stood = None if begun is None else begun.get(speed)
    if stood is None:
        return solver.at(speed, rest.angle)
    try:
        beat = _onward(solver, speed, rest.angle, stood)
    except SolveError:
        return solver.at(speed, rest.angle)
    same = beat.march.settled and alike(beat.stroke, stood.stroke)
    return beat if same else solver.at(speed, rest.angle)


def _dying(solver: Marcher, speed: float, rest: Array) -> Beat:
    """March where small motions die out; the measures are those of the rest shape it comes to.

    Where it seems to have come to another, it is watched for longer.
    """
    beat = solver.at(speed, rest, settling=DYING)
    if beat.march.message != CAME_TO_REST:
        return beat
    resting = solver.at_rest(speed, rest)
    if np.linalg.norm(resting.tip - beat.tip) > ELSEWHERE * solver.part.length:
        return solver.at(speed, rest)
    return replace(resting, march=beat.march)


def _onward(solver: Marcher, speed: float, rest: Array, stood: Stood) -> Beat:
    """March on from where another march stands; a few beats first tell the material."""
    few = GLANCE / stood.frequency
    begin, expected = MarchState(*stood.state), stood.frequency
    first = solver.at(speed, rest, few, begin, expected=expected, passes=1)
    if first.frequency > 0.0:
        expected = first.frequency
    limit = solver.scenario.duration or longest_march(expected, solver.part.length, speed)
    start = first.march.state
    return solver.at(
        speed, rest, limit, start, expected=expected, passes=FEW_PASSES, settling=ROUGHLY
    )


def alike(stroke: float, other: float) -> bool:
    """Return whether two strokes [m] may be of one motion."""
    small, large = sorted((stroke, other))
    return large <= OTHER_MOTION * small
