"""What a march and a start-speed search put into an outcome, whatever kind of part moved."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from simsoft.core.errors import SolveError
from simsoft.results.outcome import Outcome
from simsoft.results.record import bounded_above
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.stability import Crossing, Onset
from simsoft.solvers.start_speed import (
    START_FRACTION,
    STILL_WATER,
    Start,
    start_by_stroke,
    start_of,
)

TUMBLE = math.radians(108.0)  # past it a part tumbles or curls up: a class, not a number
SHIVER_FRACTION = 0.03  # of the paddle's width, stroke below which it is called still
BEATING = 0.02  # of the length, stroke below which a strip is called still
SLOWEST_BEAT = 0.5  # of the first wet mode: expected beat where nothing grows
SLOWEST_PASSAGE = 0.1  # beats while the stream passes the part, the least expected
CONFIRMED = 1.05  # times a start of small motions: the march there that has to beat
NO_STROKE = 1.0e-12  # [m], stands for none where logarithms are taken
CYCLE = "time march to the limit cycle"
JUMP_START = (
    "the moulded rest shape is left without a beat; lowest speed at which the march beats a tenth "
    "of a time or more while the stream passes the part, screening"
)

# What is known of a start that marches have to find: a function of the speeds [m/s] where their
# search begins and ends, returning about where the start [m/s] is, or None.
Likely = Callable[[float, float], float | None]


def _unknown(_lowest: float, _top: float) -> None:
    """Tell nothing of a start."""


@dataclass(frozen=True)
class Moving:
    """A part as its motion is judged.

    Attributes
    ----------
    name : str
    length : float [m]
    moulded_turning : float [rad], of the centreline from clamp to tip
    paddle_width : float [m], of a paddle, or the chord of a plate that sheds; zero for any other
        part
    """

    name: str
    length: float
    moulded_turning: float
    paddle_width: float = 0.0


def beat_verdict(part: Moving, beat: Beat) -> str:
    """Return the class of what a part does.

    A paddle kicks, shivers (between 3 and 15 % of its width) or is still; any other part
    flutters or is still; a part folded past the limit tumbles / curls up.
    """
    if _tumbles(part, beat):
        return "tumbles / curls up"
    if part.paddle_width > 0.0:
        share = beat.stroke / part.paddle_width
        if share >= START_FRACTION:
            return "kicks"
        return "shivers" if share >= SHIVER_FRACTION else "still"
    return "flutters" if moves(part, beat) else "still"


def moves(part: Moving, beat: Beat) -> bool:
    """Return whether a stroke is more than what counts as still."""
    smallest = BEATING * part.length
    if part.paddle_width > 0.0:
        smallest = SHIVER_FRACTION * part.paddle_width
    return beat.stroke >= smallest and beat.frequency > 0.0


def _tumbles(part: Moving, beat: Beat) -> bool:
    """Return whether a part moulded straight has folded past the limit of a number.

    A part moulded in a curl is meant to open by more than that.
    """
    return beat.fold_back > TUMBLE and part.moulded_turning < TUMBLE


def expected_beat(onset: Onset | None, first_mode: float, speed: float, length: float) -> float:
    """Return the beat [Hz] expected of a part that may flutter, from its growing motion."""
    slowest = max(SLOWEST_BEAT * first_mode, SLOWEST_PASSAGE * speed / length)
    if onset is not None:
        finite = np.isfinite(onset.growth)
        if finite.any():
            found = np.interp(speed, onset.speed[finite], onset.frequency[finite])
            return max(float(found), slowest)
    return slowest


def start_of_part(
    stroke_at: Callable[[float], tuple[float, float]],
    length: float,
    onset: Onset,
    top: float,
    likely: Likely = _unknown,
) -> tuple[Start, str | None]:
    """Return the speed from which a part beats, and its basis where marches had to find it.

    A shape that turns aside, or jumps to another equilibrium, may beat from there on although
    no small motion about it does. Where that comes before the first small motion that beats, or
    there is none, marches look for the beat. A shape left in still water already is looked at
    from the lowest speed searched on: without a stream there is no beat to march to. Where a
    march is lost there is no start, and the reason says so.

    Small motions that grow about the shape a part turned aside to are a start only if a march
    just above it beats: which of several shapes is followed there is a matter of chance, and a
    part may flop from one to another instead. If it does, marches go on to look for the beat.

    Parameters
    ----------
    stroke_at : function of speed [m/s] returning stroke [m] and frequency [Hz] of a march
    length : float [m]
    onset : Onset
    top : float [m/s], end of the search
    likely : Likely, asked where marches have to find it
    """

    def by_jump(lost_at: float, end: float) -> Start:
        return start_by_jump(stroke_at, length, lost_at, end, likely(lost_at, end))

    try:
        return _start_by_marches(stroke_at, by_jump, length, onset, top)
    except SolveError as error:
        reason = f"no start, because a march in the search for it was lost: {error}"
        return Start(None, None, reason), JUMP_START


def _start_by_marches(
    stroke_at: Callable[[float], tuple[float, float]],
    by_jump: Callable[[float, float], Start],
    length: float,
    onset: Onset,
    top: float,
) -> tuple[Start, str | None]:
    start = start_of(onset)
    lowest = float(onset.speed[0])
    leaves = [
        c.speed if c.speed > STILL_WATER * lowest else lowest
        for c in onset.crossings
        if c.starts and c.frequency <= 0.0
    ]
    if start.speed is None:
        leaves += [onset.lost_at] if onset.lost_at is not None else []
        if not leaves:
            return start, None
        return by_jump(min(leaves), top), JUMP_START
    for left in leaves:
        ends = [c.speed for c in onset.crossings if not c.starts and c.speed > left]
        if not ends or ends[0] > start.speed:
            continue
        jumped = by_jump(left, ends[0])
        if jumped.speed is not None:
            return jumped, JUMP_START
    confirmed = CONFIRMED * start.speed
    if not any(left < start.speed for left in leaves) or confirmed >= top:
        return start, None
    if _beating(stroke_at, length, confirmed)[0] >= BEATING * length:
        return start, None
    return by_jump(confirmed, top), JUMP_START


def start_by_jump(
    stroke_at: Callable[[float], tuple[float, float]],
    length: float,
    lost_at: float,
    top: float,
    likely: float | None = None,
) -> Start:
    """Return the lowest speed from the loss of the rest shape on at which the part beats.

    What beats more rarely than ``SLOWEST_PASSAGE`` flops from shape to shape: where such a
    motion begins its period is without bound, and that is no start of a beat. ``likely`` [m/s] is
    about where it begins.
    """

    def beating_stroke(speed: float) -> tuple[float, float]:
        return _beating(stroke_at, length, speed)

    return start_by_stroke(beating_stroke, BEATING * length, lost_at, top, likely)


def _beating(
    stroke_at: Callable[[float], tuple[float, float]], length: float, speed: float
) -> tuple[float, float]:
    """Return stroke [m] and frequency [Hz] of a march, none of what beats too rarely."""
    stroke, frequency = stroke_at(speed)
    beats = frequency >= SLOWEST_PASSAGE * speed / length
    return (stroke, frequency) if beats else (NO_STROKE, 0.0)


def warn_aside(outcome: Outcome, part: Moving, start: Start, crossings: Sequence[Crossing]) -> None:
    """Say where a shape turns aside to another equilibrium without a beat.

    Where a start is the lowest speed that was tried, that is said instead: nothing is known below.
    """
    if start.speed is not None and start.reason:
        outcome.warnings.append(f"{part.name}: {start.reason}, {start.speed:.3g} m/s")
        return
    for crossing in crossings:
        if not crossing.starts or crossing.frequency > 0.0:
            continue
        end = "does not beat at any higher speed searched"
        if start.speed is not None:
            end = f"does not beat below {start.speed:.3g} m/s"
            if crossing.speed >= start.speed:
                continue
        outcome.warnings.append(
            f"{part.name}: turns aside to another shape at {crossing.speed:.3g} m/s, but {end}"
        )


def add_start(
    outcome: Outcome, start: Start, crossings: Sequence[Crossing], basis: str, flutter: str
) -> None:
    """Add the start speed and every other stability limit; ``flutter`` is the limits' basis."""
    for quantity, value, unit in (
        ("start_speed", start.speed, "m/s"),
        ("start_frequency", start.frequency, "Hz"),
    ):
        if value is None:
            outcome.lack(quantity, unit, basis, start.reason)
        elif start.reason and quantity == "start_speed":
            outcome.add(quantity, value, unit, bounded_above(basis, start.reason))
        elif start.reason:
            outcome.lack(quantity, unit, basis, f"it {start.reason}, so the start may be slower")
        else:
            outcome.add(quantity, value, unit, basis)
    for crossing in crossings:
        if crossing.speed == start.speed:
            continue
        outcome.add("stability_limit", crossing.speed, "m/s", flutter, change=crossing.change)


