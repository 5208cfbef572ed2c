"""Palette, empty figures, axes and legends that every picture shares."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure

# Our own colours, apart in brightness as well as in hue, so that they survive colour blindness
# and a grey print.
BLUE, ORANGE, TEAL, GREY, INK = "#1d4e89", "#e07a1f", "#2a9d8f", "#9aa0a6", "#222222"
PHASE = LinearSegmentedColormap.from_list("phase", ["#a9c6e8", "#1d4e89"])
DOTS_PER_INCH = 130
LABEL_GAP = 0.07  # between names at line ends, of the height of the axes


def new_figure(width: float, height: float, title: str) -> Figure:
    """Return an empty figure with a title that stays inside it."""
    figure = Figure(figsize=(width, height), dpi=DOTS_PER_INCH)
    figure.set_layout_engine("constrained", wspace=0.06)
    FigureCanvasAgg(figure)
    figure.suptitle(title, fontsize=11, wrap=True, parse_math=False)
    return figure


def plain_axes(axes: Axes) -> None:
    """Give axes a light grid and no box."""
    axes.grid(True, color="#e3e6e8", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)


def end_labels(axes: Axes, ends: Sequence[tuple[float, str, str]]) -> None:
    """Write the name of every line where it ends on the right, apart from each other.

    Parameters
    ----------
    axes : Axes, its limits set
    ends : sequence of (height of the end in the unit of the axis, name, colour)
    """
    low, high = axes.get_ylim()
    gap = LABEL_GAP * (high - low)
    place = -np.inf
    for height, name, colour in sorted(ends):
        place = max(min(max(height, low), high), place + gap)
        axes.annotate(
            name, (1.0, place), xycoords=axes.get_yaxis_transform(), xytext=(4, 0),
            textcoords="offset points", va="center", color=colour, fontsize=9,
            annotation_clip=False,
        )  # fmt: skip


def shared_legend(figure: Figure, axes: Axes) -> None:
    """Put one legend below all panels, each label once."""
    handles, labels = axes.get_legend_handles_labels()
    once = dict(zip(labels, handles, strict=True))
    figure.legend(
        once.values(), once.keys(), loc="outside lower center", ncols=4, frameon=False, fontsize=9
    )
