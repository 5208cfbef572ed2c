"""Mesh of a paddle's plate that bends: a held patch where the stem ends, rings around it."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import HELD_WITHIN, PaddleInput, Part
from simsoft.case.paddle_outlines import outline_of
from simsoft.core.arrays import Array, Integers
from simsoft.geometry.paddle import plate_area
from simsoft.geometry.planform import Planform
from simsoft.geometry.stations import along

FEWEST_A_SIDE = 2
LAYERS_AROUND = 3  # elements around for one ring of elements between patch and rim
CORNERS_WITHIN = 0.8  # of the radius
SHARPEST = 0.05  # sine of the corners of elements
STRAIGHTENED = (0.0, 0.25, 0.5, 0.75, 1.0)  # shares of the way from even spacing to rays
THINNEST = 0.2  # of its thickness, what scatter leaves of a plate at least


def stem_patch(part: Part) -> tuple[float, float, float]:
    """Return half sizes along kick and upright axis and middle on the upright axis [m].

    The patch of the plate that the stem's end section holds, about the plate's centre. The part
    of the section that misses the plate, or comes near to its rim, is left out.

    Raises
    ------
    ValueError
        If the middle of the stem's end comes nearer to the rim than that.
    """
    paddle = _paddle_of(part)
    half_kick = 0.5 * float(along(part.thickness, np.ones(1))[0])
    half_up = 0.5 * float(along(part.width, np.ones(1))[0]) / max(math.sin(paddle.angle), 0.2)
    reach = 0.5 * HELD_WITHIN * paddle.height
    if abs(paddle.offset) > reach:
        raise ValueError("the stem's end sits off the paddle: `paddle_offset` is too large")
    low, high = max(paddle.offset - half_up, -reach), min(paddle.offset + half_up, reach)
    widest = 0.5 * HELD_WITHIN * paddle.width
    outline = outline_of(paddle.shape)
    widest *= min(outline.lower, outline.upper)
    if outline.oval:
        # corners no nearer to the rim than the sides; the patch keeps its height first
        share = max(abs(low), abs(high)) / (0.5 * paddle.height)
        widest = 0.5 * paddle.width * math.sqrt(CORNERS_WITHIN**2 - share**2)
    return min(half_kick, widest), 0.5 * (high - low), 0.5 * (high + low)


def _paddle_of(part: Part) -> PaddleInput:
    if part.paddle is None:
        raise ValueError(f"{part.name} has no paddle")
    return part.paddle


def cut_pad(part: Part, around: int, thickness_shift: float) -> Planform:
    """Return the planform of a part's paddle, held where the stem ends.

    Plan coordinates run along the kick and the upright axis, about the plate's centre; ``state``
    holds places and directors in kick, upright and normal axis.

    Parameters
    ----------
    part : Part with a paddle
    around : int, elements around the rim, about
    thickness_shift : float [m], added to the plate's thickness

    Raises
    ------
    ValueError
        If the stem's end sits off the plate, or leaves no room for a mesh.
    """
    paddle = _paddle_of(part)
    half_kick, half_up, middle = stem_patch(part)
    thick = paddle.thickness + thickness_shift
    across = max(FEWEST_A_SIDE, round(around * math.atan2(half_kick, half_up) / math.pi))
    upward = max(FEWEST_A_SIDE, round(around / 2) - across)
    patch = _patch_grid(across, upward) * [half_kick, half_up] + [0.0, middle]
    ring = _perimeter(across, upward)
    layers = max(1, round(around / LAYERS_AROUND / 2))
    share = np.arange(1, layers + 1)[:, None, None] / layers
    quads = np.vstack([_patch_quads(across, upward), _ring_quads(ring, layers, len(patch))])
    for straight in STRAIGHTENED:
        rim = _rim(paddle, patch[ring], across, upward, straight)
        rings = (1.0 - share) * patch[ring] + share * rim
        plan = np.vstack([patch, rings.reshape(-1, 2)])
        if corner_sine(plan, quads) > SHARPEST:
            break
    else:
        raise ValueError(
            "the stem's end leaves no room for a mesh of the paddle: its end section is "
            "too flat or too near to the rim"
        )
    held = np.zeros(len(plan), dtype=bool)
    held[: len(patch)] = True
    state = np.zeros((len(plan), 6))
    state[:, :2] = plan
    state[:, 5] = 1.0
    outer = len(plan) - len(ring) + np.arange(len(ring))
    return Planform(
        plan=plan,
        quads=quads,
        thickness=np.full(len(plan), max(thick, THINNEST * paddle.thickness)),
        state=state,
        clamped=held,
        centre=outer[[0, len(ring) // 2]],
        edges=outer[[[0, 0], [len(ring) // 2, len(ring) // 2]]],
        tip=outer[:1],
        outline=np.append(outer, outer[0]),
    )


def corner_sine(plan: Array, quads: Integers) -> float:
    """Return the smallest sine of the corners of elements (E, 4); negative where one folds over."""
    corner = plan[quads]
    onward, back = (np.roll(corner, way, axis=1) - corner for way in (-1, 1))
    cross = onward[..., 0] * back[..., 1] - onward[..., 1] * back[..., 0]
    size = np.linalg.norm(onward, axis=2) * np.linalg.norm(back, axis=2)
    return float((cross / size).min())


def _patch_grid(across: int, upward: int) -> Array:
    """Return nodes on [-1, 1]^2, row by row upward."""
    x, y = np.linspace(-1.0, 1.0, across + 1), np.linspace(-1.0, 1.0, upward + 1)
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


def _patch_quads(across: int, upward: int) -> Integers:
    row = np.arange(upward)[:, None] * (across + 1) + np.arange(across)
    return np.stack([row, row + 1, row + across + 2, row + across + 1], axis=2).reshape(-1, 4)


def _perimeter(across: int, upward: int) -> Integers:
    """Return the patch's nodes around it, counter-clockwise from the lower left corner."""
    nodes = np.arange((across + 1) * (upward + 1)).reshape(upward + 1, across + 1)
    return np.concatenate([nodes[0, :-1], nodes[:-1, -1], nodes[-1, :0:-1], nodes[:0:-1, 0]])


