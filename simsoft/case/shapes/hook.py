"""A hook's path from its gap and shank, where the user gives no table of points."""

from __future__ import annotations

import math

from simsoft.case.model import Vector

BEND_POINTS = 16  # chords of the bend; their sum is 0.2 % short of the arc
POINT_SHARE = 0.4  # point leg over shank, common practice, no source


def hook_path(
    gap: float,
    shank: float,
    *,
    eye: Vector = (0.0, 0.0, 0.0),
    bend: float | None = None,
    point: float | None = None,
    offset: float = 0.0,
) -> tuple[Vector, ...]:
    """Return the wire's path in the plane of the eye, from eye to point.

    The shank runs straight along x, the bend turns up behind it, and the point leg comes
    forward above the shank, one gap away.

    Parameters
    ----------
    gap : float [m], between the axes of shank and point leg
    shank : float [m], from the eye to the start of the bend
    eye : vector [m]
    bend : float or None [m], how far the bend reaches behind the shank; None for a round one
    point : float or None [m], length of the point leg, None for 0.4 of the shank
    offset : float [m], how far the shank lies below the eye, after a step as long as it is deep

    Returns
    -------
    path : tuple of vectors [m]
    """
    x, y, z = eye
    reach = 0.5 * gap if bend is None else bend
    leg = POINT_SHARE * shank if point is None else point
    below = z - offset
    path = [eye]
    if offset > 0.0:
        path += [(x + 0.5 * offset, y, z), (x + offset, y, below)]
    for k in range(BEND_POINTS + 1):
        turn = math.pi * (k / BEND_POINTS - 0.5)
        behind, above = reach * math.cos(turn), 0.5 * gap * (1.0 + math.sin(turn))
        path.append((x + shank + behind, y, below + above))
    path.append((x + shank - leg, y, below + gap))
    return tuple(path)
