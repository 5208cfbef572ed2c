"""Pictures of plates: modes laid on the rest shape, phases of a beat, in space."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from mpl_toolkits.mplot3d.art3d import Poly3DCollection
from mpl_toolkits.mplot3d.axes3d import Axes3D

from simsoft.core.arrays import Array
from simsoft.report.figures.canvas import GREY, INK, PHASE, new_figure
from simsoft.report.units import user_unit
from simsoft.results.result import RunResult, Surface

COLUMNS = 3
PANEL = 3.6  # [inch]
MARGIN = 0.06  # of the span, about the plate
SMALLEST_SPAN = 0.2  # of an axis over the longest one
VIEW = {"elev": 28.0, "azim": -120.0}
TICKS = 4
ZOOM = 0.88  # of the box in its panel: labels of tall plates run into the next row otherwise
LABELS_OFF = -5.5  # [points] from the ticks, nearer than the default
AXES = "x downstream, y to the side, z up"


def plate_pictures(result: RunResult) -> Iterator[tuple[tuple[str, ...], Figure]]:
    """Yield name words and figure of the modes and beats of every plate of a run."""
    groups: dict[tuple[str, str], list[Surface]] = {}
    factor, name = user_unit("m", result.case.length_unit)
    for surface in result.surfaces:
        head = f"{result.case.title}\n{surface.part}, {surface.scenario}"
        if surface.kind == "mode":
            groups.setdefault((surface.scenario, surface.part), []).append(surface)
            continue
        frames = [
            (f"phase {k + 1}/{len(surface.places)}", place)
            for k, place in enumerate(surface.places)
        ]
        words = ("beat", surface.scenario, surface.part, surface.label.split()[2])
        told = f"{head}: {surface.label}; {AXES} [{name}]"
        yield words, _panels(told, surface.quads, frames, None, factor)
    for (scenario, part), surfaces in groups.items():
        title = (
            f"{result.case.title}\n{part}, {scenario}: modes in water, swing not to scale; "
            f"{AXES} [{name}]"
        )
        frames = [(surface.label, surface.places[1]) for surface in surfaces]
        rest = surfaces[0].places[0]
        yield ("modes", scenario, part), _panels(title, surfaces[0].quads, frames, rest, factor)


def _panels(
    title: str,
    quads: npt.NDArray[np.int64],
    frames: Sequence[tuple[str, Array]],
    rest: Array | None,
    factor: float,
) -> Figure:
    """Draw positions of one plate beside each other, on the same axes."""
    columns = min(COLUMNS, len(frames))
    rows = -(-len(frames) // columns)
    figure = new_figure(PANEL * columns + 0.6, 0.8 * PANEL * rows + 0.7, title)
    cloud = np.concatenate([place for _, place in frames] + ([] if rest is None else [rest]))
    low, high = factor * cloud.min(axis=0), factor * cloud.max(axis=0)
    span = np.maximum(high - low, SMALLEST_SPAN * float((high - low).max()))
    middle, half = 0.5 * (low + high), (0.5 + MARGIN) * span
    for number, (label, place) in enumerate(frames):
        axes: Axes3D = figure.add_subplot(rows, columns, number + 1, projection="3d")
        if rest is not None:
            axes.add_collection3d(
                Poly3DCollection(
                    factor * rest[quads], facecolor="none", edgecolor=GREY, linewidth=0.4
                )
            )
        axes.add_collection3d(
            Poly3DCollection(
                factor * place[quads], facecolor=PHASE(0.15), edgecolor=PHASE(1.0), linewidth=0.5,
                alpha=0.8,
            )
        )  # fmt: skip
        axes.scatter(0.0, 0.0, 0.0, color=INK, s=14)
        for axis, name in enumerate("xyz"):
            limits = (middle[axis] - half[axis], middle[axis] + half[axis])
            getattr(axes, f"set_{name}lim")(*limits)
            getattr(axes, f"{name}axis").set_major_locator(MaxNLocator(TICKS))
            getattr(axes, f"set_{name}label")(name, fontsize=8, labelpad=LABELS_OFF)
        axes.set_box_aspect(span, zoom=ZOOM)
        axes.view_init(**VIEW)
        axes.tick_params(labelsize=6, pad=0)
        axes.set_title(label, fontsize=9)
    return figure
