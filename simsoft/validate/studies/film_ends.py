"""Paddles as they hang from a stem's end, to be drawn: discs, boots and cups, with their twist."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull

from simsoft.case.model import PaddleInput
from simsoft.core.arrays import Array
from simsoft.geometry.paddle import plate_axes
from simsoft.results.result import Trace

ROUND = 32  # corners of a rim
RINGS = (0.0, 0.35, 0.7, 1.0)  # of a cup's radius


@dataclass(frozen=True)
class StiffPaddle:
    """A stiff convex paddle over one cycle: where its centre is, and what it looks like.

    Attributes
    ----------
    centre : array (K, 3) [m], with the shapes of the stem
    corners : array (n, 3) [m], from the centre: across the kick, upright, along the normal
    angle : float [rad], between the paddle and the stem
    below : float, 1 where the centre hangs on the far side of the width axis, -1 on the near side
    """

    centre: Array
    corners: Array
    angle: float
    below: float

    def turned(self, turn: Array) -> StiffPaddle:
        """Return the paddle with its path turned by a matrix (2, 2) about the tail's axis."""
        centre = self.centre.copy()
        centre[:, 1:] = centre[:, 1:] @ turn.T
        return dataclasses.replace(self, centre=centre)

    def outline(self, end: Array, tangent: Array, centre: Array, across: int) -> Array:
        """Return the silhouette (n, 2) [m] from the stem's end, along columns and rows.

        Parameters
        ----------
        end, centre : array (3,), of the stem's end and of the paddle
        tangent : array (3,), of the stem's end
        across : int, the axis that runs up the picture

        Notes
        -----
        The end's frame is found from its tangent and from where the centre hangs, which holds
        the stem's twist.
        """
        along = tangent / max(float(np.linalg.norm(tangent)), 1e-12)
        hangs = centre - end
        side = hangs - (hangs @ along) * along
        second = -self.below * side / max(float(np.linalg.norm(side)), 1e-12)
        frame = np.stack([np.cross(second, along), second, along])  # tip axes as rows
        placed = hangs + self.corners @ plate_axes(self.angle).T @ frame
        seen = placed[:, [0, across]] * np.array([1.0, -1.0])
        return np.asarray(seen[ConvexHull(seen).vertices])


def hung(
    trace: Trace, frequency: float, paddle: PaddleInput, cup_depth: float = 0.0
) -> StiffPaddle:
    """Return the paddle of a march's last cycle, its centre where the march had it.

    Parameters
    ----------
    trace : Trace
    frequency : float [Hz], of the beat
    paddle : PaddleInput, its centre off the stem's axis
    cup_depth : float [m], how far a disc is drawn hollow; the march knows it as flat
    """
    begin = int(np.searchsorted(trace.time, trace.window[1] - 1.0 / frequency))
    last = int(np.searchsorted(trace.time, trace.window[1])) + 1
    pick = np.linspace(0, last - begin - 1, len(trace.strobe)).astype(int)
    centre = trace.tip[begin:last][pick][:-1]
    upright, normal = plate_axes(paddle.angle).T[1:]
    place = 0.5 * paddle.thickness * normal - paddle.offset * upright
    return StiffPaddle(
        centre, corners(paddle, cup_depth), paddle.angle, -math.copysign(1.0, place[1])
    )


def corners(paddle: PaddleInput, cup_depth: float = 0.0) -> Array:
    """Return points (n, 3) [m] whose hull is a paddle, from its centre, as `StiffPaddle` has."""
    thick = 0.5 * paddle.thickness
    if paddle.shape == "boot":
        signs = np.array(np.meshgrid([-0.5, 0.5], [-0.5, 0.5], [-1.0, 1.0])).reshape(3, -1).T
        return np.asarray(signs * np.array([paddle.width, paddle.height, thick]))
    turn = np.linspace(0.0, 2.0 * math.pi, ROUND, endpoint=False)
    rim = 0.5 * np.column_stack([paddle.width * np.cos(turn), paddle.height * np.sin(turn)])
    front = np.column_stack([rim, np.full(ROUND, -thick)])
    # Hollow upstream: the back bulges where the front is cut away.
    back = [
        np.column_stack([out * rim, np.full(ROUND, thick + cup_depth * (1.0 - out**2))])
        for out in (RINGS if cup_depth > 0.0 else RINGS[-1:])
    ]
    return np.concatenate([front, *back])
