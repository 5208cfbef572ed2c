"""A plate held in a stream: its rest shapes, start speed and marches."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import ClassVar

import numpy as np

from simsoft.bodies.answers.beat import (
    CYCLE,
    NO_STROKE,
    SLOWEST_PASSAGE,
    Moving,
    expected_beat,
    moves,
    put_start,
    start_of_part,
)
from simsoft.bodies.answers.in_body import Moulded
from simsoft.bodies.plate.equilibrium import PlateRest, clamp_load_of_plate, extent
from simsoft.bodies.plate.harmonic_balance import Shedding, shedding, start_by_shedding
from simsoft.bodies.plate.modes import plate_modes
from simsoft.bodies.plate.setup import (
    PlateReady,
    plate_modes_at_own_frequency,
    square_to_chords,
    turning_of_plate,
)
from simsoft.bodies.plate.shapes import beat_surface, plate_outline
from simsoft.bodies.plate.stability import PlateGrowth, follow_rest
from simsoft.bodies.plate.time_march import (
    STEPS_PER_BEAT,
    STEPS_PER_MODE,
    PlateStand,
    march_plate,
)
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.mechanics.plate import Plate
from simsoft.results.outcome import Outcome
from simsoft.results.result import Surface
from simsoft.scenarios.hold.plate import placed_plate
from simsoft.scenarios.retrieve.driver import Asked, Marched
from simsoft.scenarios.retrieve.marcher import DYING, FLUTTER_KICK, LARGE_KICK, Detail
from simsoft.solvers.crossing import Lead
from simsoft.solvers.limit_cycle import (
    MATERIAL_AGREES,
    ROUGHLY_AGREES,
    Beat,
    agreed_beat,
    beat_at_rest,
    beat_of_march,
)
from simsoft.solvers.stability import search_onset
from simsoft.solvers.start_speed import Start, search_speeds, top_speed
from simsoft.solvers.time_march import (
    CAME_TO_REST,
    CLOSELY,
    EXTENSION,
    Ends,
    Settling,
    longest_march,
    resting_step,
)

Moved = tuple[Shedding | None, Lead | None, Array | None]

FLUTTER = (
    "eigenvalues of small motions about the rest shape of the plate (added mass and lifting "
    "surface by boundary elements, cross-flow drag), screening where wide"
)
PLATE_WAKE = (
    "stroke of the plate in the wake it sheds passes 15 % of its chord, harmonic balance of small "
    "motions, screening: start speed to a factor 1.5"
)
WAKE_CYCLE = (
    f"{CYCLE} of the plate, moved by the wake it sheds, screening: frequency to 20 %, stroke to a "
    "factor 3 until filmed"
)
SHEDS = "harmonic balance of the plate and the wake it sheds in its rest shape, screening"
PLATE_CYCLE = f"{CYCLE} of the plate, screening: stall and wake of wide plates are judgements"
KICKED_MODES = 3
PASSES = 4  # marches with the material of the beat found: each begins anew, so that more repeat
KICK = 0.004  # of the length, first disturbance of each of the lowest modes
FARTHER = LARGE_KICK / FLUTTER_KICK  # times that, for a motion that it does not reach: as of a rod
STEADY_WAKE = 1.0  # reduced frequency up to which the wake is taken as steady (judgement)


class PlateInStream:
    """See ``driver.BodyInStream``."""

    flutter: ClassVar[str] = FLUTTER
    independent: ClassVar[bool] = True
    rod: ClassVar[None] = None

    def __init__(self, ready: PlateReady, scenario: Scenario, detail: Detail) -> None:
        self.ready, self.scenario, self.detail = ready, scenario, detail
        self.direction: Array = np.asarray(scenario.stream_direction, dtype=float)
        first = float(plate_modes_at_own_frequency(ready, 1).frequency[0])
        self.first_mode = max(first, 1e-9)
        self.growth: PlateGrowth | None = None
        self.known: dict[tuple[float, bytes], Moved] = {}
        self.elements = len(ready.model.planform.quads)
        self.moulded: Moulded = lambda: placed_plate(ready.model, ready.model.state)
        self.part = Moving(
            name=ready.strip.name,
            length=extent(ready.model),
            moulded_turning=turning_of_plate(ready.model, ready.model.state),
        )

    def rests(self, speeds: Array) -> list[PlateRest]:
        """Return the rest shapes at ascending speeds."""
        return follow_rest(
            self.ready, speeds, self.direction, self.scenario.shear, self.ready.still.state, 0.0
        )

    def small_motions(self) -> PlateGrowth:
        """Return the small motions about its rest shapes."""
        if self.growth is None:
            self.growth = PlateGrowth(self.ready, self.direction, self.scenario.shear)
        return self.growth

    def moved_by(self, speed: float, rest: PlateRest) -> Moved:
        """Return how it beats in the wake it sheds in a rest shape, else its small motion.

        The last is the shape of that motion, where it grows.
        Found once for each shape: the modes at hand are those of the one asked for last, and
        marches side by side may not take them from each other.
        """
        here = speed, rest.state.tobytes()
        if here not in self.known:
            motions = self.small_motions()
            shed = shedding(motions, speed, rest) if rest.found else None
            lead, shape = None, None
            if rest.found and shed is None and speed > 0.0:
                lead, shape = motions.leading(speed, rest)
            self.known[here] = shed, lead, shape
        return self.known[here]

    def shedding(self, speed: float, rest: PlateRest) -> Shedding | None:
        """Return how the plate beats in the wake it sheds in a rest shape, if it does."""
        return self.moved_by(speed, rest)[0]

    def at(self, speed: float, rest: PlateRest, settling: Settling = CLOSELY) -> Beat:
        """March at a speed from its rest shape, with the material of the beat found."""

        def once(frequency: float, start: None) -> tuple[Beat, None]:
            return self._march(speed, rest, frequency, settling=settling), start

        expected, agrees = self._sought(speed, rest)
        return agreed_beat(once, self.ready.material, expected, agrees, passes=PASSES)[0]

    def again(
        self, speed: float, rest: PlateRest, stands: PlateStand | None, expected: float | None
    ) -> Beat:
        """March from a state, or from a large kick where that is None.

        ``expected`` [Hz] is the beat whose material is taken first, None for that of small motions.
        """

        def once(frequency: float, start: PlateStand | None) -> tuple[Beat, PlateStand]:
            beat = self._march(speed, rest, frequency, FARTHER * KICK, start=start)
            return beat, beat.march.state

        likely, agrees = self._sought(speed, rest)
        first = likely if expected is None else expected
        return agreed_beat(once, self.ready.material, first, agrees, stands, PASSES)[0]

    def _sought(self, speed: float, rest: PlateRest) -> tuple[float, float]:
        """Return the expected beat [Hz], and how nearly that found has to agree."""
        shed = self.shedding(speed, rest)
        if shed is None:
            return self.expected(speed, rest), MATERIAL_AGREES
        return shed.frequency, ROUGHLY_AGREES

    def beat_at(self, speed: float, rest: PlateRest) -> Beat:
        """March at a speed, behind the bands as far as the unmoved part leaves a doubt.

        No march where the plate is sure to come to rest. Where small motions die out and it is
        found still, what a slow march has left of the kick is no motion: its rest shape counts.
        """
        detail, lead = self.detail, self.moved_by(speed, rest)[1]
        if lead is None or lead.growth >= 0.0:
            return self.at(speed, rest)
        if detail.stays(speed, self.part.length, lead):
            return self.at_rest(speed, rest)
        beat = self.at(speed, rest, DYING)
        if beat.march.message == CAME_TO_REST:
            return replace(self.at_rest(speed, rest), march=beat.march)
        left_over = speed in detail.rested and not moves(self.part, beat)
        return self.at_rest(speed, rest) if left_over else beat

    def at_rest(self, speed: float, rest: PlateRest) -> Beat:
        """Return the measures of the plate in its rest shape at a speed."""
        return self._march(speed, rest, self.expected(speed, rest), kick=0.0)

    def expected(self, speed: float, rest: PlateRest) -> float:
        """Return the beat [Hz] of the leading small motion, or the least that is expected.

        A march that takes its material at a tenth of its beat has ten times its Kelvin-Voigt time,
        and its inverse serves for a step or two. One that takes it at a faster beat than that which
        grows is too stiff near the start, and dies out.
        """
        lead = self.moved_by(speed, rest)[1]
        if lead is not None and self.leaves(speed, rest):
            return lead.frequency
        expected = expected_beat(None, self.first_mode, speed, self.part.length)
        return expected if lead is None else max(expected, lead.frequency)

    def leaves(self, speed: float, rest: PlateRest) -> bool:
        """Return whether a small motion about a rest shape grows and beats."""
        lead, slowest = self.moved_by(speed, rest)[1], SLOWEST_PASSAGE * speed / self.part.length
        return lead is not None and lead.growth > 0.0 and lead.frequency > slowest

    def _march(
        self,
        speed: float,
        rest: PlateRest,
        frequency: float,
        kick: float = KICK,
        settling: Settling = CLOSELY,
        start: PlateStand | None = None,
    ) -> Beat:
        ready, model = self.ready, self.ready.model
        modulus, time = ready.material(frequency)
        plate = ready.moving_plate(rest.state, modulus)
        element = self.part.length / (len(model.planform.centre) - 1)
        limit = self.scenario.duration
        longest = longest_march(frequency, self.part.length, speed) if limit is None else limit
        step = self.detail.time_step(self.first_mode, speed, element, STEPS_PER_MODE)
        if kick == 0.0:
            step, frequency = resting_step(step, frequency, STEPS_PER_BEAT, STEPS_PER_MODE)
            longest = 0.0
        extends = start is not None or kick > KICK or self.leaves(speed, rest)
        found = march_plate(
            model,
            plate,
            modulus,
            time,
            make_stream(speed, self.direction, self.scenario.shear),
            rest.state,
            self._kicks(plate, modulus, speed, rest, kick),
            frequency=frequency,
            ends=Ends(
                longest, longest * (EXTENSION if extends and limit is None else 1.0), settling
            ),
            step=step,
            start=start,
        )
        moulded = square_to_chords(model, model.state)[-1]  # as the march keeps the tip's
        measured = beat_at_rest if kick == 0.0 else beat_of_march
        return measured(moulded, found, self.direction)

    def _kicks(
        self, plate: Plate, modulus: float, speed: float, rest: PlateRest, kick: float
    ) -> Array:
        """Return the first disturbance (n, 6), each mode ``kick`` times the length.

        The small motion that grows is kicked as well: in the others' modes next to nothing of it
        may stand, and they have died out before it shows.
        """
        if kick == 0.0:
            return np.zeros_like(rest.state)
        modes = plate_modes(self.ready.model, plate, modulus, rest.state, KICKED_MODES, named=False)
        grows = self.moved_by(speed, rest)[2]
        shapes = modes.shape if grows is None else np.column_stack([modes.shape, grows])
        return _kick(shapes, rest.state.shape, kick * self.part.length)

    def stroke_at(self, speed: float) -> tuple[float, float]:
        """Return stroke [m] and frequency [Hz] at any speed, from the nearest rest shape."""
        rest = self.rests(np.array([speed]))[0]
        beat = self.at(speed, rest)
        return max(beat.stroke, NO_STROKE), beat.frequency

    def start(self, outcome: Outcome) -> Start:
        """Find the start speed; put it, and every other stability limit, into the outcome."""
        scenario, near = self.scenario, self.detail.near
        top = top_speed(scenario.max_speed, scenario.speeds)
        motions = PlateGrowth(self.ready, self.direction, scenario.shear)
        speeds = search_speeds(top, near)
        onset = search_onset(motions, speeds)
        found = start_of_part(self.stroke_at, self.part.length, onset, top)
        waked, _ = start_by_shedding(self.small_motions(), speeds, motions.followed)
        if waked.speed is not None and (found[0].speed is None or waked.speed < found[0].speed):
            found = waked, PLATE_WAKE
            outcome.add("shedding_rate", waked.frequency, "Hz", SHEDS, state="start")
        start = put_start(outcome, self.part, onset, found, FLUTTER)
        if start is not waked:
            self._doubt_wide(outcome, start)
        return start

    def _doubt_wide(self, outcome: Outcome, start: Start) -> None:
        """Distrust a start whose wake is not steady over the width."""
        if start.speed is None or start.frequency is None:
            return
        width = float(np.ptp(self.ready.model.planform.plan[:, 1]))
        reduced = math.pi * start.frequency * width / start.speed
        if reduced <= STEADY_WAKE:
            return
        why = (
            f"starts at a reduced frequency pi f b/U of {reduced:.2g}, past {STEADY_WAKE:g} "
            "the wake is not steady over the width"
        )
        outcome.warnings.append(
            f"{self.part.name}: {why}: start speed and rate are not to be trusted"
        )
        for quantity in ("start_speed", "start_frequency"):
            outcome.distrust(quantity, why)

    def asked(self, outcome: Outcome, speed: float, rest: PlateRest) -> Asked:
        """Return the march at a speed; add how the plate beats in the wake it sheds."""
        shed, leading, _ = self.moved_by(speed, rest)
        part, basis = self.part, PLATE_CYCLE
        if shed is not None:
            outcome.add("shedding_rate", shed.frequency, "Hz", SHEDS, speed=speed)
            part, basis = replace(part, paddle_width=shed.chord), WAKE_CYCLE

        def march() -> Marched:
            beat = self.beat_at(speed, rest)
            name = self.scenario.name

            def surface() -> Surface:
                return beat_surface(self.ready, beat, name, speed)

            lead = None if leading is None else lambda: leading
            return Marched(beat, plate_outline(self.ready), surface, lead=lead)

        return Asked(part, basis, march)

    def clamp_load(self, speed: float, rest: PlateRest) -> tuple[Array, Array]:
        """Return force [N] and moment [N m] on the clamp of a rest shape."""
        stream = make_stream(speed, self.direction, self.scenario.shear)
        return clamp_load_of_plate(self.ready.model, self.ready.resting_modulus, stream, rest.state)


def _kick(shape: Array, like: tuple[int, ...], size: float) -> Array:
    """Return the sum of modes (6 n, m), each with a largest displacement of ``size`` [m]."""
    modes = shape.T.reshape(-1, *like)
    largest = np.abs(modes[:, :, :3]).max(axis=(1, 2))
    return np.asarray((modes * (size / largest)[:, None, None]).sum(axis=0))


BODY = PlateInStream
