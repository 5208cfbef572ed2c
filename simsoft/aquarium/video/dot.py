"""A dot that the maker names, followed through a clip: by its place in the first frame or colour.

Every frame has a few places that look like the dot: peaks of a Laplacian of a Gaussian of the
dot's size. The path through them that turns least is the dot's. It is sought over the whole clip
at once, so that noise in a frame, another dot, or the corner of a paddle does not lead it astray.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from simsoft.aquarium.video.clip import Frames
from simsoft.core.arrays import Array, Mask
from simsoft.core.errors import InputError

SIZES = (1.5, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0)  # [px], half widths of dots looked for
REACH = 6.0  # px between the place named and the dot's middle
CANDIDATES = 5  # places looked at in a frame
WEAK = 0.35  # of the dot's usual response, from which a place is the dot at all
STANDS_OUT = 6.0  # response of a dot over the noise of the picture's
MOST_TURN = 0.06  # of the picture's larger side, a change of step that costs as much as no dot
LOST_COST = 1.5  # of a frame without the dot, where a perfect one costs nothing


@dataclass(frozen=True)
class DotPath:
    """Where the dot was.

    Attributes
    ----------
    place : array (N, 2) [px], column and row; NaN where it was lost
    size : float [px], its half width
    """

    place: Array
    size: float


def follow_dot(frames: Frames, start: tuple[float, float] | None, bright: bool = False) -> DotPath:
    """Return the path of a dot.

    Parameters
    ----------
    frames : array (N, H, W) of uint8
    start : pair of float [px] or None, column and row in the first frame; None takes what stands
        out most there
    bright : bool, only what is brighter than its surroundings, as pictures of one colour have it

    Raises
    ------
    InputError
        No dot stands out there.
    """
    size, sign, strength = _dot_in(frames[0], start, bright)
    first = _peaks(sign * _response(frames[0], size), 3 * CANDIDATES)
    if start is not None:
        near = np.hypot(first[:, 0] - start[0], first[:, 1] - start[1]) <= REACH + size
        first = first[near]
    if not len(first):
        raise InputError("no dot stands out there in the first frame")
    seen = [first[:1]]
    seen += [_peaks(sign * _response(frame, size), CANDIDATES) for frame in frames[1:]]
    return DotPath(_smoothest(seen, strength, MOST_TURN * max(frames.shape[1:])), size)


def _response(frame: Array, size: float) -> Array:
    """Return how much each pixel looks like the middle of a dark dot of a half width [px]."""
    sigma = size / math.sqrt(2.0)
    return np.asarray(sigma**2 * ndimage.gaussian_laplace(frame.astype(np.float32), sigma))


def _dot_in(
    frame: Array, start: tuple[float, float] | None, bright: bool
) -> tuple[float, float, float]:
    """Return half width [px], sign (1 for a dark dot) and response of the dot."""
    best = 0.0, SIZES[0], 1.0
    for size in SIZES:
        found = _response(frame, size)
        if start is not None:
            rows, columns = np.indices(found.shape)
            near = np.hypot(columns - start[0], rows - start[1]) <= REACH
            if not near.any():
                raise InputError("the point lies outside the picture")
            looked = found[near]
        else:
            looked = found.ravel()
        noise = 1.4826 * float(np.median(np.abs(found - np.median(found)))) + 0.5
        for sign in (-1.0,) if bright else (-1.0, 1.0):
            strength = float((sign * looked).max())
            if strength > STANDS_OUT * noise and strength > best[0]:
                best = strength, size, sign
    if best[0] == 0.0:
        raise InputError(
            "no dot stands out there in the first frame; a round dot of another shade does"
        )
    return best[1], best[2], best[0]


def _peaks(response: Array, most: int) -> Array:
    """Return the strongest local peaks (K, 3): column, row [px], response; by a parabola."""
    top = (response == ndimage.maximum_filter(response, size=5)) & (response > 0.0)
    top[[0, -1]] = False
    top[:, [0, -1]] = False
    rows, columns = np.nonzero(top)
    order = np.argsort(response[rows, columns])[::-1][:most]
    found = []
    for r, c in zip(rows[order], columns[order], strict=True):
        x = _vertex(response[r, c - 1], response[r, c], response[r, c + 1])
        y = _vertex(response[r - 1, c], response[r, c], response[r + 1, c])
        found.append((c + x, r + y, response[r, c]))
    return np.array(found, dtype=float).reshape(-1, 3)


def _vertex(before: float, here: float, after: float) -> float:
    """Return where between -0.5 and 0.5 a parabola through three neighbours is highest."""
    curve = before - 2.0 * here + after
    return float(np.clip(0.5 * (before - after) / curve, -0.5, 0.5)) if curve < 0.0 else 0.0


def _smoothest(seen: list[Array], strength: float, turn: float) -> Array:
    """Return the path (N, 2) that looks most like the dot and changes its step least.

    A state is a place with the one before it. A frame in which no place fits is bridged by going
    on as before, at a cost; there the path is NaN.
    """
    start = seen[0][0, :2]
    here, step = start[None, :], np.zeros((1, 2))
    cost = np.zeros(1)
    history: list[tuple[Array, Array, Mask]] = []
    for count, peaks in enumerate(seen[1:]):
        good = peaks[peaks[:, 2] > WEAK * strength]
        ahead = here + step
        places = np.concatenate([np.broadcast_to(good[:, :2], (len(here), *good[:, :2].shape)),
                                 ahead[:, None, :]], axis=1)  # fmt: skip
        miss = np.hypot(*(places - ahead[:, None, :]).transpose(2, 0, 1)) / turn
        # The first step has no step before it: it costs half, as half of it is no surprise.
        paid = (miss * (0.5 if count == 0 else 1.0)) ** 2
        looks = np.append(np.clip(1.0 - good[:, 2] / strength, 0.0, 1.0), LOST_COST)
        total = cost[:, None] + np.minimum(paid, 4.0 * LOST_COST) + looks[None, :]
        flat = total.ravel()
        kept = np.argsort(flat, kind="stable")[: CANDIDATES * (CANDIDATES + 1)]
        before, which = np.divmod(kept, total.shape[1])
        there = places[before, which]
        history.append((there, before, which < len(good)))
        step, here, cost = there - here[before], there, flat[kept]
    path = np.full((len(seen), 2), math.nan)
    path[0] = start
    state = int(np.argmin(cost))
    for i in range(len(history), 0, -1):
        there, before, real = history[i - 1]
        if real[state]:
            path[i] = there[state]
        state = int(before[state])
    return path
