"""Pictures of a run: tail shapes, tip motion with its spectrum, response against speed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simsoft.core.arrays import Array
from simsoft.core.files import whole_file
from simsoft.design.sweep.table import WATER
from simsoft.report.figures.canvas import (
    BLUE,
    GREY,
    INK,
    ORANGE,
    PHASE,
    TEAL,
    new_figure,
    plain,
    shared_legend,
)
from simsoft.report.figures.cast import pictures as cast_pictures
from simsoft.report.figures.hook import pictures as hook_pictures
from simsoft.report.figures.motion import motion_pictures
from simsoft.report.figures.plates import plate_pictures
from simsoft.report.figures.solid import Thickness, draw_solid, thickness_of
from simsoft.report.units import LengthUnit, speed_text, user_unit
from simsoft.results.record import Record, select, why_untrusted
from simsoft.results.result import RunResult, Shape, Trace

PANEL = 7.2  # [inch], length of the long side of a shape panel
# A straight tail must not fill its axis with rounding noise.
SMALLEST_SPAN = 0.15  # [-], of an axis of a shape panel, over the longest one
SMALLEST_MOTION = 0.05  # [mm], half the span of a tip trace
RESPONSE = (("flap_frequency", "Flap rate"), ("stroke", "Stroke"), ("fold_back", "Fold-back"))
AXIS_WORDS = ("downstream", "to the side", "up")


def _limits(points: Array, room: float = 0.0) -> list[tuple[float, float]]:
    """Return the limits of the three axes around points (n, 3) [mm], with a margin and room."""
    low, high = points.min(axis=0) - room, points.max(axis=0) + room
    span = np.maximum(high - low, SMALLEST_SPAN * (high - low).max())
    middle, half = (low + high) / 2.0, span / 2.0 * 1.08
    return [(float(m - h), float(m + h)) for m, h in zip(middle, half, strict=True)]


def _draw_shape(axes: Axes, shape: Shape, up: int) -> None:
    """Draw one static shape in a view: centreline, edges of the width, paddle outline."""
    moulded = shape.label == "moulded"
    colour, dash = (GREY, (0, (4, 2))) if moulded else (ORANGE, "-")
    line = shape.centreline * 1e3
    axes.plot(line[:, 0], line[:, up], color=colour, linestyle=dash, lw=2.2, label=shape.label)
    for side in range(2):
        edge = shape.edges[:, side] * 1e3
        axes.plot(edge[:, 0], edge[:, up], color=colour, linestyle=dash, linewidth=0.8)
    if len(shape.paddle):
        outline = shape.paddle[[*range(len(shape.paddle)), 0]] * 1e3
        axes.plot(outline[:, 0], outline[:, up], color=colour, linestyle=dash, linewidth=1.4)


def _draw_body(axes: Axes, trace: Trace, frame: int, up: int, colour: object) -> None:
    """Draw how wide a part is in one frame of its cycle, and its paddle there."""
    edges, rim = 1e3 * trace.edges[frame], 1e3 * trace.paddle[frame]
    ribbon = np.concatenate([edges[:, 0], edges[::-1, 1]])
    axes.fill(ribbon[:, 0], ribbon[:, up], color=colour, alpha=0.1, linewidth=0.0)
    if len(rim):
        axes.fill(rim[:, 0], rim[:, up], facecolor="none", edgecolor=colour, linewidth=0.9)


def stroboscope(
    trace: Trace,
    shapes: Sequence[Shape] = (),
    title: str = "",
    thick: Thickness | None = None,
) -> Figure:
    """Draw the shapes of one cycle from above and from the side, with equal axes in mm.

    Parameters
    ----------
    trace : Trace
    shapes : sequence of Shape of the same part, labelled 'moulded' and 'rest'
    title : str
    thick : Thickness or None, of the part; None draws it without

    Returns
    -------
    figure : Figure
    """
    clouds = [a.reshape(-1, 3) for a in (trace.strobe, trace.edges, trace.paddle)]
    clouds += [a.reshape(-1, 3) for s in shapes for a in (s.centreline, s.edges, s.paddle)]
    limits = _limits(np.concatenate(clouds) * 1e3, 0.0 if thick is None else 1e3 * thick.most)
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
        for number, frame in enumerate(trace.strobe * 1e3):
            colour = PHASE(number / max(len(trace.strobe) - 1, 1))
            axes.plot(frame[:, 0], frame[:, up], color=colour, lw=1.2, label="cycle, early to late")
            _draw_body(axes, trace, number, up, colour)
            if thick is not None:
                body = (trace.strobe[number], trace.edges[number], trace.paddle[number])
                draw_solid(axes, *body, thick, up, colour)
        for shape in shapes:
            _draw_shape(axes, shape, up)
        axes.plot(0.0, 0.0, "s", color=INK, markersize=6, label="clamp", clip_on=False)
        axes.set(xlim=limits[0], ylim=limits[up], aspect="equal")
        axes.set_title(view, fontsize=9, loc="left")
        axes.set_ylabel(f"{AXIS_WORDS[up]} [mm]")
        axes.set_xlabel("" if stacked and up == 1 else "downstream [mm]")
        plain(axes)
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


def tip_trace(trace: Trace, frequency: float | None = None, title: str = "") -> Figure:
    """Draw the tip motion against time, its spectrum beside it, the rate of the beat marked.

    Parameters
    ----------
    trace : Trace
    frequency : float or None [Hz], flap frequency of its record
    title : str

    Returns
    -------
    figure : Figure
    """
    start, end = trace.window
    inside = (trace.time >= start) & (trace.time <= end)
    if np.count_nonzero(inside) < 4:
        inside = np.ones_like(trace.time, dtype=bool)
    tip = trace.tip * 1e3
    main = int(np.argmax(np.ptp(tip[inside], axis=0)))
    rests = frequency is None and float(np.ptp(tip[inside, main])) < 2.0 * SMALLEST_MOTION
    figure = new_figure(6.4 if rests else 10.0, 4.2, title)
    if rests:  # a spectrum of nothing says nothing
        left = figure.subplots(1, 1)
    else:
        left, right = figure.subplots(1, 2, gridspec_kw={"width_ratios": (1.7, 1.0)})
    left.axvspan(start, end, color=BLUE, alpha=0.09, linewidth=0.0, label="stretch that is read")
    for axis, colour in zip(range(3), (GREY, BLUE, TEAL), strict=True):
        bold = axis == main
        left.plot(
            trace.time,
            tip[:, axis] - tip[inside, axis].mean(),
            color=ORANGE if bold else colour,
            linewidth=1.4 if bold else 0.8,
            zorder=3 if bold else 2,
            label=f"tip {AXIS_WORDS[axis]}",
        )
    left.set(xlabel="time [s]", ylabel="tip from its mean place [mm]")
    left.set_xlim(float(trace.time[0]), float(trace.time[-1]))
    low, high = left.get_ylim()
    left.set_ylim(min(low, -SMALLEST_MOTION), max(high, SMALLEST_MOTION))
    ending = trace.message if trace.settled else f"NOT settled: {trace.message}"
    left.set_title(ending, fontsize=9, loc="left", parse_math=False)
    plain(left)
    if not rests:
        _draw_spectrum(right, trace, tip[inside, main], frequency, AXIS_WORDS[main])
    shared_legend(figure, left)
    return figure


def _draw_spectrum(
    right: Axes, trace: Trace, motion: Array, frequency: float | None, where: str
) -> None:
    """Draw the spectrum of the tip's motion [mm] along one axis."""
    rate, amplitude = spectrum(motion, float(np.median(np.diff(trace.time))))
    right.plot(rate, amplitude, color=ORANGE, linewidth=1.4)
    peak = frequency or float(rate[int(np.argmax(amplitude))])
    right.set_xlim(0.0, min(max(5.0 * peak, 2.0), float(rate[-1])))
    right.set_ylim(0.0, max(1.15 * float(amplitude.max()), SMALLEST_MOTION))
    right.set(xlabel="frequency [Hz]", ylabel=f"amplitude {where} [mm]")
    if frequency is not None:
        right.axvline(frequency, color=INK, linestyle=(0, (4, 2)), linewidth=1.1)
        right.set_title(f"beat {frequency:.3g} Hz", fontsize=9, loc="left")
    plain(right)


