"""Palette, empty figures, axes and legends that every picture shares."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure

# Our own colours, apart in brightness as well as in hue, so that they survive colour blindness
# and a grey print.
BLUE, ORANGE, TEAL, GREY, INK = "#1d4e89", "#e07a1f", "#2a9d8f", "#9aa0a6", "#222222"
PHASE = LinearSegmentedColormap.from_list("phase", ["#a9c6e8", "#1d4e89"])
DOTS_PER_INCH = 130


def new_figure(width: float, height: float, title: str) -> Figure:
    """Return an empty figure with a title that stays inside it."""
    figure = Figure(figsize=(width, height), dpi=DOTS_PER_INCH)
    figure.set_layout_engine("constrained", wspace=0.06)
    FigureCanvasAgg(figure)
    figure.suptitle(title, fontsize=11, wrap=True, parse_math=False)
    return figure


def plain(axes: Axes) -> None:
    """Give axes a light grid and no box."""
    axes.grid(True, color="#e3e6e8", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)


def shared_legend(figure: Figure, axes: Axes) -> None:
    """Put one legend below all panels, each label once."""
    handles, labels = axes.get_legend_handles_labels()
    once = dict(zip(labels, handles, strict=True))
    figure.legend(
        once.values(), once.keys(), loc="outside lower center", ncols=4, frameon=False, fontsize=9
    )
