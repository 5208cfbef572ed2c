"""Scenario 'retrieve': a part held in a stream. Rest shape, start speed, beat at each speed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from importlib import import_module
from typing import Any, ClassVar, Protocol

import numpy as np

from simsoft.bodies.answers.beat import Moving
from simsoft.bodies.answers.in_body import Moulded
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
from simsoft.bodies.answers.trace import Outline, trace_of
from simsoft.case.model import Scenario
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.lure.parts import Specimen, Strip
from simsoft.mechanics.rod import Rod
from simsoft.properties.water import Water
from simsoft.results.outcome import Outcome, Stood
from simsoft.results.result import Surface
from simsoft.scenarios.hold.driver import add_model, still_body
from simsoft.scenarios.retrieve.from_above import add_from_above
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.solvers.crossing import Lead
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.start_speed import Start
from simsoft.solvers.time_march import CAME_TO_REST


@dataclass(frozen=True)
class Marched:
    """A beat at one speed and what is drawn of it.

    Attributes
    ----------
    beat : Beat
    outline : Outline, what stands about the middle line
    surface : function that draws a beat's phases, None where there are none to draw
    stands : tuple of arrays, where the march ended, for one of nearly the same part; or None
    lead : function that returns the leading small motion about the rest shape; None where there is
        no rest shape or more than that decides whether the part stays in it
    """

    beat: Beat
    outline: Outline
    surface: Callable[[], Surface] | None = None
    stands: tuple[Array, ...] | None = None
    lead: Callable[[], Lead] | None = None


@dataclass(frozen=True)
class Asked:
    """A march at one speed that has not been made yet.

    Attributes
    ----------
    part : Moving, as its motion is judged
    basis : str
    march : function that makes it; raises SolveError where it is lost
    """

    part: Moving
    basis: str
    march: Callable[[], Marched]


Made = Marched | SolveError | None  # a march, why it was lost, or None where there is none yet


class BodyInStream(Protocol):
    """What a body states of itself in a stream, made of its ``ready``, scenario and detail.

    ``flutter`` is the basis of its start speed; ``rod`` is None where no rod stands for it in the
    clearance to the hook. Marches of several speeds are made at a time, those of an
    ``independent`` body beside the search for its start; what is asked for them beforehand goes
    into an outcome that is thrown away.
    """

    flutter: ClassVar[str]
    independent: ClassVar[bool]
    direction: Array
    part: Moving

    @property
    def rod(self) -> Rod | None:
        """Its rod, or the one it stands on."""

    @property
    def elements(self) -> int:
        """Of how many elements it is made."""

    @property
    def moulded(self) -> Moulded:
        """Where it is as moulded."""

    def rests(self, speeds: Array) -> Sequence[Any]:
        """Return the rest shapes at ascending speeds [m/s]."""

    def start(self, outcome: Outcome) -> Start:
        """Find the start speed; put it, and every other stability limit, into the outcome."""

    def asked(self, outcome: Outcome, speed: float, rest: Any) -> Asked:
        """Return the march at a speed; add what small motions about the rest shape tell."""

    def again(self, speed: float, rest: Any, stands: Any, expected: float | None) -> Beat:
        """March from where another march stands, or from a large kick where that is None.

        ``expected`` [Hz] is the beat whose material is taken first, None for that of small motions.
        """

    def clamp_load(self, speed: float, rest: Any) -> tuple[Array, Array]:
        """Return force [N] and moment [N m] on the clamp of a rest shape."""


@dataclass(frozen=True)
class _Held:
    """A part in a stream: what answers at one speed need."""

    strip: Strip
    scenario: Scenario
    detail: Detail
    ready: Any
    body: BodyInStream


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
    still = still_body(strip)
    made = import_module(f"simsoft.scenarios.retrieve.{strip.solved_as}").BODY
    ready = still.prepare(
        Specimen(strip, surrounding, values, gravity=scenario.gravity, elements=detail.elements)
    )
    if not ready.still.found:
        why = ready.still.message
        lack_stream(outcome, strip, scenario.speeds, made.flutter, still.hanging, why)
        return outcome
    held = _Held(strip, scenario, detail, ready, made(ready, scenario, detail))
    speeds = np.array(sorted(scenario.speeds))
    rests = held.body.rests(speeds)
    start, made = _started_and_made(outcome, held, speeds, rests)
    beats = [
        _at_speed(outcome, held, float(speed), rest, start, found)
        for speed, rest, found in zip(speeds, rests, made, strict=True)
    ]
    if detail.pictures:
        say_shading(outcome, strip, values)
        say_root(outcome, strip)
        if scenario.march:
            add_from_above(outcome, strip.name, held.body.again, speeds, rests, beats, detail.each)
    return outcome


def _started_and_made(
    outcome: Outcome, held: _Held, speeds: Array, rests: Sequence[Any]
) -> tuple[Start, list[Made]]:
    """Find the start and march at every speed, several at a time where body and detail allow it.

    Only the search for the start puts anything into the outcome. Where nothing is marched yet the
    list holds None.
    """
    body, scenario = held.body, held.scenario

    def search() -> Start:
        return body.start(outcome) if scenario.onset else Start(None, None, "not asked for")

    first = [] if body.independent else [search()]  # marches may expect the beat of the start
    if not scenario.march:
        return (first or [search()])[0], [None] * len(speeds)
    pairs = zip(speeds, rests, strict=True)
    asked = [body.asked(Outcome(), float(speed), rest) for speed, rest in pairs]
    tasks: list[Callable[[], Any]] = [] if first else [search]
    tasks += [partial(_made, one) for one in asked]
    found: list[Any] = [*first, *held.detail.each(lambda task: task(), tasks)]
    return found[0], found[1:]


def _made(asked: Asked) -> Marched | SolveError:
    """Return a march, or why it was lost."""
    try:
        return asked.march()
    except SolveError as error:
        return error


def _at_speed(
    outcome: Outcome, held: _Held, speed: float, rest: Any, start: Start, made: Made
) -> Beat | None:
    """Answer one speed; return the beat of the march, if there is one."""
    still, name = still_body(held.strip), held.scenario.name
    if not rest.found:
        warn_lost_rest(outcome, held.strip.name, speed, rest.message)
    else:
        still.add_rest(outcome, held.ready, rest, name, speed=speed)
        if held.detail.pictures:
            still.add_drawings(outcome, held.ready, rest, name, speed=speed)
    asked = held.body.asked(outcome, speed, rest)
    beat = None
    if held.scenario.march:
        beat = _add_march(
            outcome, held, speed, asked, start, _made(asked) if made is None else made
        )
    if rest.found:
        load = held.body.clamp_load(speed, rest)
        add_rest_load(outcome, *load, held.body.direction, still.hanging, speed)
    return beat


def _add_march(
    outcome: Outcome,
    held: _Held,
    speed: float,
    asked: Asked,
    start: Start,
    found: Marched | SolveError,
) -> Beat | None:
    """Put measures, verdict, warnings and trace of a march into the outcome; return its beat."""
    strip, body, name = held.strip, held.body, held.scenario.name
    if isinstance(found, SolveError):
        lack_beat(outcome, strip, asked.part, speed, asked.basis, str(found))
        return None
    beat = found.beat
    if found.stands is not None and beat.frequency > 0.0 and beat.march.settled:
        outcome.stood[speed] = Stood(beat.frequency, beat.stroke, found.stands)
    if found.lead is not None and speed > 0.0 and beat.march.message == CAME_TO_REST:
        outcome.rested[speed] = found.lead().slow * asked.part.length / speed
    add_beat(
        outcome, strip, asked.part, speed, beat, asked.basis, start,
        rod=body.rod, moulded=body.moulded, shift=held.ready.values["thickness"], scenario=name,
    )  # fmt: skip
    add_edges(outcome, asked.part, speed, beat, found.outline, asked.basis)
    if held.detail.pictures:
        if found.surface is not None and beat.frequency > 0.0:
            outcome.surfaces.append(found.surface())
        trace = trace_of(
            beat, scenario=name, part=strip.name, speed=speed, elements=body.elements,
            outline=found.outline,
        )  # fmt: skip
        outcome.traces.append(trace)
    return beat
