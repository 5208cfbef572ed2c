"""Pictures of a free lure: its path with the lure drawn on it, height and angles against time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simsoft.core.arrays import Array
from simsoft.report.figures.canvas import (
    BLUE,
    GREY,
    INK,
    ORANGE,
    PHASE,
    TEAL,
    end_labels,
    new_figure,
    plain_axes,
)
from simsoft.report.units import FAR, LengthUnit, user_unit
from simsoft.results.result import Motion, RunResult

SNAPSHOTS = 9
SHOWN = 7.0  # lengths of the lure that the path with snapshots covers


def motion_pictures(result: RunResult) -> Iterator[tuple[tuple[str, ...], Figure]]:
    """Yield name words and figure of every motion of a run."""
    for motion in result.motions:
        told = dict.fromkeys((motion.scenario, motion.label))
        title = f"{result.case.title}\n{': '.join(told)}"
        words = ("motion", motion.scenario, f"{motion.speed:.4g}" if motion.speed else "")
        yield (
            tuple(word for word in words if word),
            motion_picture(motion, title, result.case.length_unit),
        )


def motion_picture(motion: Motion, title: str = "", unit: LengthUnit = "mm") -> Figure:
    """Draw one motion.

    Parameters
    ----------
    motion : Motion
    title : str
    unit : 'mm' or 'inch'

    Returns
    -------
    figure : Figure
        Left the lure from the side, at equal times along its path (about the eye for a tow);
        right height, angles and the line's force against time.
    """
    figure = new_figure(11.0, 6.4, title)
    grid = figure.add_gridspec(3, 2, width_ratios=(1.15, 1.0))
    axes = figure.add_subplot(grid[:, 0])
    height = figure.add_subplot(grid[0, 1])
    angle = figure.add_subplot(grid[1, 1], sharex=height)
    force = figure.add_subplot(grid[2, 1], sharex=height)
    _snapshots(axes, motion, unit)
    _height(height, motion, unit)
    roll = _continuous(motion.roll)
    angle.plot(motion.time, motion.attitude, color=BLUE)
    angle.plot(motion.time, roll, color=TEAL, linewidth=0.9)
    angle.set_ylabel("angle [deg]")
    ends = [(float(motion.attitude[-1]), "nose down", BLUE), (float(roll[-1]), "roll", TEAL)]
    angle.set_xlim(float(motion.time[0]), float(motion.time[-1]))
    end_labels(angle, ends)
    pull = np.linalg.norm(motion.line, axis=1)
    if pull.any():
        force.plot(motion.time, 1e3 * pull, color=ORANGE)
        force.set(ylabel="line force [mN]", xlabel="time [s]")
    else:
        pace, name = user_unit("m/s", unit)
        sinks = -np.gradient(motion.centre[:, 2], motion.time)
        force.plot(motion.time, pace * sinks, color=ORANGE)
        force.set(ylabel=f"sink rate [{name}]", xlabel="time [s]")
    for panel in (axes, height, angle, force):
        plain_axes(panel)
    for panel in (height, angle, force):
        panel.axvspan(*motion.window, color=BLUE, alpha=0.09, linewidth=0.0)
    return figure


def _continuous(roll: Array) -> Array:
    return np.asarray(np.degrees(np.unwrap(np.radians(roll))))


def _height(axes: Axes, motion: Motion, unit: LengthUnit) -> None:
    factor, name = user_unit("m", unit, FAR)
    centre, eye = factor * motion.centre[:, 2], factor * motion.eye[:, 2]
    axes.plot(motion.time, centre, color=BLUE)
    axes.plot(motion.time, eye, color=GREY, linewidth=0.9)
    ends = [(float(centre[-1]), "centre of mass", BLUE), (float(eye[-1]), "eye", GREY)]
    if len(motion.lead):
        axes.plot(
            motion.time[: len(motion.lead)],
            factor * motion.lead[:, 2],
            color=INK,
            linestyle=(0, (4, 2)),
            linewidth=0.9,
        )
        ends.append((float(factor * motion.lead[-1, 2]), "taut line asks", INK))
    axes.set_ylabel(f"height [{name}]")
    axes.set_xlim(float(motion.time[0]), float(motion.time[-1]))
    end_labels(axes, ends)


def _snapshots(axes: Axes, motion: Motion, unit: LengthUnit) -> None:
    """Draw the lure from the side at equal times, over the first lengths of its path."""
    factor, name = user_unit("m", unit)
    length = _length(motion)
    eye = motion.eye - (motion.eye if motion.speed > 0.0 else np.zeros(3))
    way = np.linalg.norm(motion.centre - motion.centre[0], axis=1)
    last = len(motion.time) - 1
    first = int(np.searchsorted(motion.time, motion.window[0])) if motion.speed > 0.0 else 0
    beyond = np.flatnonzero(way > SHOWN * length)
    if motion.speed == 0.0 and beyond.size and not len(motion.lead):
        last = int(beyond[0])
    path = factor * (
        eye[first : last + 1] + motion.centre[first : last + 1] - motion.eye[first : last + 1]
    )
    axes.plot(path[:, 0], path[:, 2], color=GREY, linewidth=1.0)
    for number, row in enumerate(np.linspace(first, last, SNAPSHOTS).astype(int)):
        _lure(axes, motion, int(row), eye[row], PHASE(number / (SNAPSHOTS - 1)), factor)
    axes.set(xlabel=f"downstream [{name}]", ylabel=f"up [{name}]", aspect="equal")
    span = f"{motion.time[first]:.2g} to {motion.time[last]:.3g} s"
    axes.set_title(f"From the side, pale early, dark late, {span}", fontsize=9, loc="left")


def _length(motion: Motion) -> float:
    points = [np.zeros((1, 2))]
    if len(motion.outline):
        points.append(motion.outline)
    if motion.nodes.shape[1]:
        local = (motion.nodes[0] - motion.eye[0]) @ motion.frames[0]
        points.append(local[:, [0, 2]])
    cloud = np.concatenate(points)
    return max(float(np.ptp(cloud, axis=0).max()), 5e-3)


def _lure(axes: Axes, motion: Motion, row: int, eye: Array, colour: object, factor: float) -> None:
    frame = motion.frames[row]
    if len(motion.outline):
        flat = np.column_stack(
            [motion.outline[:, 0], np.zeros(len(motion.outline)), motion.outline[:, 1]]
        )
        body = factor * (eye + flat @ frame.T)
        axes.plot(body[:, 0], body[:, 2], color=colour, linewidth=1.1)
    nodes = factor * (motion.nodes[row] - motion.eye[row] + eye)
    for a, b in zip(motion.first[:-1], motion.first[1:], strict=True):
        # nodes are the outer ends of the elements: the line begins an element before the first
        line = np.concatenate([2.0 * nodes[a : a + 1] - nodes[a + 1 : a + 2], nodes[a:b]])
        axes.plot(line[:, 0], line[:, 2], color=colour, linewidth=1.8)
    axes.plot(factor * eye[0], factor * eye[2], "o", color=colour, markersize=3)
