"""One strip at one speed: march to the limit cycle and read the measures off it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple, TypeVar

import numpy as np

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.setup import Ready
from simsoft.bodies.rod.shapes import paddle_outline, reach_of, tip_of
from simsoft.bodies.rod.time_march import CAME_TO_REST, STILL_STROKE, March, State, march
from simsoft.core.arrays import Array, Integers
from simsoft.core.errors import SolveError
from simsoft.core.signals import angle_between, cycles, fluctuation, main_direction
from simsoft.lure.parts import Strip
from simsoft.mechanics.material_law import Law
from simsoft.mechanics.rod import Rod
from simsoft.results.result import Trace

BEATS = 24  # a march that has not settled after so many expected beats is cut off,
PASSAGES = 120.0  # or after the stream has passed the part so many times,
FEWEST_BEATS = 12.0  # but not before so many expected beats
SHORTEST = 1.0  # [s] nor before so much simulated time
MATERIAL_AGREES = 0.01  # relative difference of beat found and beat the material was taken at
ROUGHLY_AGREES = 0.15  # the same for searches, and for a plate whose rate the wake sets
MATERIAL_PASSES = 8
STROBE_FRAMES = 12


@dataclass(frozen=True)
class Beat:
    """Measures of one march.

    Attributes
    ----------
    frequency : float [Hz]; zero where nothing beats
    stroke : float [m], tip (paddle centre) peak to peak along its main direction
    direction : array (3,), main direction of the tip's motion
    fold_back : float [rad], between moulded and mean tip direction
    tip : array (3,) [m], mean position from the clamp
    drag, side_force, root_moment : float [N], [N], [N m]
    march : March
    """

    frequency: float
    stroke: float
    direction: Array
    fold_back: float
    tip: Array
    drag: float
    side_force: float
    root_moment: float
    march: March


def longest_march(frequency: float, length: float, speed: float) -> float:
    """Return the simulated time [s] after which an unsettled march is cut off."""
    passages = PASSAGES * length / speed if speed > 0.0 else BEATS / frequency
    return max(SHORTEST, FEWEST_BEATS / frequency, min(BEATS / frequency, passages))


def beat_at(
    ready: Ready,
    speed: float,
    rest: Array,
    *,
    expected: float,
    fastest: float,
    direction: Array,
    shear: float = 0.0,
    longest: float | None = None,
    step: float | None = None,
    coarsen: float = 1.0,
    kick: float = 1.0,
    start: State | None = None,
    rough: bool = False,
    passes: int = MATERIAL_PASSES,
    faded: float = STILL_STROKE,
) -> Beat:
    """March one strip at one speed [m/s] and measure its beat.

    ``expected`` [Hz] sets modulus and damping of the material, step and sampling at first. The
    march goes on with the material of the beat found until both agree, so that the answer does
    not hang on the guess; a march that ends without that says so. ``rough`` is for searches that
    ask whether a part beats at all: agreement to 15 %, no march longer than the usual one.
    ``passes`` as in ``agreed_beat``, ``faded`` as in ``march``.

    Raises
    ------
    SolveError
        If the march diverges.
    """
    stream = make_stream(speed, direction, shear)
    moulded = tip_of(ready.rod, ready.rod.natural)[1]
    length = float(ready.rod.length.sum())

    def once(frequency: float, begin: State | None) -> tuple[Beat, State | None]:
        limit = longest_march(frequency, length, speed)
        found = march(
            ready.moving_rod(rest, stream, frequency),
            stream,
            rest,
            frequency=frequency,
            fastest=fastest,
            longest=limit if longest is None else longest,
            step=step,
            coarsen=coarsen,
            kick=kick,
            start=begin,
            extend=longest is None and not rough,
            faded=faded,
        )
        return measure(moulded, found, direction), found.state

    agrees = ROUGHLY_AGREES if rough else MATERIAL_AGREES
    return agreed_beat(once, ready.material, expected, agrees, start, passes)[0]


AnyState = TypeVar("AnyState")


def agreed_beat(
    once: Callable[[float, AnyState | None], tuple[Beat, AnyState | None]],
    material: Law,
    expected: float,
    agrees: float,
    start: AnyState | None = None,
    passes: int = MATERIAL_PASSES,
) -> tuple[Beat, AnyState | None]:
    """March on until the beat found is the one that the material was taken at.

    Parameters
    ----------
    once : function of a frequency [Hz] for the material and of where an earlier march stands,
        returning the beat of a march and where it stands
    material : Law
    expected : float [Hz]
    agrees : float, relative difference that is none
    start : where the first march begins, None for the disturbed rest shape
    passes : int, marches at most
    """
    frequency = expected
    for _ in range(passes):
        beat, state = once(frequency, start)
        if beat.frequency <= 0.0 or abs(beat.frequency - frequency) <= agrees * frequency:
            return beat, state
        if material(beat.frequency) == material(frequency):
            return beat, state
        taken, frequency, start = frequency, beat.frequency, state
    if not beat.march.settled:
        return beat, state
    message = f"beats at {beat.frequency:.3g} Hz with the material of {taken:.3g} Hz"
    return replace(beat, march=replace(beat.march, settled=False, message=message)), state


def measure(moulded: Array, found: March, direction: Array) -> Beat:
    """Return the measures of a march over its settled window.

    ``moulded`` (3,) is the moulded direction of the tip, ``direction`` (3,) that of the stream,
    of any length.
    """
    first, last = found.window
    last = max(last, first + 2)
    tip = found.tip[first:last]
    axis = main_direction(tip)
    direction = direction / np.linalg.norm(direction)
    signal = tip @ axis
    beat = cycles(found.time[first:last], signal)
    frequency = 1.0 / float(np.median(beat.period)) if len(beat.period) else 0.0
    stroke = float(np.median(beat.stroke)) if len(beat.stroke) else float(np.ptp(signal))
    rested = found.message == CAME_TO_REST
    if rested:
        frequency = stroke = 0.0
    if not math.isfinite(stroke):
        raise SolveError("the march returned a motion that is not finite")
    mean_tangent = found.tangent[first:last].mean(axis=0)
    force = found.force[first:last]
    moment = found.moment[first:last]
    return Beat(
        frequency=frequency,
        stroke=stroke,
        direction=axis,
        fold_back=angle_between(moulded, mean_tangent),
        tip=tip.mean(axis=0),
        drag=float((force @ direction).mean()),
        side_force=0.0 if rested else fluctuation(force, direction),
        root_moment=float(np.linalg.norm(moment, axis=1).max()),
        march=found,
    )


class Outline(NamedTuple):
    """What stands about the centreline of a part that moves.

    Attributes
    ----------
    root : array (3,) [m], of the clamp in the lure's axes
    across : array (3,), unit vector along the width at the clamp
    reach : array (nodes, 2) [m], of both edges along the width, the clamp first
    paddle : function of the rows of a march returning outlines (rows, points, 3) [m] from the
        clamp, or None
    """

    root: Array
    across: Array
    reach: Array
    paddle: Callable[[Integers], Array] | None = None


def outline_of(strip: Strip, rod: Rod, found: March) -> Outline:
    """Return what stands about the centreline of a rod, its stiff paddle among it."""
    paddle = strip.part.paddle

    def rims(rows: Integers) -> Array:
        assert paddle is not None
        across, along = found.width_axes[rows, -1], found.tangent[rows]
        frame = np.stack([np.cross(across, along), across, along], axis=2)
        return paddle_outline(paddle, rod, found.shapes[rows, -1] - rod.root, frame)

    reach = reach_of(strip, found.shapes.shape[1] + 1)
    return Outline(rod.root, rod.frame[:, 1], reach, None if paddle is None else rims)


def strobe_rows(beat: Beat) -> Integers:
    """Return the rows of a march that show its last beat, or its last part where none beats."""
    found = beat.march
    begin, last = found.window
    if beat.frequency > 0.0:
        period = 1.0 / beat.frequency
        begin = int(np.searchsorted(found.time, found.time[last - 1] - period))
    count = last - begin
    return begin + np.linspace(0, count - 1, min(STROBE_FRAMES, count)).astype(int)


def edge_to_edge(beat: Beat, outline: Outline) -> float | None:
    """Return the width [m] that a paddle's edges sweep over its last beat, along the main motion.

    None where there is no paddle or no beat. It is what is seen: stroke and width together.
    """
    if outline.paddle is None or beat.frequency <= 0.0:
        return None
    return float(np.ptp(outline.paddle(strobe_rows(beat)) @ beat.direction))


def trace_of(
    beat: Beat, *, scenario: str, part: str, speed: float, elements: int, outline: Outline
) -> Trace:
    """Return the trace of a march for pictures and the results file."""
    found = beat.march
    first, last = found.window
    rows = strobe_rows(beat)
    clamp = np.zeros((len(rows), 1, 3))
    line = np.concatenate([clamp, found.shapes[rows] - outline.root], axis=1)
    across = np.concatenate([clamp + outline.across, found.width_axes[rows]], axis=1)
    rims = np.zeros((len(rows), 0, 3)) if outline.paddle is None else outline.paddle(rows)
    return Trace(
        scenario=scenario,
        part=part,
        speed=speed,
        time=found.time,
        tip=found.tip,
        tangent=found.tangent,
        force=found.force,
        moment=found.moment,
        wake=found.wake,
        strobe=line,
        strobe_time=found.time[rows],
        edges=line[:, :, None] + outline.reach[None, :, :, None] * across[:, :, None],
        paddle=rims,
        root=np.array(outline.root),
        settled=found.settled,
        message=found.message,
        window=(float(found.time[first]), float(found.time[last - 1])),
        step=found.step,
        elements=elements,
        energy=found.energy,
    )
