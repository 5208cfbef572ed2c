"""A second motion that stands beside the one which a small kick finds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.results.outcome import Outcome
from simsoft.scenarios.retrieve.marcher import Each
from simsoft.solvers.limit_cycle import Beat

SAME_STROKE = 0.05  # relative difference of stroke up to which two marches found one motion
FROM_ABOVE = "time march to the limit cycle from a large motion"


def add_from_above(
    outcome: Outcome,
    name: str,
    again: Callable[[float, Any, Any, float | None], Beat],
    speeds: Array,
    rests: Sequence[Any],
    beats: Sequence[Beat | None],
    each: Each = map,
) -> None:
    """March again from the motion of the next higher speed and report what differs.

    Above the highest speed stands a kick many times the usual one. Where the motion found so is
    another than the one from a small kick, both exist side by side and both are told.

    Parameters
    ----------
    outcome : Outcome
    name : str, of the part
    again : function of speed [m/s], rest shape, where a march stands (None: the large kick) and
        the beat [Hz] that its material is first taken at (None: what is expected of the part)
    speeds, rests, beats : at ascending speeds; None for a beat that was lost
    each : see ``marcher.Detail``
    """

    def marched(number: int, above: Beat | None) -> Beat | SolveError | None:
        below, moving = beats[number], above is not None and above.frequency > 0.0
        if below is None or not (moving or below.frequency > 0.0):
            return None  # at rest, and nothing moves above it either
        if not below.march.settled:
            return None  # what it comes to is not known, so that nothing could differ from it
        start = above.march.state if above is not None and moving else None
        likely = below.frequency if below.frequency > 0.0 else None  # most find the same motion
        try:
            return again(float(speeds[number]), rests[number], start, likely)
        except SolveError as error:
            return error

    next_up = [*beats[1:], None]  # from where a march goes on unless one from above strokes more
    numbers = range(len(beats))
    foreseen = list(each(lambda number: marched(number, next_up[number]), numbers))
    above: Beat | None = None
    for number in reversed(numbers):
        speed, below = speeds[number], beats[number]
        found = foreseen[number] if above is next_up[number] else marched(number, above)
        above = below
        if isinstance(found, SolveError):
            outcome.warnings.append(f"{name} at {speed:.3g} m/s, from above: {found}")
        if below is None or not isinstance(found, Beat):
            continue
        apart = abs(found.stroke - below.stroke)
        if apart <= SAME_STROKE * max(found.stroke, below.stroke):
            continue
        if not found.march.settled:  # it may still be on its way to the motion from a small kick
            message = f"a large motion stands open: {found.march.message}"
            outcome.warnings.append(f"{name} at {speed:.3g} m/s: {message}")
            continue
        above = found if found.stroke > below.stroke else below
        outcome.add("stroke_from_above", found.stroke, "m", FROM_ABOVE, speed=float(speed))
        if found.frequency > 0.0:
            outcome.add(
                "flap_frequency_from_above", found.frequency, "Hz", FROM_ABOVE, speed=float(speed)
            )
        outcome.warnings.append(
            f"{name} at {speed:.3g} m/s: two motions side by side, stroke "
            f"{1e3 * below.stroke:.3g} mm from a small kick and {1e3 * found.stroke:.3g} mm from a "
            "large motion"
        )
