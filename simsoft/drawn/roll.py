"""How a bait is rolled about its long axis: the upright plane, back and belly, or a question."""

from __future__ import annotations

from typing import Any

import numpy as np

from simsoft.case.shapes.slices import turned_solid
from simsoft.core.arrays import Array
from simsoft.drawn.axes import Unclear, axis_word, frame_about
from simsoft.drawn.mirror import SAME, Planes, left_over, near, planes, sections_of, side_axis
from simsoft.drawn.upright import ROUND, View, chosen, view

ASKED = 0.7  # cosine: a plane of symmetry that an asked axis means


def side_of(
    solid: Any, axis: Array, origin: Array, up: Array | None
) -> tuple[Array, float, list[str]]:
    """Return the normal (3,) of the upright plane, what its mirror leaves over, and notes.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], in the file's axes
    axis, origin : arrays (3,), from nose to tail, and a point of that line
    up : array (3,) or None, the way to the back if it was said

    Raises
    ------
    Unclear
        Two planes serve and nothing tells which stands upright.
    ValueError
        ``up`` runs along the bait.
    """
    axes = frame_about(axis)
    here = turned_solid(solid, axes, origin)
    found = planes(here)
    if up is not None:
        return (*_asked(here, axes, found, up), [])
    if found.free:
        return _nearest_file_axis(axis), found.left_over[0], []
    views = [view(here, angle) for angle in found.angles]
    if len(views) == 1:
        seen = views[0]
        # a flat bait whose tails differ from left to right mirrors itself in the level plane
        if seen.ratio > ROUND and not (seen.hang or seen.slot or seen.belly):
            raise Unclear(_one_plane(seen, axes))
        return side_axis(axes, found.angles[0]), found.left_over[0], []
    best, note = chosen(views)
    if best is None:
        raise Unclear(_two_planes(views, axes))
    over = found.left_over[found.angles.index(best.angle)]
    return side_axis(axes, best.angle), over, [note] if note else []


def _asked(here: Any, axes: Array, found: Planes, up: Array) -> tuple[Array, float]:
    """Return the normal of the plane of symmetry that an asked axis means, and its left-over."""
    across = np.cross(up, axes[0])
    if np.linalg.norm(across) < 0.1:
        raise ValueError("`--up` runs along the bait; an axis across it is needed")
    across /= np.linalg.norm(across)
    if found.free:
        return across, found.left_over[0]
    asked = float(np.arctan2(across @ axes[2], across @ axes[1]))
    meant = [abs(float(np.cos(angle - asked))) for angle in found.angles]
    best = int(np.argmax(meant))
    if meant[best] > ASKED:
        return side_axis(axes, found.angles[best]), found.left_over[best]
    angle, over = near(here, asked)
    return side_axis(axes, angle), over


def back_up(
    solid: Any, axes: Array, origin: Array, asked: Array | None, lopsided: float
) -> tuple[Array, list[str]]:
    """Turn a frame about its long axis so that z points to the back.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], in the file's axes
    axes, origin : arrays, rows along, to a side and to back or belly
    asked : array (3,) or None, the way to the back if it was said
    lopsided : float [-], share of the area that the mirror from side to side leaves over

    Returns
    -------
    axes, and notes of what was assumed

    Raises
    ------
    Unclear
        Back and belly differ and nothing tells which is which.
    """
    over = np.diag([1.0, -1.0, -1.0]) @ axes
    if asked is not None:
        return (axes if float(asked @ axes[2]) > 0.0 else over), []
    seen = view(turned_solid(solid, axes, origin), 0.0)
    if seen.hang:
        return (axes if seen.hang > 0.0 else over), []
    if seen.slot:
        note = "CHECK up: the side that a slot is open to is taken for the belly"
        return (axes if seen.slot > 0.0 else over), [note]
    if not seen.belly and seen.curl:
        return (axes if seen.curl > 0.0 else over), ["CHECK up: its tail is taken to turn up"]
    if (
        seen.belly
        or seen.is_uneven
        or left_over(sections_of(seen.solid), 0.5 * np.pi) > lopsided + SAME
    ):
        raise Unclear(
            "which side is up? Back and belly differ and nothing tells which is which; say "
            f"--up {axis_word(axes[2])} or --up {axis_word(-axes[2])}"
        )
    helper = np.array([0.0, 0.0, 1.0]) if abs(axes[0, 2]) < 0.7 else np.array([0.0, 1.0, 0.0])
    return (axes if float(axes[2] @ helper) >= 0.0 else over), []


def _two_planes(views: list[View], axes: Array) -> str:
    """Return the question which of two planes stands upright, with the answers to copy."""
    flat, tall = (f(views, key=lambda v: v.ratio) for f in (min, max))
    words = " or ".join(f"--up {_up_word(seen, axes)} ({_size(seen)})" for seen in (flat, tall))
    return f"which side is up? It may lie flat or stand on its edge; say {words}"


def _one_plane(seen: View, axes: Array) -> str:
    """Return the question whether the only plane of symmetry is level."""
    level = axis_word(side_axis(axes, seen.angle))
    return (
        "which side is up? It may lie flat with unlike sides, or stand with its tail upright; say "
        f"--up {level} or --up {_up_word(seen, axes)}"
    )


def _size(seen: View) -> str:
    box = seen.solid.bounding_box()
    return f"{box[4] - box[1]:.0f} mm wide, {box[5] - box[2]:.0f} mm tall"


def _up_word(seen: View, axes: Array) -> str:
    up = np.cross(axes[0], side_axis(axes, seen.angle))
    return axis_word(up if up[int(np.argmax(np.abs(up)))] > 0.0 else -up)


def _nearest_file_axis(axis: Array) -> Array:
    """Return the file's y, or its z where the bait lies along y, made square to an axis."""
    for helper in (np.array([0.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0])):
        side = np.cross(helper, axis)
        if np.linalg.norm(side) > 0.5:
            return np.asarray(side / np.linalg.norm(side))
    return np.array([1.0, 0.0, 0.0])
