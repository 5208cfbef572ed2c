"""A rod held in a stream: its rest shapes, start speed and marches."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

import numpy as np

from simsoft.bodies.answers.beat import Moving, put_start, start_by_jump, start_of_part
from simsoft.bodies.answers.in_body import Moulded
from simsoft.bodies.answers.trace import rod_outline
from simsoft.bodies.clearance.gap import moulded_rod
from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch
from simsoft.bodies.rod.setup import Ready, modes_at_own_frequency, prepare_rod
from simsoft.bodies.rod.stability import find_onset
from simsoft.bodies.rod.tangents import at_rest
from simsoft.bodies.rod.time_march import MarchState
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.mechanics.rod import Rod
from simsoft.results.outcome import Outcome
from simsoft.scenarios.retrieve.driver import Asked, Marched
from simsoft.scenarios.retrieve.marcher import (
    FLUTTER,
    LARGE_KICK,
    Detail,
    Marcher,
    half_mesh,
    march_at,
)
from simsoft.solvers.crossing import Lead
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.start_speed import Start, search_speeds, top_speed
from simsoft.solvers.time_march import CLOSELY


class RodInStream:
    """See ``driver.BodyInStream``."""

    flutter: ClassVar[str] = FLUTTER
    independent: ClassVar[bool] = True

    def __init__(self, ready: Ready, scenario: Scenario, detail: Detail) -> None:
        self.ready, self.scenario, self.detail = ready, scenario, detail
        whole = np.asarray(scenario.stream_direction)
        self.direction: Array = ready.values.get("shading", 1.0) * whole
        fastest = float(modes_at_own_frequency(ready, 1).frequency[0])
        self.marcher = Marcher(ready, scenario, self.direction, fastest, detail)
        self.part: Moving = self.marcher.part
        self.rod: Rod = ready.rod
        self.elements = len(ready.rod.length)
        self.moulded: Moulded = lambda: moulded_rod(ready.rod)

    def rests(self, speeds: Array) -> list[Rest]:
        """Return the rest shapes at ascending speeds [m/s]."""
        ready = self.ready
        way = (speeds, self.direction, self.scenario.shear)
        return rest_branch(ready.resting_rod(), *way, start=ready.still.angle)

    def start(self, outcome: Outcome) -> Start:
        """Find the start speed; put it, and every other stability limit, into the outcome."""
        ready, scenario, detail = self.ready, self.scenario, self.detail
        top = top_speed(scenario.max_speed, scenario.speeds)
        onset = find_onset(
            ready.rod,
            ready.resting_modulus,
            ready.material,
            search_speeds(top, detail.near, detail.below),
            self.direction,
            scenario.shear,
            detail.careful,
        )
        found = start_of_part(self.marcher.stroke_at, self.part.length, onset, top, self._likely)
        return put_start(outcome, self.part, onset, found, self.marcher.start_basis)

    def _likely(self, lowest: float, top: float) -> float | None:
        """Return about where marches find the start [m/s], see ``beat.Likely``.

        It is where the same part on half the mesh starts, whose marches cost an eighth.
        """
        detail = self.detail
        if detail.elements is not None:
            return None
        half = half_mesh(self.elements)
        specimen = replace(self.ready.specimen, elements=half)
        rougher = replace(detail, elements=half, step_factor=2.0 * detail.step_factor)
        coarse = RodInStream(prepare_rod(specimen), self.scenario, rougher)
        return start_by_jump(coarse.marcher.stroke_at, self.part.length, lowest, top).speed

    def asked(self, _: Outcome, speed: float, rest: Rest) -> Asked:
        """Return the march at a speed."""
        marcher = self.marcher
        if self.scenario.march:
            marcher.growth()  # made once, before several ask for it

        def lead() -> Lead:
            return marcher.lead(speed, rest.angle)

        def march() -> Marched:
            beat = march_at(marcher, speed, rest)
            outline = rod_outline(self.ready.strip, self.rod, beat.march)
            state = beat.march.state
            stands = None if state is None else (state.quaternion, state.motion, state.wake)
            return Marched(beat, outline, stands=stands, lead=lead if rest.found else None)

        return Asked(self.part, marcher.basis, march)

    def again(
        self, speed: float, rest: Rest, stands: MarchState | None, expected: float | None
    ) -> Beat:
        """March from a state, or from a large kick where that is None.

        ``expected`` [Hz] as in ``Marcher.at``.
        """
        marcher = self.marcher
        settling = marcher.settling(speed, rest.angle) if rest.found else CLOSELY
        return marcher.at(
            speed, rest.angle, start=stands, kick=LARGE_KICK, expected=expected, settling=settling
        )

    def clamp_load(self, speed: float, rest: Rest) -> tuple[Array, Array]:
        """Return force [N] and moment [N m] on the clamp of a rest shape."""
        stream = make_stream(speed, self.direction, self.scenario.shear)
        load = at_rest(self.ready.resting_rod(), stream, rest.angle).load
        return load[:3], load[3:]


BODY = RodInStream
