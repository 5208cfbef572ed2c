"""Mesh of a paddle's plate that bends: a held patch where the stem ends, rings around it."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from simsoft.case.model import PaddleInput, Part
from simsoft.shape.outline import along
from simsoft.shape.paddle import plate_area
from simsoft.shape.planform import Planform

Array = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]

FEWEST_A_SIDE = 2
LAYERS_AROUND = 3  # elements around for one ring of elements between patch and rim
FARTHEST = 0.8  # of half the plate: the held patch reaches no nearer to the rim


def stem_patch(part: Part) -> tuple[float, float, float]:
    """Return half sizes along kick and upright axis and middle on the upright axis [m].

    The patch of the plate that the stem's end section holds, about the plate's centre. The part
    of the section that misses the plate, or comes near to its rim, is left out.

    Raises
    ------
    ValueError
        If the stem's end misses the plate.
    """
    paddle = _paddle_of(part)
    half_kick = 0.5 * float(along(part.thickness, np.ones(1))[0])
    half_up = 0.5 * float(along(part.width, np.ones(1))[0]) / max(math.sin(paddle.angle), 0.2)
    reach = 0.5 * FARTHEST * paddle.height
    low, high = max(paddle.offset - half_up, -reach), min(paddle.offset + half_up, reach)
    widest = 0.5 * FARTHEST * paddle.width
    if paddle.shape == "disc":
        # corners no nearer to the rim than the sides; the patch keeps its height first
        share = max(abs(low), abs(high)) / (0.5 * paddle.height)
        widest = 0.5 * paddle.width * math.sqrt(max(0.9**2 - share**2, 0.0))
    if not high > low:
        raise ValueError("the stem's end misses the paddle: `paddle_offset` is too large")
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
        If the stem's end misses the plate.
    """
    paddle = _paddle_of(part)
    half_kick, half_up, middle = stem_patch(part)
    across = max(FEWEST_A_SIDE, round(around * math.atan2(half_kick, half_up) / math.pi))
    upward = max(FEWEST_A_SIDE, round(around / 2) - across)
    patch = _patch_grid(across, upward) * [half_kick, half_up] + [0.0, middle]
    ring = _perimeter(across, upward)
    rim = _rim(paddle, across, upward)
    layers = max(1, round(around / LAYERS_AROUND / 2))
    share = np.arange(1, layers + 1)[:, None, None] / layers
    rings = (1.0 - share) * patch[ring] + share * rim
    plan = np.vstack([patch, rings.reshape(-1, 2)])
    quads = np.vstack([_patch_quads(across, upward), _ring_quads(ring, layers, len(patch))])
    held = np.zeros(len(plan), dtype=bool)
    held[: len(patch)] = True
    state = np.zeros((len(plan), 6))
    state[:, :2] = plan
    state[:, 5] = 1.0
    outer = len(plan) - len(ring) + np.arange(len(ring))
    return Planform(
        plan=plan,
        quads=quads,
        thickness=np.full(len(plan), paddle.thickness + thickness_shift),
        state=state,
        clamped=held,
        centre=outer[[0, len(ring) // 2]],
        edges=outer[[[0, 0], [len(ring) // 2, len(ring) // 2]]],
        tip=outer[:1],
        outline=np.append(outer, outer[0]),
    )


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


def _rim(paddle: PaddleInput, across: int, upward: int) -> Array:
    """Return the rim's nodes (P, 2) that stand opposite the patch's own.

    On a disc they are spaced evenly, a little outside it, so that the polygon has the disc's area;
    on a boot corner stands opposite corner.
    """
    if paddle.shape == "boot":
        side = _patch_grid(across, upward)[_perimeter(across, upward)]
        return np.asarray(side * [0.5 * paddle.width, 0.5 * paddle.height])
    count = 2 * (across + upward)
    pitch = 2.0 * math.pi / count
    turn = -0.5 * math.pi + pitch * (np.arange(count) - 0.5 * across)
    radius = math.sqrt(plate_area(paddle) / (0.5 * count * math.sin(pitch)))
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])
