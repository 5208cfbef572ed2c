"""The lure in space: body, hook, weights and parts, at rest and over a beat at every speed.

Places are in the lure's axes (x to the tail, y to the side, z up) and in hundredths of a
millimetre, so that they are short whole numbers.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from simsoft.core.arrays import Array
from simsoft.report.thickness import part_of, soft_ahead, thickness_of
from simsoft.report.units import speed_text
from simsoft.results.record import select
from simsoft.results.result import RunResult, Shape, Trace

FINE = 1e5  # hundredths of a millimetre in a metre
MOST_NODES = 25  # along a part as drawn
MOST_POINTS = 24  # around a paddle as drawn
STATIONS = 40  # along the body as drawn
SAME_FRAME = 0.5  # of the time between frames: a frame nearer to the next beat's first is that


def scene(result: RunResult) -> dict[str, Any]:
    """Return the moving picture of a run as plain data.

    Returns
    -------
    scene : dict with ``body``, ``hook``, ``weights``, ``unit`` and ``sets``; a set is one scenario
        at one speed with its parts, each with its period [s] (0 at rest) and its frames
    """
    return {
        "body": _body(result),
        "hook": _hook(result),
        "weights": list(_weights(result)),
        "inch": result.case.length_unit == "inch",
        "sets": list(_sets(result)),
    }


def _whole(places: Array) -> list[int]:
    """Return places [m] as flat whole numbers of hundredths of a millimetre."""
    return [int(x) for x in np.rint(FINE * np.asarray(places, dtype=float)).ravel()]


def _body(result: RunResult) -> dict[str, Any] | None:
    body = result.case.body
    if body is None:
        return None
    # stations crowd at the ends, where a body closes; what bends with a tail is drawn with it
    share = 0.5 - 0.5 * np.cos(np.linspace(0.0, math.pi, STATIONS))
    share *= 1.0 - _bending(result) / body.length
    return {
        "x": _whole(share * body.length),
        "height": _whole(np.interp(share, body.height.stations, body.height.values)),
        "width": _whole(np.interp(share, body.width.stations, body.width.values)),
        "box": body.section == "rectangle",
    }


def _bending(result: RunResult) -> float:
    """Return the length [m] of soft body that bends with a tail; 0 where none does."""
    pairs = [(part_of(result, shape.part), shape.root) for shape in result.shapes]
    return max((soft_ahead(part, root) for part, root in pairs if part is not None), default=0.0)


def _hook(result: RunResult) -> dict[str, Any] | None:
    rig = result.case.rig
    if rig is None or rig.hook is None:
        return None
    return {
        "path": _whole(np.array(rig.hook.path)),
        "wire": _whole(np.array(rig.hook.wire_diameter)),
    }


def _weights(result: RunResult) -> Iterator[dict[str, Any]]:
    """Yield the weights as balls of their volume."""
    rig = result.case.rig
    for weight in () if rig is None else rig.weights:
        volumes = [r for r in select(result.records, "volume") if r.part == weight.name]
        if volumes and isinstance(volumes[0].value, float):
            radius = (0.75 * volumes[0].value / math.pi) ** (1.0 / 3.0)
            yield {"at": _whole(np.array(weight.position)), "radius": _whole(np.array(radius))[0]}


def _sets(result: RunResult) -> Iterator[dict[str, Any]]:
    """Yield every scenario at every speed, its moving parts first choice, resting ones second."""
    keys = dict.fromkeys((t.scenario, t.speed) for t in result.traces)
    keys |= dict.fromkeys((s.scenario, s.speed) for s in result.shapes if s.label == "rest")
    if not keys and result.shapes:
        keys = {("", 0.0): None}
    for scenario, speed in keys:
        traces = [t for t in result.traces if (t.scenario, t.speed) == (scenario, speed)]
        moving = {trace.part for trace in traces}
        resting = {
            s.part: s
            for s in result.shapes
            if (s.scenario, s.speed, s.label) == (scenario, speed, "rest")
        }
        moulded = {s.part: s for s in result.shapes if s.label == "moulded"}
        parts = [_moving(result, trace) for trace in traces]
        parts += [
            _resting(result, shape)
            for name, shape in (moulded | resting).items()
            if name not in moving
        ]
        kept = [s for s in result.case.scenarios if s.name == scenario]
        stream = kept[0].stream_direction if kept else (1.0, 0.0, 0.0)
        label = (
            f"{scenario}, {speed_text(speed, result.case.length_unit)}"
            if speed > 0.0
            else f"{scenario}, still water"
        )
        label = label if scenario else "as moulded"
        yield {
            "label": label,
            "stream": list(stream) if speed > 0.0 else None,
            "parts": parts,
        }


def period_of(result: RunResult, trace: Trace) -> float:
    """Return the time [s] of a beat of a trace by its record, 0 where it has none."""
    for record in select(result.records, "flap_frequency", speed=trace.speed):
        mine = (record.scenario, record.part) == (trace.scenario, trace.part)
        if mine and set(record.at) == {"speed"} and isinstance(record.value, float):
            return 1.0 / record.value
    return 0.0


def frames_a_beat(trace: Trace, period: float) -> int:
    """Return how many frames of a trace make up one beat, one where it is at rest."""
    count = len(trace.strobe)
    if period <= 0.0 or count < 3:
        return 1
    elapsed = trace.strobe_time - trace.strobe_time[0]
    gap = float(elapsed[1])
    return count - 1 if period - float(elapsed[-1]) < SAME_FRAME * gap else count


def _moving(result: RunResult, trace: Trace) -> dict[str, Any]:
    period = period_of(result, trace)
    count = frames_a_beat(trace, period)
    rows = range(count) if count > 1 else range(len(trace.strobe) - 1, len(trace.strobe))
    return {
        "name": trace.part,
        "period": period if count > 1 else 0.0,
        **_sizes(result, trace.part, trace.root, trace.strobe.shape[1]),
        "frames": [_whole(_thinned(trace.edges[k], MOST_NODES) + trace.root) for k in rows],
        "paddles": [_whole(_around(trace.paddle[k]) + trace.root) for k in rows],
    }


def _resting(result: RunResult, shape: Shape) -> dict[str, Any]:
    # a plate's outline stands where a paddle's would, and its edges say the same
    paddle = shape.paddle if _has_paddle(result, shape.part) else np.zeros((0, 3))
    return {
        "name": shape.part,
        "period": 0.0,
        **_sizes(result, shape.part, shape.root, len(shape.centreline)),
        "frames": [_whole(_thinned(shape.edges, MOST_NODES) + shape.root)],
        "paddles": [_whole(_around(paddle) + shape.root)],
    }


def _thinned(rows: Array, most: int) -> Array:
    """Return evenly taken rows, the first and last among them."""
    pick = np.unique(np.linspace(0, len(rows) - 1, min(most, len(rows))).astype(int))
    return np.asarray(rows[pick])


def _around(outline: Array) -> Array:
    """Return an outline without its last point where that closes it, and thinned."""
    if len(outline) > 1 and np.allclose(outline[0], outline[-1]):
        outline = outline[:-1]
    count = min(MOST_POINTS, len(outline))
    return np.asarray(outline[np.linspace(0, len(outline), count, endpoint=False).astype(int)])


def _has_paddle(result: RunResult, name: str) -> bool:
    part = part_of(result, name)
    return part is not None and part.paddle is not None


def _sizes(result: RunResult, name: str, root: Array, nodes: int) -> dict[str, Any]:
    """Return thickness along a part as drawn and of its paddle."""
    found = thickness_of(result, name, root)
    if found is None:
        return {"thick": [], "plate": 0}
    share = _thinned(np.linspace(0.0, 1.0, nodes), MOST_NODES)
    thick = 2.0 * np.interp(share, found.stations, found.values)
    return {"thick": _whole(thick), "plate": _whole(np.array(2.0 * found.paddle))[0]}


def has_picture(drawn: dict[str, Any]) -> bool:
    """Tell whether a scene holds anything to look at."""
    return bool(drawn["body"] or drawn["hook"] or drawn["sets"])


def busiest(sets: Sequence[dict[str, Any]]) -> int:
    """Return the number of the set to show first: the one in which something moves furthest."""
    sways = [
        max((int(np.ptp(np.array(p["frames"]), axis=0).max()) for p in s["parts"]), default=0)
        for s in sets
    ]
    return max(range(len(sets)), key=lambda i: sways[i], default=0)
