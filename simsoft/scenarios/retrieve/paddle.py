"""Scenario 'retrieve' for a paddle that bends on its stem: rest shape, start, beat."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.answers.beat import (
    NO_STROKE,
    Moving,
    add_start,
    expected_beat,
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
from simsoft.bodies.answers.trace import trace_of
from simsoft.bodies.clearance.gap import moulded_rod
from simsoft.bodies.paddle.equilibrium import StemRest, clamp_load_of_stem, stem_branch
from simsoft.bodies.paddle.setup import StemReady, prepare_stem, stem_modes_at_own_frequency
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
from simsoft.lure.parts import Strip
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome
from simsoft.scenarios.hold.paddle import add_stem_drawings, add_stem_rest
from simsoft.scenarios.hold.rod import REST, add_model
from simsoft.scenarios.retrieve.marcher import PADDLE_CYCLE, Detail, on_soft_body
from simsoft.solvers.limit_cycle import MATERIAL_AGREES, ROUGHLY_AGREES, Beat, agreed_beat, measure
from simsoft.solvers.stability import Onset, search_onset
from simsoft.solvers.start_speed import Start, search_speeds, top_speed
from simsoft.solvers.time_march import longest_march

Stand = tuple[Bent, Array]  # where a march stands, and the plate's places on the way

FLUTTER = (
    "eigenvalues of small motions of the plate on its stem (rod: elongated-body force, drag; "
    "plate: load of the stiff paddle laid over it), screening: start speed to a factor 1.5"
)


def stem_retrieve(
    strip: Strip,
    surrounding: Water,
    values: dict[str, float],
    scenario: Scenario,
    detail: Detail,
) -> Outcome:
    """Answer one paddle in a stream at every speed of the scenario."""
    outcome = Outcome()
    add_model(outcome, strip)
    ready = prepare_stem(
        strip, surrounding, values, gravity=scenario.gravity, elements=detail.elements
    )
    if not ready.still.found:
        lack_stream(outcome, strip, scenario.speeds, FLUTTER, REST, ready.still.message)
        return outcome
    solver = _Marcher(ready, scenario, detail)
    start = _start(outcome, solver) if scenario.onset else Start(None, None, "not asked for")
    speeds = np.array(sorted(scenario.speeds))
    for speed, rest in zip(speeds, solver.rests(speeds), strict=True):
        _at_speed(outcome, solver, float(speed), rest, start)
    if detail.pictures:
        say_shading(outcome, strip, values)
        say_root(outcome, strip)
    return outcome


class _Marcher:
    """Marches of one paddle at any speed, with the expected beat and step chosen."""

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
        self.part = Moving(
            name=ready.strip.name,
            length=float(ready.model.rod.length.sum()),
            moulded_turning=total_turning(ready.model.rod.natural),
            paddle_width=pad.paddle.width,
        )

    def rests(self, speeds: Array) -> list[StemRest]:
        """Return the rest shapes at ascending speeds."""
        way = (speeds, self.direction, self.scenario.shear)
        return stem_branch(*self.ready.resting(), *way, self.ready.still)

    def expected(self, speed: float) -> float:
        """Return the expected beat [Hz] at a speed."""
        return expected_beat(self.onset, self.fastest, speed, self.part.length)

    def at(self, speed: float, rest: StemRest, rough: bool = False) -> tuple[Beat, Array]:
        """March at a speed from its kicked rest shape; return the beat and the plate's places."""
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
                start=None if begin is None else begin[0],
                extend=stated is None and not rough,
            )
            return measure(moulded, found.march, self.direction), (bent, found.places)

        agrees = ROUGHLY_AGREES if rough else MATERIAL_AGREES
        beat, stand = agreed_beat(once, ready.material, self.expected(speed), agrees)
        return beat, stand[1]

    def stroke_at(self, speed: float) -> tuple[float, float]:
        """Return stroke [m] and frequency [Hz] at any speed, from the nearest rest shape."""
        beat, _ = self.at(speed, self.rests(np.array([speed]))[0], rough=True)
        return max(beat.stroke, NO_STROKE), beat.frequency


def _start(outcome: Outcome, solver: _Marcher) -> Start:
    """Find the start speed and put it, and every other stability limit, into the outcome."""
    scenario, detail = solver.scenario, solver.detail
    top = top_speed(scenario.max_speed, scenario.speeds)
    motions = StemGrowth(solver.ready, solver.direction, scenario.shear)
    onset = search_onset(motions, search_speeds(top, detail.near), detail.careful)
    solver.onset = onset
    if onset.lost:
        outcome.warnings.append(f"{solver.part.name}: {onset.lost}")
    start, jumped = start_of_part(solver.stroke_at, solver.part.length, onset, top)
    warn_aside(outcome, solver.part, start, onset.crossings)
    basis = on_soft_body(FLUTTER, solver.ready.strip)
    add_start(outcome, start, onset.crossings, jumped or basis, basis)
    return start


def _at_speed(
    outcome: Outcome, solver: _Marcher, speed: float, rest: StemRest, start: Start
) -> None:
    """Answer one speed: rest shape, march, load on the clamp."""
    ready, scenario = solver.ready, solver.scenario
    if not rest.found:
        warn_lost_rest(outcome, solver.part.name, speed, rest.message)
    else:
        add_stem_rest(outcome, ready, rest, scenario.name, speed=speed)
        if solver.detail.pictures:
            add_stem_drawings(outcome, ready, rest, scenario.name, speed=speed)
    if scenario.march:
        _march_at(outcome, solver, speed, rest, start)
    if rest.found:
        stream = make_stream(speed, solver.direction, scenario.shear)
        load = clamp_load_of_stem(*ready.resting(), stream, rest)
        add_rest_load(outcome, load[:3], load[3:], solver.direction, REST, speed)


def _march_at(
    outcome: Outcome, solver: _Marcher, speed: float, rest: StemRest, start: Start
) -> None:
    """March at one speed and put measures, verdict, warnings and trace into the outcome."""
    ready, scenario = solver.ready, solver.scenario
    basis = on_soft_body(PADDLE_CYCLE, ready.strip)
    try:
        beat, places = solver.at(speed, rest)
    except SolveError as error:
        lack_beat(outcome, ready.strip, solver.part, speed, basis, str(error))
        return
    rod = ready.stiff.rod
    add_beat(
        outcome, ready.strip, solver.part, speed, beat, basis, start,
        rod=rod, moulded=lambda: moulded_rod(rod), shift=ready.values["thickness"],
        scenario=scenario.name,
    )  # fmt: skip
    outline = stem_outline(ready, beat.march, places)
    add_edges(outcome, solver.part, speed, beat, outline, basis)
    if not solver.detail.pictures:
        return
    if beat.frequency > 0.0:
        surface = stem_beat_surface(ready, beat, places, scenario.name, speed)
        outcome.surfaces.append(surface)
    trace = trace_of(
        beat,
        scenario=scenario.name,
        part=solver.part.name,
        speed=speed,
        elements=len(rod.length),
        outline=outline,
    )
    outcome.traces.append(trace)
