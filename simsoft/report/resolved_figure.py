"""Picture of a resolved run: the flow around the tail at four moments of its last beat."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from simsoft.core.files import whole_file
from simsoft.report.figures.canvas import DOTS_PER_INCH, INK, new_figure
from simsoft.resolved.slices import Slice

MILLI = 1.0e3
FASTEST = 1.6  # of the stream's speed, end of the colour scale


def save_slices(path: Path, slices: Sequence[Slice], title: str, half_width: float) -> Path:
    """Write the picture; ``half_width`` [m] is that of the paddle or of the section at the tip."""
    figure = new_figure(9.0, 6.4, title)
    panels = figure.subplots(2, 2, sharex=True, sharey=True).ravel()
    image = None
    for axes, moment in zip(panels, slices, strict=False):
        extent = MILLI * np.array([moment.x[0], moment.x[-1], moment.y[0], moment.y[-1]])
        image = axes.imshow(
            moment.speed, origin="lower", extent=tuple(extent), cmap="cividis", vmin=0.0,
            vmax=FASTEST, aspect="equal", interpolation="bilinear",
        )  # fmt: skip
        line = MILLI * moment.centres[:-1]
        axes.plot(line[:, 0], line[:, 1], color="white", linewidth=3.0, solid_capstyle="round")
        axes.plot(line[:, 0], line[:, 1], color=INK, linewidth=1.2)
        ends = MILLI * (moment.centres[-1] + np.outer([-half_width, half_width], moment.kick[-1]))
        axes.plot(ends[:, 0], ends[:, 1], color="white", linewidth=5.0)
        axes.plot(ends[:, 0], ends[:, 1], color=INK, linewidth=2.4)
        axes.set_title(f"{moment.time:.2f} s", fontsize=9)
    for axes in panels[2:]:
        axes.set_xlabel("downstream, mm")
    for axes in panels[::2]:
        axes.set_ylabel("to the side, mm")
    for axes in panels[len(slices) :]:
        axes.set_visible(False)
    if image is not None:
        figure.colorbar(image, ax=list(panels), label="speed over that of the stream", shrink=0.8)
    with whole_file(path) as temporary:
        figure.savefig(temporary, dpi=DOTS_PER_INCH, format="png")
    return path
