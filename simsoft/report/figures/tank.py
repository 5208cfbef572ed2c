"""Kymograph of a clip with the fitted beat on it, and the tip's trace below."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from matplotlib.figure import Figure

from simsoft.core.arrays import Array
from simsoft.report.figures.canvas import BLUE, GREY, INK, ORANGE, new_figure, plain_axes
from simsoft.report.units import LengthUnit, user_unit

LONGEST = 4.0  # [s] shown


def kymograph_figure(
    kymograph: Array,
    time: Array,
    line: Array,
    tip: Array,
    trusted: npt.NDArray[np.bool_],
    *,
    scale: float | None,
    unit: LengthUnit,
    title: str,
) -> Figure:
    """Draw one column of pixels over time, the tail found on it, and the tip's own track.

    Parameters
    ----------
    kymograph : array (H, N), shares of the lure's contrast
    time : array (N,) [s]
    line : array (N,) [px], row of the tail on the column
    tip : array (N,) [px], row of the tip
    trusted : array (N,) of bool
    scale : float or None [m/px]
    unit : 'mm' or 'inch'
    title : str
    """
    shown = time <= time[0] + LONGEST
    factor, name = 1.0, "px"
    if scale is not None:
        factor, name = user_unit("m", unit)
        factor *= scale
    figure = new_figure(9.0, 6.0, title)
    above, below = figure.subplots(2, 1, sharex=True)
    edges = np.concatenate([time[shown], [time[shown][-1] + 1e-3]])
    rows = np.arange(kymograph.shape[0] + 1) * factor
    above.pcolormesh(edges, rows, kymograph[:, shown], cmap="Greys", vmin=0.0, vmax=1.2)
    above.plot(time[shown], line[shown] * factor, color=ORANGE, linewidth=0.9)
    above.set_ylabel(f"across the tail [{name}]", color=INK)
    good = shown & trusted
    below.plot(time[shown], tip[shown] * factor, color=GREY, linewidth=0.8)
    below.plot(time[good], tip[good] * factor, ".", color=BLUE, markersize=3.5)
    below.set_ylabel(f"tip [{name}]", color=INK)
    below.set_xlabel("time [s]", color=INK)
    plain_axes(below)
    for axes in (above, below):
        axes.invert_yaxis()  # as in the picture, rows count downward
    return figure