def response(result: RunResult, part: str, scenario: str | None = None) -> Figure:
    """Draw rate, stroke and fold-back with their bands against speed, start speed marked.

    Parameters
    ----------
    result : RunResult
    part : str, name of the part
    scenario : str or None, only the records of this scenario

    Returns
    -------
    figure : Figure
    """
    records = [r for r in result.records if r.part == part and scenario in (None, r.scenario)]
    where = part if scenario is None else f"{part}, {scenario}"
    columns = {q: sorted(_scalars(records, q), key=_speed) for q, _ in RESPONSE}
    # of a part that rests there is nothing to draw but that
    drawn = [(q, label) for q, label in RESPONSE if any(r.value for r in columns[q])]
    drawn = drawn or [(q, label) for q, label in RESPONSE if columns[q]] or [RESPONSE[0]]
    title = f"{result.case.title}\n{where}: response against speed"
    figure = new_figure(6.8, 1.8 + 1.8 * len(drawn), title)
    panels = figure.subplots(len(drawn), 1, sharex=True, squeeze=False)[:, 0]
    starts = [
        r
        for r in select(records, "start_speed")
        if isinstance(r.value, int | float) and WATER not in r.at and why_untrusted(r) is None
    ]
    speeds = [float(r.at["speed"]) for r in records if "speed" in r.at]
    reach = 1.05 * (max(speeds, default=0.0) or max(_highs(starts), default=1.0))
    for axes, (quantity, label) in zip(panels, drawn, strict=True):
        column = columns[quantity]
        unit = {"flap_frequency": "Hz", "stroke": "m", "fold_back": "deg"}[quantity]
        factor, name = user_unit(unit, result.case.length_unit)
        if starts:
            _mark_start(axes, starts[0], reach, result.case.length_unit)
        if column:
            _draw_band(axes, column, factor)
        else:
            axes.text(0.5, 0.5, "no value at any speed", transform=axes.transAxes, ha="center")
        axes.set_ylabel(f"{label} [{name}]")
        axes.set_ylim(bottom=min([0.0, *(factor * x for x in _lows(column))]))
        plain(axes)
    panels[-1].set_xlim(0.0, reach)
    panels[-1].set_xlabel("speed of the stream [m/s]")
    fullest = max(panels, key=lambda axes: len(axes.get_legend_handles_labels()[1]))
    shared_legend(figure, fullest)
    return figure


