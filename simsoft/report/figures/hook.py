"""Picture of hook clearance: the lure's hook and body, the part where it comes closest."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simsoft.core.arrays import Array
from simsoft.report.figures.canvas import (
    BLUE,
    GREY,
    INK,
    ORANGE,
    new_figure,
    plain_axes,
    shared_legend,
)
from simsoft.report.text.clearance import STATES, closest_calls, gap_text
from simsoft.report.units import speed_text, user_unit
from simsoft.results.result import Closest, RunResult

PANEL = 8.0  # [inch], width of a view
VIEWS = ((2, "From the side", "up"), (1, "From above", "to the side"))


def hook_picture(result: RunResult, item: Closest) -> Figure:
    """Draw hook, body and part where they are closest, the gap marked, in two views.

    Parameters
    ----------
    result : RunResult, whose case holds hook and body
    item : Closest
    """
    hook = _hook(result)
    cloud = [hook, item.centreline, item.edges.reshape(-1, 3), item.paddle.reshape(-1, 3)]
    cloud.append(_body_box(result))
    unit = result.case.length_unit
    factor, name = user_unit("m", unit)
    points = np.concatenate(cloud) * factor
    low, high = points.min(axis=0), points.max(axis=0)
    pad = 0.06 * float((high - low).max())
    low, high = low - pad, high + pad
    spans = [max(float(high[i] - low[i]), 0.2 * float(high[0] - low[0])) for i, *_ in VIEWS]
    height = PANEL / float(high[0] - low[0]) * sum(spans)
    state = STATES.get(item.state, item.state)
    speed = f", {speed_text(item.speed, unit)}" if item.speed > 0.0 else ""
    title = (
        f"{result.case.title}\n{item.part}, {item.scenario}, {state}{speed}: {gap_text(item, unit)}"
    )
    figure = new_figure(PANEL + 1.0, min(height, 10.0) + 2.2, title)
    panels = figure.subplots(2, 1, sharex=True, gridspec_kw={"height_ratios": spans})
    for axes, (up, view, label) in zip(panels, VIEWS, strict=True):
        _draw_body(axes, result, up, factor)
        _draw_part(axes, item, up, factor)
        _draw_hook(axes, hook, item, up, factor)
        middle = 0.5 * (low[up] + high[up])
        half = 0.5 * max(float(high[up] - low[up]), 0.2 * float(high[0] - low[0]))
        axes.set(xlim=(low[0], high[0]), ylim=(middle - half, middle + half), aspect="equal")
        axes.set_title(view, fontsize=9, loc="left")
        axes.set_ylabel(f"{label} [{name}]")
        plain_axes(axes)
    panels[-1].set_xlabel(f"from the nose [{name}]")
    shared_legend(figure, panels[0])
    return figure


def _hook(result: RunResult) -> Array:
    rig = result.case.rig
    if rig is None or rig.hook is None:
        raise ValueError("a clearance needs a hook")
    return np.asarray(rig.hook.path, dtype=float)


def _body_box(result: RunResult) -> Array:
    """Return two corners (2, 3) [m] of the box around the body; none without a body."""
    body = result.case.body
    if body is None:
        return np.zeros((0, 3))
    half = np.array([0.0, 0.5 * max(body.width.values), 0.5 * max(body.height.values)])
    return np.stack([-half, half + np.array([body.length, 0.0, 0.0])])


def _draw_body(axes: Axes, result: RunResult, up: int, factor: float) -> None:
    """Draw the outline of the body in a view, if there is one."""
    body = result.case.body
    if body is None:
        return
    size = body.height if up == 2 else body.width
    x = factor * body.length * np.asarray(size.stations)
    half = 0.5 * factor * np.asarray(size.values)
    axes.fill_between(x, -half, half, color=GREY, alpha=0.25, linewidth=0.0, label="body")


def _draw_part(axes: Axes, item: Closest, up: int, factor: float) -> None:
    """Draw middle line, edges and paddle of the part in a view."""
    line, edges = factor * item.centreline, factor * item.edges
    outline = np.concatenate([edges[:, 0], edges[::-1, 1]])
    axes.fill(outline[:, 0], outline[:, up], color=BLUE, alpha=0.16, linewidth=0.0)
    for side in range(2):
        axes.plot(edges[:, side, 0], edges[:, side, up], color=BLUE, linewidth=0.8)
    axes.plot(line[:, 0], line[:, up], color=BLUE, linewidth=1.8, label=item.part)
    if len(item.paddle):
        rim = factor * item.paddle[[*range(len(item.paddle)), 0]]
        axes.plot(rim[:, 0], rim[:, up], color=BLUE, linewidth=1.4)


def _draw_hook(axes: Axes, hook: Array, item: Closest, up: int, factor: float) -> None:
    """Draw the wire, its point, and the gap in a view."""
    wire = factor * hook
    axes.plot(wire[:, 0], wire[:, up], color=INK, linewidth=2.0, label="hook")
    axes.plot(*wire[-1, [0, up]], marker="^", color=INK, markersize=7, label="hook point")
    gap = factor * np.stack([item.on_part, item.on_wire])
    axes.plot(gap[:, 0], gap[:, up], "o-", color=ORANGE, markersize=5, lw=1.6, label="closest")


def hook_pictures(result: RunResult) -> Sequence[tuple[tuple[str, ...], Figure]]:
    """Return the words of a file name and the figure of every closest call."""
    told: dict[tuple[str, ...], Closest] = {}
    for call in closest_calls(result):  # of a mirrored pair that says the same, the first only
        pair = (call.scenario, call.part.partition("/")[0], call.state, gap_text(call))
        told.setdefault(pair if "/" in call.part else (*pair, call.part), call)
    return [(("hook", c.scenario, c.part), hook_picture(result, c)) for c in told.values()]