def _ring_quads(ring: Integers, layers: int, first: int) -> Integers:
    count = len(ring)
    lines = np.vstack([ring, first + np.arange(layers * count).reshape(layers, count)])
    inner, outer = lines[:-1], lines[1:]
    return np.stack(
        [inner, outer, np.roll(outer, -1, axis=1), np.roll(inner, -1, axis=1)], axis=2
    ).reshape(-1, 4)


def _rim(paddle: PaddleInput, patch: Array, across: int, upward: int, straight: float) -> Array:
    """Return the rim's nodes (P, 2) that stand opposite the patch's own (P, 2).

    On a disc they are spaced evenly, or lie on rays from the patch's middle where ``straight`` is
    1, or between; the polygon is given the disc's area and middle. On any other plate corner stands
    opposite corner.
    """
    outline = outline_of(paddle.shape)
    if not outline.oval:
        side = _patch_grid(across, upward)[_perimeter(across, upward)]
        side[:, 0] *= np.interp(side[:, 1], [-1.0, 1.0], [outline.lower, outline.upper])
        side[:, 1] -= outline.middle
        return np.asarray(side * [0.5 * paddle.width, 0.5 * paddle.height])
    count = 2 * (across + upward)
    even = -0.5 * math.pi + 2.0 * math.pi / count * (np.arange(count) - 0.5 * across)
    middle = 0.5 * (patch[:, 1].min() + patch[:, 1].max()) / (0.5 * paddle.width)
    ray = patch - [0.0, 0.5 * paddle.width * middle]
    ray = ray / np.linalg.norm(ray, axis=1)[:, None]
    reach = -middle * ray[:, 1] + np.sqrt((middle * ray[:, 1]) ** 2 + 1.0 - middle**2)
    hit = np.arctan2(middle + reach * ray[:, 1], reach * ray[:, 0])
    turn = even + straight * np.angle(np.exp(1j * (hit - even)))
    rim = np.column_stack([np.cos(turn), np.sin(turn)])
    after = np.roll(rim, -1, axis=0)
    twice = rim[:, 0] * after[:, 1] - rim[:, 1] * after[:, 0]
    centre = (twice[:, None] * (rim + after)).sum(axis=0) / (3.0 * twice.sum())
    return np.asarray((rim - centre) * math.sqrt(2.0 * plate_area(paddle) / float(twice.sum())))
