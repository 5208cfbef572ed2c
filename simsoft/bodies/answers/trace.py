"""What a march leaves for pictures and the results file: strobe, edges, the sweep of a paddle."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.rod.shapes import paddle_outline, reach_of
from simsoft.core.arrays import Array, Integers
from simsoft.lure.parts import Strip
from simsoft.mechanics.rod import Rod
from simsoft.results.result import Trace
from simsoft.solvers.limit_cycle import Beat
from simsoft.solvers.time_march import March

STROBE_FRAMES = 12


@dataclass(frozen=True)
class Outline:
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


def rod_outline(strip: Strip, rod: Rod, found: March) -> Outline:
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
