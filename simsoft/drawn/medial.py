"""The middle line of a flat strip's outline, straight or curved, and its width along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import Voronoi, cKDTree

from simsoft.core.arrays import Array

STATIONS = 41
BENT = 0.02  # of the length: middles farther off a straight line make a curve
SAMPLES = 900  # of an outline
STEEP = 0.45  # growth of the inner circle along the line, beyond which it runs into a corner
ENDS = 0.045  # of the length, where a cut or a corner shortens a chord
POINTED = 0.05  # of the size beside it: what is left of a pointed end
DEGREE = 5  # of the smooth curve through the middles


@dataclass(frozen=True)
class MiddleLine:
    """A strip in its plane.

    Attributes
    ----------
    at : array (n,) [-], stations along the length
    points, tangents : arrays (n, 2), of the middle line
    width : array (n,)
    length : float
    turning : float [rad], of the tangent from root to tip, counter-clockwise; 0 where straight
    """

    at: Array
    points: Array
    tangents: Array
    width: Array
    length: float
    turning: float


def middle_line(rings: list[Array], root: Array) -> MiddleLine:
    """Return the middle line of an outline, its holes left out of account.

    Parameters
    ----------
    rings : list of arrays (n, 2), closed curves
    root : array (2,), where it is held; the strip leaves it
    """
    ring = (
        max(rings, key=len)
        if len(rings) == 1
        else max(rings, key=lambda r: np.ptp(r, axis=0).sum())
    )
    found = _straight(ring, root)
    return _curved(ring, root) if found is None else found


def _chord(ring: Array, point: Array, tangent: Array, near: bool = True) -> tuple[float, float]:
    """Return where the line across a tangent at a point leaves a ring, to both sides."""
    across = np.array([-tangent[1], tangent[0]])
    rel = ring - point
    along, side = rel @ tangent, rel @ across
    ahead, next_side = np.roll(along, -1), np.roll(side, -1)
    cross = (along > 0.0) != (ahead > 0.0)
    if not cross.any():
        return 0.0, 0.0
    share = along[cross] / (along[cross] - ahead[cross])
    hits = np.sort(side[cross] + share * (next_side[cross] - side[cross]))
    pairs = hits[: len(hits) // 2 * 2].reshape(-1, 2)
    best = int(np.argmin(np.abs(pairs.mean(axis=1)))) if near else int(np.argmax(np.ptp(pairs, 1)))
    return float(pairs[best, 0]), float(pairs[best, 1])


def _straight(ring: Array, root: Array) -> MiddleLine | None:
    """Return the middle line where it is straight, None where it is not."""
    direction = _centroid(ring) - root
    direction = direction / np.linalg.norm(direction)
    start = root
    share = (np.arange(STATIONS) + 0.5) / STATIONS
    for _ in range(3):
        reach = float(((ring - start) @ direction).max())
        places = start + np.outer(share * reach, direction)
        ends = np.array([_chord(ring, p, direction) for p in places])
        across = np.array([-direction[1], direction[0]])
        middle = places + np.outer(ends.mean(axis=1), across)
        inner = (share > 0.08) & (share < 0.92)
        offset, along = (middle - start) @ across, (middle - start) @ direction
        slope, shift = np.polyfit(along[inner], offset[inner], 1)
        left = offset[inner] - slope * along[inner] - shift
        if np.abs(left).max() > BENT * reach:
            return None
        start = start + shift * across
        direction = direction + slope * across
        direction = direction / np.linalg.norm(direction)
    reach = float(((ring - start) @ direction).max())
    share = np.concatenate([[0.004], share, [0.996]])
    places = start + np.outer(share * reach, direction)
    width = np.array([np.ptp(_chord(ring, p, direction)) for p in places])
    at = np.concatenate([[0.0], share[1:-1], [1.0]])
    points = start + np.outer(at * reach, direction)
    return MiddleLine(at, points, np.tile(direction, (len(at), 1)), width, reach, 0.0)


def _centroid(ring: Array) -> Array:
    a, b = ring, np.roll(ring, -1, axis=0)
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    return np.asarray(((a + b) * cross[:, None]).sum(axis=0) / (3.0 * cross.sum()))


def _sampled(ring: Array, count: int) -> Array:
    """Return evenly spaced points on a ring."""
    around = np.vstack([ring, ring[:1]])
    step = np.linalg.norm(np.diff(around, axis=0), axis=1)
    place = np.concatenate([[0.0], np.cumsum(step)])
    wanted = np.arange(count) * place[-1] / count
    return np.column_stack([np.interp(wanted, place, around[:, k]) for k in range(2)])


def _inside(ring: Array, points: Array) -> Array:
    """Tell which points lie within a ring, by crossings of a ray."""
    x, y = points.T
    a, b = ring, np.roll(ring, -1, axis=0)
    result = np.zeros(len(points), dtype=bool)
    for (ax, ay), (bx, by) in zip(a, b, strict=True):
        if ay != by:
            hit = (ay > y) != (by > y)
            result ^= hit & (x < (bx - ax) * (y - ay) / (by - ay) + ax)
    return result


def _curved(ring: Array, root: Array) -> MiddleLine:
    path, radius = _longest_path(ring, root)
    path = _off_corners(path, radius)
    # smooth curve through the middles, drawn out to both ends of the outline
    step = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    degree = min(DEGREE, len(path) - 1)
    fits = [np.polynomial.Polynomial.fit(step, path[:, k], degree) for k in range(2)]
    low, high = _drawn_out(ring, fits, 0.0, -1.0), _drawn_out(ring, fits, step[-1], 1.0)
    places = np.linspace(low, high, 8 * STATIONS)
    curve = np.column_stack([_extended(fits[k], places, 0.0, step[-1]) for k in range(2)])
    long = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(curve, axis=0), axis=1))])
    at = np.linspace(0.0, 1.0, STATIONS)
    points = np.column_stack([np.interp(at * long[-1], long, curve[:, k]) for k in range(2)])
    tangents = np.gradient(points, at, axis=0)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    chords = np.array([np.ptp(_chord(ring, p, t)) for p, t in zip(points, tangents, strict=True)])
    width = drawn_on(at, chords)
    turning = _turning(points[2:-2]) * float(1.0 / (at[-3] - at[2]))
    return MiddleLine(at, points, tangents, width, float(long[-1]), turning)


def drawn_on(at: Array, values: Array, low: float = ENDS, high: float = 1.0 - ENDS) -> Array:
    """Return values whose ends, cut short by a slanted root, go on as their neighbours do.

    They shrink to a pointed end's least at most, never to nothing.
    """
    inner = (at >= low) & (at <= high)
    near = [np.flatnonzero(inner)[:4], np.flatnonzero(inner)[-4:]]
    result = values.copy()
    for side, members in ((at < low, near[0]), (at > high, near[1])):
        line = np.polyfit(at[members], values[members], 1)
        result[side] = np.maximum(np.polyval(line, at[side]), POINTED * values[members].max())
    return result


def _longest_path(ring: Array, root: Array) -> tuple[Array, Array]:
    """Return the path from the root along the middles to the farthest, with the inner radius."""
    rim = _sampled(ring, SAMPLES)
    graph = Voronoi(rim)
    inside = _inside(ring, graph.vertices)
    radius = cKDTree(rim).query(graph.vertices)[0]
    ridges = np.array([r for r in graph.ridge_vertices if r[0] >= 0 and r[1] >= 0])
    ridges = ridges[inside[ridges].all(axis=1)]
    long = np.linalg.norm(np.diff(graph.vertices[ridges], axis=1)[:, 0], axis=1)
    count = len(graph.vertices)
    weights = coo_matrix((np.maximum(long, 1e-9), ridges.T), shape=(count, count))
    used = np.unique(ridges)
    begin = used[np.argmin(np.linalg.norm(graph.vertices[used] - root, axis=1))]
    away, before = dijkstra(weights, directed=False, indices=int(begin), return_predecessors=True)
    away[~np.isfinite(away)] = -1.0
    walk = [int(np.argmax(away))]
    while before[walk[-1]] >= 0:
        walk.append(int(before[walk[-1]]))
    walk.reverse()
    return graph.vertices[walk], radius[walk]


def _off_corners(path: Array, radius: Array) -> Array:
    """Return a path without its ends that run into corners of the outline."""
    step = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    even = np.linspace(0.0, step[-1], 241)
    size = np.interp(even, step, radius)
    slope = np.abs(np.gradient(size, even))
    margin = max(2, int(0.6 * float(np.median(size)) / (even[1] - even[0])))
    steep = np.flatnonzero(slope > STEEP)
    low = max([k for k in steep if k < 60] + [margin]) + 4
    high = min([k for k in steep if k > 180] + [240 - margin]) - 4
    kept = even[low:high]
    return np.column_stack([np.interp(kept, step, path[:, k]) for k in range(2)])


def _extended(fit: np.polynomial.Polynomial, s: Array, low: float, high: float) -> Array:
    """Return a polynomial, drawn on beyond its ends with the curvature it has there."""
    held = np.clip(s, low, high)
    over = s - held
    margin = 0.08 * (high - low)
    bend = np.where(over < 0.0, fit.deriv(2)(low + margin), fit.deriv(2)(high - margin))
    return np.asarray(fit(held) + fit.deriv()(held) * over + 0.5 * bend * over**2)


def _drawn_out(ring: Array, fits: list[np.polynomial.Polynomial], end: float, sign: float) -> float:
    """Return the parameter at which the curve drawn on leaves the outline."""
    high = fits[0].domain[1]
    reach = np.linspace(0.0, 0.5 * high, 400)
    places = end + sign * reach
    curve = np.column_stack([_extended(fit, places, 0.0, high) for fit in fits])
    out = np.flatnonzero(np.logical_not(_inside(ring, curve)))
    return float(places[out[0]]) if len(out) else end


def _turning(points: Array) -> float:
    """Return by how much a line turns [rad], as the circle nearest to it does."""
    x, y = points.T
    system = np.column_stack([x, y, np.ones(len(x))])
    a, b, c = np.linalg.lstsq(system, x * x + y * y, rcond=None)[0]
    radius = float(np.sqrt(max(c + 0.25 * (a * a + b * b), 1e-12)))
    length = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    chord, mid = points[-1] - points[0], points[len(points) // 2] - points[0]
    sign = -np.sign(chord[0] * mid[1] - chord[1] * mid[0])
    return float(sign * length / radius)
