"""Pictures of a beat: the part in the phases of its cycle, its tip against time, the spectrum."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
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
    shared_legend,
)
from simsoft.report.figures.solid import draw_solid
from simsoft.report.thickness import Thickness
from simsoft.report.units import LengthUnit, user_unit
from simsoft.results.result import Shape, Trace

PANEL = 7.2  # [inch], length of the long side of a shape panel
# A straight tail must not fill its axis with rounding noise.
SMALLEST_SPAN = 0.15  # [-], of an axis of a shape panel, over the longest one
SMALLEST_MOTION = 5e-5  # [m], half the span of a tip trace
AXIS_WORDS = ("downstream", "to the side", "up")


def _limits(points: Array, room: float = 0.0) -> list[tuple[float, float]]:
    """Return the limits of the three axes around points (n, 3), with a margin and room."""
    low, high = points.min(axis=0) - room, points.max(axis=0) + room
    span = np.maximum(high - low, SMALLEST_SPAN * (high - low).max())
    middle, half = (low + high) / 2.0, span / 2.0 * 1.08
    return [(float(m - h), float(m + h)) for m, h in zip(middle, half, strict=True)]


def _draw_shape(axes: Axes, shape: Shape, up: int, factor: float) -> None:
    """Draw one static shape in a view: centreline, edges of the width, paddle outline."""
    moulded = shape.label == "moulded"
    colour, dash = (GREY, (0, (4, 2))) if moulded else (ORANGE, "-")
    line = shape.centreline * factor
    axes.plot(line[:, 0], line[:, up], color=colour, linestyle=dash, lw=2.2, label=shape.label)
    for side in range(2):
        edge = shape.edges[:, side] * factor
        axes.plot(edge[:, 0], edge[:, up], color=colour, linestyle=dash, linewidth=0.8)
    if len(shape.paddle):
        outline = shape.paddle[[*range(len(shape.paddle)), 0]] * factor
        axes.plot(outline[:, 0], outline[:, up], color=colour, linestyle=dash, linewidth=1.4)


def _draw_phase(
    axes: Axes, trace: Trace, frame: int, up: int, factor: float, thick: Thickness | None
) -> None:
    """Draw one phase of the cycle: middle line and rim; body filled where the tip turns."""
    colour = PHASE(frame / max(len(trace.strobe) - 1, 1))
    turns = frame in turning_frames(trace)
    line, rim = factor * trace.strobe[frame], factor * trace.paddle[frame]
    weight = 1.6 if turns else 0.8
    axes.plot(line[:, 0], line[:, up], color=colour, lw=weight, label="cycle, early to late")
    if len(rim):
        axes.fill(rim[:, 0], rim[:, up], facecolor="none", edgecolor=colour,
                  linewidth=weight if turns else 0.4)  # fmt: skip
    if not turns:
        return
    edges = factor * trace.edges[frame]
    ribbon = np.concatenate([edges[:, 0], edges[::-1, 1]])
    axes.fill(ribbon[:, 0], ribbon[:, up], color=colour, alpha=0.15, linewidth=0.0)
    if thick is not None:
        body = (trace.strobe[frame], trace.edges[frame], trace.paddle[frame])
        draw_solid(axes, *body, thick, up, colour, factor)


def turning_frames(trace: Trace) -> tuple[int, int]:
    """Return the frames of the cycle in which the tip is at both ends of its widest way."""
    tips = trace.strobe[:, -1]
    way = tips[:, int(np.argmax(np.ptp(tips, axis=0)))]
    return int(np.argmin(way)), int(np.argmax(way))


def stroboscope(
    trace: Trace,
    shapes: Sequence[Shape] = (),
    title: str = "",
    thick: Thickness | None = None,
    unit: LengthUnit = "mm",
) -> Figure:
    """Draw the shapes of one cycle from above and from the side, with equal axes.

    Parameters
    ----------
    trace : Trace
    shapes : sequence of Shape of the same part, labelled 'moulded' and 'rest'
    title : str
    thick : Thickness or None, of the part; None draws it without
    unit : 'mm' or 'inch'
    """
    factor, name = user_unit("m", unit)
    clouds = [a.reshape(-1, 3) for a in (trace.strobe, trace.edges, trace.paddle)]
    clouds += [a.reshape(-1, 3) for s in shapes for a in (s.centreline, s.edges, s.paddle)]
    limits = _limits(np.concatenate(clouds) * factor, 0.0 if thick is None else factor * thick.most)
    x_span, y_span, z_span = (high - low for low, high in limits)
    stacked = x_span >= max(y_span, z_span)
    scale = PANEL / max(x_span, y_span, z_span)
    if stacked:
        size = (PANEL + 1.3, max(scale * (y_span + z_span), 1.6) + 2.4)
        grid, ratios = (2, 1), {"height_ratios": (y_span, z_span)}
    else:
        size = (max(2.0 * scale * x_span, 5.0) + 2.0, scale * max(y_span, z_span) + 1.8)
        grid, ratios = (1, 2), {}
    figure = new_figure(*size, title)
    panels = figure.subplots(*grid, sharex=stacked, gridspec_kw=ratios).ravel()
    for axes, up, view in zip(panels, (1, 2), ("From above", "From the side"), strict=True):
        for frame in range(len(trace.strobe)):
            _draw_phase(axes, trace, frame, up, factor, thick)
        for shape in shapes:
            _draw_shape(axes, shape, up, factor)
        axes.plot(0.0, 0.0, "s", color=INK, markersize=6, label="clamp", clip_on=False)
        axes.set(xlim=limits[0], ylim=limits[up], aspect="equal")
        axes.set_title(view, fontsize=9, loc="left")
        axes.set_ylabel(f"{AXIS_WORDS[up]} [{name}]")
        axes.set_xlabel("" if stacked and up == 1 else f"downstream [{name}]")
        plain_axes(axes)
    shared_legend(figure, panels[0])
    return figure


def spectrum(signal: Array, step: float) -> tuple[Array, Array]:
    """Return the amplitude spectrum of an evenly sampled signal.

    Parameters
    ----------
    signal : array (samples,) of any unit; its mean is taken off
    step : float [s]

    Returns
    -------
    frequency : array [Hz]
    amplitude : array, unit of the signal; a steady sine of amplitude 1 reads 1 (Hann window)
    """
    window = np.hanning(signal.size)
    padded = 8 * signal.size
    lines = np.fft.rfft((signal - signal.mean()) * window, padded)
    amplitude = 2.0 * np.abs(lines) / max(window.sum(), 1.0)
    return np.asarray(np.fft.rfftfreq(padded, step)), np.asarray(amplitude, dtype=np.float64)


def rests(trace: Trace) -> bool:
    """Tell whether the tip keeps its place over the stretch that is read."""
    return float(np.ptp(trace.tip[_read(trace)], axis=0).max()) < 2.0 * SMALLEST_MOTION


def _read(trace: Trace) -> npt.NDArray[np.bool_]:
    """Return which samples lie in the stretch that is read, all where it holds too few."""
    start, end = trace.window
    inside = (trace.time >= start) & (trace.time <= end)
    return inside if np.count_nonzero(inside) >= 4 else np.ones_like(trace.time, dtype=bool)


def tip_trace(
    trace: Trace, frequency: float | None = None, title: str = "", unit: LengthUnit = "mm"
) -> Figure:
    """Draw the tip motion against time, its spectrum beside it, the rate of the beat marked.

    Parameters
    ----------
    trace : Trace
    frequency : float or None [Hz], flap frequency of its record
    title : str
    unit : 'mm' or 'inch'
    """
    start, end = trace.window
    inside = _read(trace)
    factor, name = user_unit("m", unit)
    tip, smallest = factor * trace.tip, factor * SMALLEST_MOTION
    main = int(np.argmax(np.ptp(tip[inside], axis=0)))
    idle = frequency is None and rests(trace)
    figure = new_figure(6.4 if idle else 10.0, 4.2, title)
    if idle:  # a spectrum of nothing says nothing
        left = figure.subplots(1, 1)
    else:
        left, right = figure.subplots(1, 2, gridspec_kw={"width_ratios": (1.7, 1.0)})
    left.axvspan(start, end, color=BLUE, alpha=0.09, linewidth=0.0, label="stretch that is read")
    ends = []
    for axis, other in zip(range(3), (GREY, BLUE, TEAL), strict=True):
        bold = axis == main
        colour = ORANGE if bold else other
        left.plot(
            trace.time,
            tip[:, axis] - tip[inside, axis].mean(),
            color=colour,
            linewidth=1.4 if bold else 0.8,
            zorder=3 if bold else 2,
        )
        ends.append((float(tip[-1, axis] - tip[inside, axis].mean()), AXIS_WORDS[axis], colour))
    left.set(xlabel="time [s]", ylabel=f"tip from its mean place [{name}]")
    left.set_xlim(float(trace.time[0]), float(trace.time[-1]))
    low, high = left.get_ylim()
    left.set_ylim(min(low, -smallest), max(high, smallest))
    end_labels(left, ends)
    ending = trace.message if trace.settled else f"NOT settled: {trace.message}"
    left.set_title(ending, fontsize=9, loc="left", parse_math=False)
    plain_axes(left)
    if not idle:
        right.set_ylabel(f"amplitude {AXIS_WORDS[main]} [{name}]")
        _draw_spectrum(right, trace, tip[inside, main], frequency, smallest)
    shared_legend(figure, left)
    return figure


def _draw_spectrum(
    right: Axes, trace: Trace, motion: Array, frequency: float | None, smallest: float
) -> None:
    """Draw the spectrum of the tip's motion along one axis."""
    rate, amplitude = spectrum(motion, float(np.median(np.diff(trace.time))))
    right.plot(rate, amplitude, color=ORANGE, linewidth=1.4)
    peak = frequency or float(rate[int(np.argmax(amplitude))])
    right.set_xlim(0.0, min(max(5.0 * peak, 2.0), float(rate[-1])))
    right.set_ylim(0.0, max(1.15 * float(amplitude.max()), smallest))
    right.set_xlabel("frequency [Hz]")
    if frequency is not None:
        right.axvline(frequency, color=INK, linestyle=(0, (4, 2)), linewidth=1.1)
        right.set_title(f"beat {frequency:.3g} Hz", fontsize=9, loc="left")
    plain_axes(right)
