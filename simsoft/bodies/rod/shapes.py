"""Shapes for pictures: centreline, edges and paddle outline of a rod in given angles."""

from __future__ import annotations

import math

import numpy as np

from simsoft.bodies.rod.forces import make_work
from simsoft.case.model import PaddleInput
from simsoft.case.paddle_outlines import outline_of
from simsoft.core.arrays import Array
from simsoft.geometry.stations import along
from simsoft.lure.parts import Strip
from simsoft.mechanics.kinematics import place
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import quaternion_from_vector
from simsoft.results.result import Shape

OUTLINE_POINTS = 48


def frames_of(rod: Rod, angle: Array) -> tuple[Array, Array]:
    """Return node positions (N, 3) [m] and frames (N, 3, 3) for hinge angles (N, 3) [rad]."""
    n = angle.shape[0]
    work = make_work(n)
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(angle[k], quaternion[k])
    place(rod, quaternion, work.relative, work.frame, work.hinge, work.node)
    return work.node, work.frame


def tip_of(rod: Rod, angle: Array) -> tuple[Array, Array]:
    """Return tip point (paddle centre if there is one) from the clamp [m] and tip tangent."""
    node, frame = frames_of(rod, angle)
    return node[-1] + frame[-1] @ rod.paddle.centre - rod.root, frame[-1][:, 2]


def shape_of(
    strip: Strip, rod: Rod, angle: Array, *, scenario: str, speed: float, label: str
) -> Shape:
    """Return the drawing of a rod in given hinge angles, positions from the clamp [m]."""
    node, frame = frames_of(rod, angle)
    centre = np.vstack([np.zeros(3), node - rod.root])
    axes = np.concatenate([rod.frame[None], frame])
    half = 0.5 * along(strip.part.width, np.linspace(0.0, 1.0, len(centre)))
    side = axes[:, :, 1] * half[:, None]
    edges = np.stack([centre - side, centre + side], axis=1)
    outline = np.zeros((0, 3))
    if strip.part.paddle is not None:
        outline = paddle_outline(strip.part.paddle, rod, centre[-1], axes[-1])
    return Shape(scenario, strip.name, speed, centre, edges, outline, label, rod.root.copy())


def reach_of(strip: Strip, nodes: int) -> Array:
    """Return how far both edges lie from the centreline along the width (nodes, 2) [m]."""
    half = 0.5 * along(strip.part.width, np.linspace(0.0, 1.0, nodes))
    return np.column_stack([-half, half])


def paddle_outline(paddle: PaddleInput, rod: Rod, tip: Array, frame: Array) -> Array:
    """Return the outlines (..., points, 3) [m] of a paddle on tip nodes (..., 3) [m].

    ``frame`` (..., 3, 3) are the frames of these nodes.
    """
    if outline_of(paddle.shape).oval:
        turn = np.linspace(0.0, 2.0 * math.pi, OUTLINE_POINTS)
        rim = np.column_stack([np.cos(turn), np.sin(turn)])
    else:
        corners = outline_of(paddle.shape).corners
        rim = np.array([*corners, corners[0]])
    flat = 0.5 * np.array([paddle.width, paddle.height]) * rim
    local = rod.paddle.centre + flat @ rod.paddle.axes[:, :2].T
    return np.asarray(tip[..., None, :] + local @ np.swapaxes(frame, -1, -2))