def _speed(record: Record) -> float:
    return float(record.at["speed"])


def _scalars(records: Sequence[Record], quantity: str) -> list[Record]:
    """Return the records of a quantity at a speed that hold a number, of a free body its own."""
    found = [
        r
        for r in select(records, quantity)
        if set(r.at) - {"body"} == {"speed"} and r.at.get("body", "free") == "free"
    ]
    return [r for r in found if isinstance(r.value, int | float)]


def _highs(records: Sequence[Record]) -> list[float]:
    """Return the upper ends of bands, the value where there is no band."""
    return [float(r.value if r.high is None else r.high) for r in records]  # type: ignore[arg-type]


def _lows(records: Sequence[Record]) -> list[float]:
    """Return the lower ends of bands, the value where there is no band."""
    return [float(r.value if r.low is None else r.low) for r in records]  # type: ignore[arg-type]


BEYOND = 1.0e3  # [m/s], right of every axis: a band open upward


def _mark_start(axes: Axes, start: Record, reach: float, unit: LengthUnit) -> None:
    """Mark the start speed and its band; say where it is when it lies beyond the asked speeds."""
    (low,), (high,) = _lows([start]), _highs([start])
    if start.high is None and start.low is not None:
        high = BEYOND
    axes.axvspan(low, high, color=ORANGE, alpha=0.15, linewidth=0.0, label="start speed band")
    speed = float(start.value)  # type: ignore[arg-type]
    if speed > reach:
        told = f"start {speed_text(float(f'{speed:.2g}'), unit)} \u2192"
        axes.text(0.985, 0.04, told, transform=axes.transAxes, ha="right", color=ORANGE, fontsize=9)
        return
    axes.axvline(speed, color=ORANGE, linestyle=(0, (4, 2)), label="start speed")


