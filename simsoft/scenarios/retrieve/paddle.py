"""A paddle that bends on its stem, held in a stream: its rest shapes, start speed and marches."""

from __future__ import annotations

from typing import ClassVar

import numpy as np

from simsoft.bodies.answers.beat import NO_STROKE, Moving, expected_beat, put_start, start_of_part
from simsoft.bodies.answers.in_body import Moulded
from simsoft.bodies.clearance.gap import moulded_rod
from simsoft.bodies.paddle.equilibrium import StemRest, clamp_load_of_stem, stem_branch
from simsoft.bodies.paddle.setup import StemReady, stem_modes_at_own_frequency
from simsoft.bodies.paddle.shapes import stem_beat_surface, stem_outline
from simsoft.bodies.paddle.stability import StemGrowth
from simsoft.bodies.paddle.stepper import Bent
from simsoft.bodies.paddle.time_march import STEPS_PER_MODE, march_stem
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.shapes import tip_of
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import total_turning
from simsoft.mechanics.rod import Rod
from simsoft.results.outcome import Outcome
from simsoft.results.result import Surface
from simsoft.scenarios.retrieve.driver import Asked, Marched
from simsoft.scenarios.retrieve.marcher import LARGE_KICK, PADDLE_CYCLE, Detail, on_soft_body
from simsoft.solvers.limit_cycle import (
    MATERIAL_AGREES,
    ROUGHLY_AGREES,
    Beat,
    agreed_beat,
    beat_of_march,
)
from simsoft.solvers.stability import Onset, search_onset
from simsoft.solvers.start_speed import Start, search_speeds, top_speed
from simsoft.solvers.time_march import longest_march

Stand = tuple[Bent, Array]  # where a march stands, and the plate's places on the way

FLUTTER = (
    "eigenvalues of small motions of the plate on its stem (rod: elongated-body force, drag; "
    "plate: load of the stiff paddle laid over it), screening: start speed to a factor 1.5"
)


class PaddleInStream:
    """See ``driver.BodyInStream``."""

    flutter: ClassVar[str] = FLUTTER
    independent: ClassVar[bool] = False

    def __init__(self, ready: StemReady, scenario: Scenario, detail: Detail) -> None:
        self.ready, self.scenario, self.detail = ready, scenario, detail
        whole = np.asarray(scenario.stream_direction, dtype=float)
        self.direction = ready.values.get("shading", 1.0) * whole
        pad = ready.model.pad
        if pad is None:
            raise SolveError("a paddle in air is not marched")
        first = float(stem_modes_at_own_frequency(ready, 1).frequency[0])
        self.fastest = max(first, 1e-9)
        self.onset: Onset | None = None
        self.rod: Rod = ready.stiff.rod
        self.elements = len(self.rod.length)
        self.moulded: Moulded = lambda: moulded_rod(ready.stiff.rod)
        self.part = Moving(
            name=ready.strip.name,
            length=float(ready.model.rod.length.sum()),
            moulded_turning=total_turning(ready.model.rod.natural),
            paddle_width=pad.paddle.width,
        )

    def rests(self, speeds: Array) -> list[StemRest]:
        """Return the rest shapes at ascending speeds."""
        way = (speeds, self.direction, self.scenario.shear)
        return stem_branch(self.ready.resting(), *way, self.ready.still)

    def expected(self, speed: float) -> float:
        """Return the expected beat [Hz] at a speed."""
        return expected_beat(self.onset, self.fastest, speed, self.part.length)

    def at(
        self,
        speed: float,
        rest: StemRest,
        rough: bool = False,
        kick: float = 1.0,
        start: Stand | None = None,
        expected: float | None = None,
    ) -> tuple[Beat, Array]:
        """March at a speed from its kicked rest shape, or from where another march stands.

        Returns the beat and the plate's places.
        """
        ready, detail = self.ready, self.detail
        stream = make_stream(speed, self.direction, self.scenario.shear)
        moulded = tip_of(ready.stiff.rod, ready.stiff.rod.natural)[1]
        element = float(ready.model.rod.length.max())
        step = detail.time_step(self.fastest, speed, element, STEPS_PER_MODE)
        stated = self.scenario.duration

        def once(frequency: float, begin: Stand | None) -> tuple[Beat, Stand]:
            modulus, time = ready.material(frequency)
            limit = longest_march(frequency, self.part.length, speed)
            found, bent = march_stem(
                ready.moving(rest, stream, modulus, time),
                time,
                stream,
                rest,
                frequency=frequency,
                longest=limit if stated is None else stated,
                step=step,
                kick=kick,
                start=None if begin is None else begin[0],
                extend=stated is None and not rough,
            )
            return beat_of_march(moulded, found.march, self.direction), (bent, found.places)

        agrees = ROUGHLY_AGREES if rough else MATERIAL_AGREES
        likely = self.expected(speed) if expected is None else expected
        beat, stand = agreed_beat(once, ready.material, likely, agrees, start)
        return beat, stand[1]

    def again(
        self, speed: float, rest: StemRest, stands: Bent | None, expected: float | None
    ) -> Beat:
        """March from a state, or from a large kick where that is None.

        ``expected`` [Hz] is the beat whose material is taken first, None for that of small motions.
        """
        start = None if stands is None else (stands, np.zeros((0, 0, 3)))
        return self.at(speed, rest, kick=LARGE_KICK, start=start, expected=expected)[0]

    def stroke_at(self, speed: float) -> tuple[float, float]:
        """Return stroke [m] and frequency [Hz] at any speed, from the nearest rest shape."""
        beat, _ = self.at(speed, self.rests(np.array([speed]))[0], rough=True)
        return max(beat.stroke, NO_STROKE), beat.frequency

    def start(self, outcome: Outcome) -> Start:
        """Find the start speed; put it, and every other stability limit, into the outcome."""
        scenario, detail = self.scenario, self.detail
        top = top_speed(scenario.max_speed, scenario.speeds)
        motions = StemGrowth(self.ready, self.direction, scenario.shear)
        onset = search_onset(motions, search_speeds(top, detail.near), detail.careful)
        self.onset = onset
        found = start_of_part(self.stroke_at, self.part.length, onset, top)
        return put_start(outcome, self.part, onset, found, on_soft_body(FLUTTER, self.ready.strip))

    def asked(self, _: Outcome, speed: float, rest: StemRest) -> Asked:
        """Return the march at a speed."""

        def march() -> Marched:
            beat, places = self.at(speed, rest)
            name = self.scenario.name

            def surface() -> Surface:
                return stem_beat_surface(self.ready, beat, places, name, speed)

            return Marched(beat, stem_outline(self.ready, beat.march, places), surface)

        return Asked(self.part, on_soft_body(PADDLE_CYCLE, self.ready.strip), march)

    def clamp_load(self, speed: float, rest: StemRest) -> tuple[Array, Array]:
        """Return force [N] and moment [N m] on the clamp of a rest shape."""
        stream = make_stream(speed, self.direction, self.scenario.shear)
        load = clamp_load_of_stem(self.ready.resting(), stream, rest)
        return load[:3], load[3:]


BODY = PaddleInStream