def put_start(
    outcome: Outcome,
    part: Moving,
    onset: Onset,
    found: tuple[Start, str | None],
    basis: str,
) -> Start:
    """Put a start, every other limit and what the search met on its way into the outcome.

    Parameters
    ----------
    outcome : Outcome
    part : Moving
    onset : Onset, the search
    found : the start, and its basis where it is another than ``basis``, that of the limits
    basis : str

    Returns
    -------
    start : Start, as given
    """
    start, own = found
    seen = (onset.lost, onset.other)
    outcome.warnings += [f"{part.name}: {sentence}" for sentence in seen if sentence]
    warn_aside(outcome, part, start, onset.crossings)
    add_start(outcome, start, onset.crossings, own or basis, basis)
    return start


def lack_cycle(outcome: Outcome, part: Moving, speed: float, basis: str, reason: str) -> None:
    """Say that there is no limit cycle at a speed [m/s], and why."""
    outcome.lack("verdict", "", basis, reason, speed=speed)
    outcome.lack("flap_frequency", "Hz", basis, reason, speed=speed)
    outcome.warnings.append(f"{part.name} at {speed:.3g} m/s: {reason}")


def add_cycle(
    outcome: Outcome, part: Moving, speed: float, beat: Beat, basis: str, start: Start
) -> None:
    """Add measures, verdict and warnings of a march at a speed [m/s]."""
    _measures(outcome, part, speed, beat, basis)
    outcome.add("verdict", beat_verdict(part, beat), "", basis, speed=speed)
    below = start.speed is not None and speed < start.speed
    if below and moves(part, beat):
        outcome.warnings.append(
            f"{part.name} at {speed:.3g} m/s: beats once disturbed, though small "
            f"motions die out below {start.speed:.3g} m/s"
        )
    if not beat.march.settled:
        outcome.warnings.append(
            f"{part.name} at {speed:.3g} m/s: {beat.march.message}; medians are given"
        )
        outcome.distrust("stroke", beat.march.message, speed=speed)


def _measures(outcome: Outcome, part: Moving, speed: float, beat: Beat, basis: str) -> None:
    if beat.frequency > 0.0:
        outcome.add("flap_frequency", beat.frequency, "Hz", basis, speed=speed)
    else:
        outcome.lack("flap_frequency", "Hz", basis, "the part does not beat", speed=speed)
    outcome.add("stroke", beat.stroke, "m", basis, speed=speed)
    if _tumbles(part, beat):
        outcome.lack(
            "fold_back", "deg", basis, "tumbles / curls up: past 108 deg no number", speed=speed
        )
    else:
        outcome.add("fold_back", math.degrees(beat.fold_back), "deg", basis, speed=speed)
    outcome.add("drag", beat.drag, "N", basis, speed=speed)
    outcome.add("side_force", beat.side_force, "N", basis, speed=speed)
    outcome.add("root_moment", beat.root_moment, "N m", basis, speed=speed)
    outcome.add(
        "tip_position", tuple(float(x) for x in beat.tip), "m", basis, speed=speed, state="mean"
    )
    residual = beat.march.energy["residual"]
    outcome.add("energy_residual", residual, "", "work in - stored - dissipated", speed=speed)
