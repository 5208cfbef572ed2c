"""The whole lure on its way: paths with the lure drawn on them, and how far it flies."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.core.arrays import Array
from simsoft.report.html.document import grid
from simsoft.report.html.markup import Html, tag
from simsoft.report.html.plot import drawing, px
from simsoft.report.text.cast import ATTITUDE_WORDS, CAUTION, far, wind_words
from simsoft.results.record import Record, select
from simsoft.results.result import Motion, RunResult

SNAPSHOTS = 7
SHOWN = 5.0  # lengths of the lure that a fall is drawn over
SIZE = 420.0
FLAT = [0, 2]  # axes seen from the side
SOFT = "body/"  # the soft lengths of a body are called body/front and body/back
TINY = 1e-12  # [m]
NEAR = 1.5  # node spacings between a clamp and its part's first node
EDGE = 14.0


def motion_figures(result: RunResult) -> list[Html]:
    """Return a figure for every motion of the free lure."""
    figures = []
    for motion in result.motions:
        about = ": ".join(dict.fromkeys((motion.scenario, motion.label)))
        told = f"{about}, from the side, pale early, dark late"
        figures.append(tag("figure", _picture(motion, told, result.case), tag("figcaption", told)))
    return figures


def _picture(motion: Motion, name: str, case: Any) -> Html:
    """Return the lure at equal times along its path, about the eye for a tow."""
    first, last = _stretch(motion, case)
    picks = np.unique(np.linspace(first, last, SNAPSHOTS).astype(int))
    shapes = [_lure(motion, int(row), case) for row in picks]
    cloud = np.concatenate([points for lure in shapes for points in lure])
    low, high = cloud.min(axis=0), cloud.max(axis=0)
    span = np.maximum(high - low, 1e-3)
    scale = min((1.6 * SIZE - 2.0 * EDGE) / span[0], (SIZE - 2.0 * EDGE) / span[1])
    pieces = []
    for number, lure in enumerate(shapes):
        class_ = f"path late{min(3, 4 * number // len(shapes))}"
        for points in lure:
            xy = EDGE + scale * np.column_stack([points[:, 0] - low[0], high[1] - points[:, 1]])
            line = " ".join(f"{px(x)},{px(y)}" for x, y in xy)
            pieces.append(tag("polyline", points=line, class_=class_))
    width, height = (float(x) for x in 2.0 * EDGE + scale * span)
    return drawing(width, height, name, pieces)


def _stretch(motion: Motion, case: Any) -> tuple[int, int]:
    """Return the first and last row drawn: of a tow its window, of a fall its first lengths."""
    last = len(motion.time) - 1
    if motion.speed > 0.0:
        return int(np.searchsorted(motion.time, motion.window[0])), last
    way = np.linalg.norm(motion.centre - motion.centre[0], axis=1)
    size = max(float(np.ptp(points, axis=0).max()) for points in _lure(motion, 0, case))
    beyond = np.flatnonzero(way > SHOWN * max(size, 5e-3))
    if beyond.size and not len(motion.lead):
        last = int(beyond[0])
    return 0, last


def _lure(motion: Motion, row: int, case: Any) -> list[Array]:
    """Return the lines (n, 2) [m] of the lure in a row of its motion: x downstream and z up."""
    eye, frame = motion.eye[row], motion.frames[row]
    away = (np.zeros(3) if motion.speed > 0.0 else eye)[FLAT]
    lines = []
    if len(motion.outline):
        lines.append(away + motion.outline @ frame[np.ix_(FLAT, FLAT)].T)
    nodes = (motion.nodes[row] - eye)[:, FLAT] + away
    for name, a, b in zip(motion.chains, motion.first[:-1], motion.first[1:], strict=True):
        line = nodes[a:b]
        if name.startswith(SOFT) and len(motion.outline) and len(line):
            line = _soft(motion, slice(a, b), line, lines[0], case)
        elif len(line) > 1:
            line = _joined(motion, row, a, line, away, name, case)
        lines.append(line)
    return [line for line in lines if len(line)] or [away[None]]


def _joined(
    motion: Motion, row: int, first: int, line: Array, away: Array, name: str, case: Any
) -> Array:
    """Return the middle line of a part with its clamp, where it sits on the stiff length."""
    part = next((p for p in case.parts if name == p.name or name.startswith(f"{p.name}/")), None)
    if part is None:
        return line
    hook = None if case.rig is None else case.rig.hook
    eye = np.zeros(3) if hook is None else np.array(hook.path[0])
    sides = [np.array(part.position) * (1.0, side, 1.0) - eye for side in (1.0, -1.0)]
    node, following = (motion.nodes[row, k] - motion.eye[row] for k in (first, first + 1))
    clamp = min((motion.frames[row] @ side for side in sides), key=lambda p: _gap(p, node))
    if _gap(clamp, node) > NEAR * _gap(node, following):
        return line
    return np.vstack([away + clamp[FLAT], line])


def _gap(a: Array, b: Array) -> float:
    return float(np.linalg.norm(a - b))


def _soft(motion: Motion, nodes: slice, line: Array, stiff: Array, case: Any) -> Array:
    """Return the outline of a soft length of the body, joined to the stiff one.

    Parameters
    ----------
    motion : Motion
    nodes : slice, rows of the length among the motion's nodes
    line : array (n, 2) [m], its middle line now
    stiff : array (m, 2) [m], outline of the stiff length now
    case : Case
    """
    moulded = ((motion.nodes[0, nodes] - motion.eye[0]) @ motion.frames[0])[:, 0]
    along = motion.outline[:, 0]
    joint = float(along.min() if moulded.mean() < along.mean() else along.max())
    held = stiff[along == joint].mean(axis=0)
    eye = case.rig.hook.path[0][0] if case.rig is not None and case.rig.hook is not None else 0.0
    share = (np.concatenate([[joint], moulded]) + eye) / case.body.length
    half = 0.5 * np.interp(share, case.body.height.stations, case.body.height.values)
    line = np.vstack([held, line])
    way = np.gradient(line, axis=0)
    way /= np.maximum(np.linalg.norm(way, axis=1), TINY)[:, None]
    side = half[:, None] * np.column_stack([-way[:, 1], way[:, 0]])
    return np.vstack([line + side, (line - side)[::-1]])


def cast_tables(result: RunResult) -> list[Html]:
    """Return the table of the reach in every wind of every cast, with its caution."""
    told = []
    for (attitude,) in ((r,) for r in select(result.records, "flight_attitude")):
        mine = [r for r in result.records if r.scenario == attitude.scenario and not r.part]
        told.append(_reach_table(mine, str(attitude.value), result))
        told.append(tag("p", CAUTION.strip(), class_="caution"))
    return told


def _reach_table(records: list[Record], expected: str, result: RunResult) -> Html:
    unit = result.case.length_unit
    others = [attitude for attitude in ATTITUDE_WORDS if attitude != expected]
    names = ["wind", f"reach, {ATTITUDE_WORDS[expected]}", "drift to the left"]
    names += [f"reach, if {ATTITUDE_WORDS[attitude]}" for attitude in others]
    rows = []
    for reach in (r for r in select(records, "cast_distance") if "attitude" not in r.at):
        cells = [wind_words(reach, unit), far(reach, unit)]
        drift = [r for r in select(records, "cast_drift", **reach.at) if "attitude" not in r.at]
        cells.append(far(drift[0], unit) if drift else "-")
        for attitude in others:
            (found,) = select(records, "cast_distance", **reach.at, attitude=attitude)
            cells.append(far(found, unit, band=False))
        rows.append(cells)
    return grid(names, rows)
