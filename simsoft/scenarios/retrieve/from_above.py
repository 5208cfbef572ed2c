"""A second motion that stands beside the one which a small kick finds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.results.outcome import Outcome
from simsoft.solvers.limit_cycle import Beat

SAME_STROKE = 0.05  # relative difference of stroke up to which two marches found one motion
FROM_ABOVE = "time march to the limit cycle from a large motion"


def add_from_above(
    outcome: Outcome,
    name: str,
    again: Callable[[float, Any, Any], Beat],
    speeds: Array,
    rests: Sequence[Any],
    beats: Sequence[Beat | None],
) -> None:
    """March again from the motion of the next higher speed and report what differs.

    Above the highest speed stands a kick many times the usual one. Where the motion found so is
    another than the one from a small kick, both exist side by side and both are told.

    Parameters
    ----------
    outcome : Outcome
    name : str, of the part
    again : function of speed [m/s], rest shape and where a march stands (None: the large kick)
    speeds, rests, beats : at ascending speeds; None for a beat that was lost
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
            found = again(float(speed), rest, start)
        except SolveError as error:
            outcome.warnings.append(f"{name} at {speed:.3g} m/s, from above: {error}")
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
            f"{name} at {speed:.3g} m/s: two motions side by side, stroke "
            f"{1e3 * below.stroke:.3g} mm from a small kick and {1e3 * found.stroke:.3g} mm from a "
            "large motion"
        )
