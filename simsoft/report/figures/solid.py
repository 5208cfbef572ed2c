"""A part with its thickness in a picture: what is seen of its stem and of its paddle in a view."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from simsoft.core.arrays import Array
from simsoft.report.thickness import Thickness
from simsoft.results.frames import paddle_frames, section_directions

MILLI = 1.0e3  # [mm/m]


def draw_solid(
    axes: Axes,
    line: Array,
    edges: Array,
    paddle: Array,
    thick: Thickness,
    up: int,
    colour: object,
    factor: float = MILLI,
) -> None:
    """Fill what is seen of a part in one position.

    Parameters
    ----------
    axes : Axes
    line : array (N, 3) [m], centreline
    edges : array (N, 2, 3) [m], both edges of the width
    paddle : array (P, 3) [m], outline of the paddle, empty where there is none
    thick : Thickness
    up : int, axis that points up in the view, x runs to the right
    colour : of the filling
    factor : float [1/m], of the unit of the axes
    """
    half = np.interp(np.linspace(0.0, 1.0, len(line)), thick.stations, thick.values)
    across = np.nan_to_num(section_directions(line, edges)[:, 0])
    faces = line[:, None] + half[:, None, None] * np.stack([across, -across], axis=1)
    ring = factor * np.concatenate([faces[:, 0], faces[::-1, 1]])
    axes.fill(ring[:, 0], ring[:, up], color=colour, alpha=0.22, linewidth=0.0)
    if len(paddle) < 3 or thick.paddle <= 0.0:
        return
    normal = np.nan_to_num(paddle_frames(paddle)[1][0])
    both = np.concatenate([paddle + thick.paddle * normal, paddle - thick.paddle * normal])
    seen = _hull(factor * both[:, [0, up]])
    axes.fill(seen[:, 0], seen[:, 1], facecolor=colour, alpha=0.14, linewidth=0.0)


def _hull(points: Array) -> Array:
    """Return the convex hull of points (n, 2), around it; the points where they lie on a line."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        return np.asarray(points[ConvexHull(points).vertices])
    except QhullError:
        return points
