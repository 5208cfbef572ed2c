"""Which way a bait lies in its file: long axis, plane of symmetry, nose and belly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simsoft.case.shapes.slices import (
    closed,
    inscribed,
    middles,
    moments,
    opened,
    slices,
    softest,
    span,
    turned_solid,
)
from simsoft.core.arrays import Array
from simsoft.drawn.axes import Unclear, are_file_axes, direction, frame_about, snapped
from simsoft.drawn.mirror import SAME
from simsoft.drawn.roll import back_up, side_of
from simsoft.drawn.solid import centre_and_second, longest_axis
from simsoft.drawn.thin import longest_run
from simsoft.drawn.upright import CORE, CUTS, TRUNK

CLEFT = 0.35  # of the largest circle within a section: what is narrower is a slot
LOPSIDED = 0.15  # share of the area: no plane mirrors the bait
NOSE_TELLS = 2.0  # times that one half is softer than the other


@dataclass(frozen=True)
class PlacedSolid:
    """A solid in a case's axes and how it was found.

    Attributes
    ----------
    solid : manifold3d.Manifold [mm], nose at the origin, x to the tail, y to the left, z up
    axes : array (3, 3), the case's axes as rows in the file's
    origin : array (3,) [mm], the nose in the file's axes
    notes : tuple of str, what was assumed
    """

    solid: Any
    axes: Array
    origin: Array
    notes: tuple[str, ...]


def turned_to_case(solid: Any, nose: str | None = None, up: str | None = None) -> PlacedSolid:
    """Return a solid turned into a case's axes.

    Parameters
    ----------
    solid : manifold3d.Manifold [mm], in the file's axes
    nose, up : str or None, axis of the file that points to the nose, and to the back

    Raises
    ------
    Unclear
        What cannot be known from the mesh; the message asks for it.
    ValueError
        ``nose`` or ``up`` names no axis, or the two are one.
    """
    asked_nose = None if nose is None else direction(nose)
    asked_up = None if up is None else direction(up)
    if asked_nose is not None and asked_up is not None and abs(asked_nose @ asked_up) > 0.5:
        raise ValueError("`--nose` and `--up` name the same axis; two different ones are needed")
    centre, second = centre_and_second(solid)
    start = longest_axis(second) if asked_nose is None else asked_nose
    axis, origin = _trunk_line(solid, start, centre)
    axis = _nose_first(solid, axis, origin, asked_nose, nose)
    side, lopsided, notes = side_of(solid, axis, origin, asked_up)
    axes = snapped(np.array([axis, side, np.cross(axis, side)]))
    axes, more = back_up(solid, axes, origin, asked_up, lopsided)
    notes += more
    if lopsided > LOPSIDED:
        notes.append(f"no plane of symmetry: {lopsided:.0%} of the section is on one side only")
    found = turned_solid(solid, axes, origin)
    low = span(found)[0]
    shift = np.array([low, 0.0, 0.0])
    if lopsided < SAME:
        shift[1] = centre_and_second(found)[0][1]
    if not are_file_axes(axes):
        notes.append("turned from the file's axes")
    return PlacedSolid(found.translate(-shift), axes, origin + axes.T @ shift, tuple(notes))


def _trunk_line(solid: Any, start: Array, origin: Array) -> tuple[Array, Array]:
    """Return direction and a point of the line through the middles of the trunk's sections."""
    axis = start / np.linalg.norm(start)
    for _ in range(10):
        axes = frame_about(axis)
        here = turned_solid(solid, axes, origin)
        x = middles(*span(here), CUTS)
        areas, centres = _core(slices(here, x))
        run = longest_run(areas > TRUNK * areas.max())
        weight = np.sqrt(areas[run])
        fit = np.polyfit(x[run], centres[run], 1, w=weight)
        tilt = np.array([1.0, *fit[0]])
        origin = origin + axes.T @ np.array([0.0, *fit[1]])
        new = axes.T @ tilt / np.linalg.norm(tilt)
        change = float(np.linalg.norm(new - axis))
        axis = new
        if change < 1e-5:
            break
    return axis, origin


def _core(sections: list[Any]) -> tuple[Array, Array]:
    """Return area and centre of the hull of every section without its thin parts."""
    bulk = sorted(sections, key=lambda s: -s.area())[: max(len(sections) // 8, 1)]
    radius = CORE * float(np.median([inscribed(s) for s in bulk]))
    cleft = CLEFT / CORE * radius
    found = np.array([moments(opened(closed(s, cleft), radius).hull()) for s in sections])
    return found[:, 0], found[:, 1:3]


def _nose_first(
    solid: Any, axis: Array, origin: Array, asked: Array | None, word: str | None
) -> Array:
    """Return the long axis (3,) so that it runs from the nose to the tail, the softer half."""
    if asked is not None:
        along = float(asked @ axis)
        if abs(along) < 0.5:
            raise ValueError(f"`--nose {word}` does not run along the bait; another is needed")
        return -axis if along > 0.0 else axis
    here = turned_solid(solid, frame_about(axis), origin)
    low, high = span(here)
    x = middles(low, high, 2 * CUTS)
    soft = np.array([_stiffness_of(section) for section in slices(here, x)])
    inner = (x > low + 0.05 * (high - low)) & (x < high - 0.05 * (high - low))
    middle = 0.5 * (low + high)
    front, rear = (soft[inner & half].min() for half in (x < middle, x >= middle))
    if max(front, rear) < NOSE_TELLS * min(front, rear):
        column = int(np.argmax(np.abs(axis)))
        raise Unclear(
            f"which end is the nose? Both ends are alike; say --nose +{'xyz'[column]} "
            f"or --nose -{'xyz'[column]}, an axis of the file"
        )
    return axis if rear < front else -axis


def _stiffness_of(section: Any) -> float:
    """Return the smaller second moment of a section, of every piece about its own middle."""
    if section.is_empty():
        return 0.0
    pieces = section.decompose() if section.num_contour() > 1 else [section]
    return float(sum(softest(moments(piece)[3:]) for piece in pieces))
