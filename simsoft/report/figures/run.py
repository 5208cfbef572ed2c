"""Pictures of a run: response against speed, and which pictures there are."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from simsoft.core.files import whole_file
from simsoft.core.quantities import CHARTED, QUANTITIES, words
from simsoft.design.sweep.table import WATER
from simsoft.report.figures.beat import rests, stroboscope, tip_trace
from simsoft.report.figures.canvas import BLUE, ORANGE, new_figure, plain_axes, shared_legend
from simsoft.report.figures.cast import cast_figures as cast_pictures
from simsoft.report.figures.hook import hook_pictures
from simsoft.report.figures.motion import motion_pictures
from simsoft.report.figures.plates import plate_pictures
from simsoft.report.thickness import thickness_of
from simsoft.report.units import LengthUnit, speed_text, user_unit
from simsoft.results.record import Record, select, why_untrusted
from simsoft.results.result import RunResult, Trace


def response(result: RunResult, part: str, scenario: str | None = None) -> Figure:
    """Draw rate, stroke, its width and fold-back with bands against speed, start speed marked.

    Parameters
    ----------
    result : RunResult
    part : str, name of the part
    scenario : str or None, only the records of this scenario
    """
    records = [r for r in result.records if r.part == part and scenario in (None, r.scenario)]
    where = part if scenario is None else f"{part}, {scenario}"
    columns = {q: sorted(_scalars(records, q), key=_speed) for q in CHARTED}
    # of a part that rests there is nothing to draw but that
    drawn = [q for q in CHARTED if any(r.value for r in columns[q])]
    drawn = drawn or [q for q in CHARTED if columns[q]] or [CHARTED[0]]
    title = f"{result.case.title}\n{where}: response against speed"
    figure = new_figure(6.8, 1.8 + 1.8 * len(drawn), title)
    panels = figure.subplots(len(drawn), 1, sharex=True, squeeze=False)[:, 0]
    starts = [
        r
        for r in select(records, "start_speed")
        if isinstance(r.value, int | float) and WATER not in r.at and why_untrusted(r) is None
    ]
    speeds = [float(r.at["speed"]) for r in records if "speed" in r.at]
    length_unit = result.case.length_unit
    pace, pace_name = user_unit("m/s", length_unit)
    reach = 1.05 * (max(speeds, default=0.0) or max(_highs(starts), default=1.0))
    for axes, quantity in zip(panels, drawn, strict=True):
        column = columns[quantity]
        factor, name = user_unit(QUANTITIES[quantity].unit, length_unit)
        if starts:
            _mark_start(axes, starts[0], reach, length_unit)
        if column:
            _draw_band(axes, column, factor, pace)
        else:
            axes.text(0.5, 0.5, "no value at any speed", transform=axes.transAxes, ha="center")
        axes.set_ylabel(f"{words(quantity).capitalize()} [{name}]")
        axes.set_ylim(bottom=min([0.0, *(factor * x for x in _lows(column))]))
        plain_axes(axes)
    panels[-1].set_xlim(0.0, reach * pace)
    panels[-1].set_xlabel(f"speed of the stream [{pace_name}]")
    fullest = max(panels, key=lambda axes: len(axes.get_legend_handles_labels()[1]))
    shared_legend(figure, fullest)
    return figure


def _speed(record: Record) -> float:
    return float(record.at["speed"])


def _scalars(records: Sequence[Record], quantity: str) -> list[Record]:
    """Return the numbers to trust of a quantity at a speed, of a free body its own."""
    found = [
        r
        for r in select(records, quantity)
        if set(r.at) - {"body"} == {"speed"} and r.at.get("body", "free") == "free"
    ]
    return [r for r in found if isinstance(r.value, int | float) and why_untrusted(r) is None]


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
    pace = user_unit("m/s", unit)[0]
    axes.axvspan(
        pace * low, pace * high, color=ORANGE, alpha=0.15, linewidth=0.0, label="start speed band"
    )
    speed = float(start.value)  # type: ignore[arg-type]
    if speed > reach:
        told = f"start {speed_text(float(f'{speed:.2g}'), unit)} \u2192"
        axes.text(0.985, 0.04, told, transform=axes.transAxes, ha="right", color=ORANGE, fontsize=9)
        return
    axes.axvline(pace * speed, color=ORANGE, linestyle=(0, (4, 2)), label="start speed")


def _draw_band(axes: Axes, column: Sequence[Record], factor: float, pace: float) -> None:
    """Draw values with their band as a shaded area, a bar where there is one speed only."""
    speed = np.array([float(r.at["speed"]) for r in column]) * pace
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
    unit = result.case.length_unit
    for trace in result.traces:
        if (trace.scenario, trace.part) in mirrored:
            continue
        title = (
            f"{result.case.title}\n{trace.part}, {trace.scenario}, {speed_text(trace.speed, unit)}"
        )
        own = [s for s in result.shapes if (s.scenario, s.part) == (trace.scenario, trace.part)]
        moulded = [s for s in own if s.label == "moulded"][:1]
        rest = [s for s in own if s.label != "moulded" and s.speed == trace.speed]
        name = (trace.scenario, trace.part, f"{trace.speed:.4g}")
        thick = thickness_of(result, trace.part, trace.root)
        yield _slug("shapes", *name), stroboscope(trace, [*moulded, *rest], title, thick, unit)
        mine = [r for r in result.records if (r.scenario, r.part) == (trace.scenario, trace.part)]
        found = [r for r in _scalars(mine, "flap_frequency") if r.at["speed"] == trace.speed]
        frequency = float(found[0].value) if found else None  # type: ignore[arg-type]
        if frequency is not None or not rests(trace):
            yield _slug("tip", *name), tip_trace(trace, frequency, title, unit)
    groups = dict.fromkeys(
        (r.scenario, r.part)
        for r in result.records
        if r.quantity in CHARTED and float(r.at.get("speed", 0.0)) > 0.0
    )
    for scenario, part in (group for group in groups if group not in mirrored):
        yield _slug("response", scenario, part), response(result, part, scenario)
    others = (hook_pictures, cast_pictures, motion_pictures, plate_pictures)
    for parts, figure in (found for pictures in others for found in pictures(result)):
        yield _slug(*parts), figure


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