def _draw_band(axes: Axes, column: Sequence[Record], factor: float) -> None:
    """Draw values with their band as a shaded area, a bar where there is one speed only."""
    speed = np.array([float(r.at["speed"]) for r in column])
    value = np.array([float(r.value) for r in column]) * factor  # type: ignore[arg-type]
    low, high = np.array(_lows(column)) * factor, np.array(_highs(column)) * factor
    if len(column) > 1:
        axes.fill_between(
            speed, low, high, color=BLUE, alpha=0.18, linewidth=0.0, label="predicted band"
        )
    else:
        axes.vlines(speed, low, high, color=BLUE, alpha=0.35, linewidth=5.0, label="predicted band")
    axes.plot(speed, value, "o-", color=BLUE, linewidth=1.8, markersize=5, label="predicted")


def _slug(*words: str) -> str:
    """Return a file name of plain letters, digits and hyphens."""
    joined = "-".join(re.sub(r"[^A-Za-z0-9.]+", "-", word).strip("-.") for word in words)
    return joined[:100] or "figure"


def _mirrored(result: RunResult) -> set[tuple[str, str]]:
    """Return scenario and part of every part that does what its mirror image does.

    One picture tells both.
    """
    told: list[Trace] = []
    mirrored = set()
    for trace in result.traces:
        twins = (
            other
            for other in told
            if (other.scenario, other.speed) == (trace.scenario, trace.speed)
            and other.part.partition("/")[0] == trace.part.partition("/")[0]
            and np.array_equal(other.strobe * (1.0, -1.0, 1.0), trace.strobe)
        )
        if next(twins, None) is None:
            told.append(trace)
        else:
            mirrored.add((trace.scenario, trace.part))
    return mirrored - {(trace.scenario, trace.part) for trace in told}


def _figures(result: RunResult) -> Iterator[tuple[str, Figure]]:
    """Yield name and figure of every picture of a run, one at a time."""
    mirrored = _mirrored(result)
    for trace in result.traces:
        if (trace.scenario, trace.part) in mirrored:
            continue
        title = f"{result.case.title}\n{trace.part}, {trace.scenario}, {trace.speed:.4g} m/s"
        own = [s for s in result.shapes if (s.scenario, s.part) == (trace.scenario, trace.part)]
        moulded = [s for s in own if s.label == "moulded"][:1]
        rest = [s for s in own if s.label != "moulded" and s.speed == trace.speed]
        name = (trace.scenario, trace.part, f"{trace.speed:.4g}")
        thick = thickness_of(result, trace.part)
        yield _slug("shapes", *name), stroboscope(trace, [*moulded, *rest], title, thick)
        mine = [r for r in result.records if (r.scenario, r.part) == (trace.scenario, trace.part)]
        found = [r for r in _scalars(mine, "flap_frequency") if r.at["speed"] == trace.speed]
        frequency = float(found[0].value) if found else None  # type: ignore[arg-type]
        yield _slug("tip", *name), tip_trace(trace, frequency, title)
    groups = dict.fromkeys(
        (r.scenario, r.part)
        for r in result.records
        if r.quantity in dict(RESPONSE) and float(r.at.get("speed", 0.0)) > 0.0
    )
    for scenario, part in (group for group in groups if group not in mirrored):
        yield _slug("response", scenario, part), response(result, part, scenario)
    others = (hook_pictures, cast_pictures, motion_pictures, plate_pictures)
    for words, figure in (found for pictures in others for found in pictures(result)):
        yield _slug(*words), figure


def save_all(result: RunResult, directory: str | Path) -> list[Path]:
    """Save every picture of a run as PNG, each whole or not at all.

    Parameters
    ----------
    result : RunResult
    directory : path of an existing directory

    Returns
    -------
    paths : list of Path, in the order of the run

    Raises
    ------
    OutputError
        If a picture cannot be written.
    """
    paths: list[Path] = []
    for name, figure in _figures(result):
        path = Path(directory) / f"{name}.png"
        if path in paths:
            path = Path(directory) / f"{name}-{len(paths)}.png"
        with whole_file(path) as temporary:
            figure.savefig(temporary)
        paths.append(path)
    return paths
