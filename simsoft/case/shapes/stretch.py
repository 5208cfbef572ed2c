"""Stretch of an outline that is held: named by points on it, or by shares of its length."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from simsoft.case.model import Ring

NEAR = 0.02  # of the part's length: points as near the outline are taken as on it
SNAP = 0.01  # of the part's length: ends of a stretch as near a corner are put on it
CORNER = 0.3  # [rad], least turn of a corner
AS_LONG = 0.9  # of the other way round, past which neither way is the shorter one
Point = tuple[float, float]


def lengths_of(ring: Ring) -> list[float]:
    """Return the way [m] along a closed curve to each of its points, and round to the first."""
    closed = (*ring, ring[0])
    steps = (math.dist(a, b) for a, b in itertools.pairwise(closed))
    return list(itertools.accumulate(steps, initial=0.0))


def place_on(ring: Ring, point: Point) -> tuple[float, float]:
    """Return the way [m] along a closed curve to its place nearest a point, and the gap [m]."""
    way = lengths_of(ring)
    best = (0.0, math.inf)
    for k, (a, b) in enumerate(itertools.pairwise((*ring, ring[0]))):
        span = (b[0] - a[0], b[1] - a[1])
        square = span[0] ** 2 + span[1] ** 2
        share = 0.0
        if square > 0.0:
            share = ((point[0] - a[0]) * span[0] + (point[1] - a[1]) * span[1]) / square
            share = min(1.0, max(0.0, share))
        gap = math.dist(point, (a[0] + share * span[0], a[1] + share * span[1]))
        if gap < best[1]:
            best = (way[k] + share * math.sqrt(square), gap)
    return best


def point_at(ring: Ring, way: float) -> Point:
    """Return the point a way [m] along a closed curve."""
    ways = lengths_of(ring)
    way %= ways[-1]
    for k, (a, b) in enumerate(itertools.pairwise((*ring, ring[0]))):
        if way <= ways[k + 1]:
            share = (way - ways[k]) / max(ways[k + 1] - ways[k], 1e-300)
            return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
    return ring[0]


def by_points(ring: Ring, points: Sequence[Point], length: float) -> tuple[float, float]:
    """Return begin and end [m] along a counter-clockwise curve of the stretch that points name.

    From each point to the next the stretch follows the outline the shorter way round.

    Parameters
    ----------
    ring : closed curve [m], counter-clockwise
    points : at least two [m]
    length : float [m], of the part

    Raises
    ------
    ValueError
        If a point is not on the outline, or the points do not say which way round.
    """
    total = lengths_of(ring)[-1]
    ways = []
    for point in points:
        way, gap = place_on(ring, point)
        if gap > NEAR * length:
            raise ValueError(
                f"has a `clamp` that does not run along it: ({_shown(point)}) is "
                f"{1e3 * gap:.3g} mm off the outline, nearest to ({_shown(point_at(ring, way))}); "
                "points on the outline are needed"
            )
        ways.append(way)
    steps = []
    for first, last in itertools.pairwise(ways):
        step = (last - first + 0.5 * total) % total - 0.5 * total
        if abs(step) > AS_LONG / (1.0 + AS_LONG) * total:
            raise ValueError(
                "has a `clamp` whose points are as far apart one way round as the other; a point "
                "of the stretch between them is needed"
            )
        steps.append(step)
    ahead = sum(step > 0.0 for step in steps)
    whole = sum(abs(step) for step in steps)
    if whole <= 0.0 or ahead not in (0, len(steps)) or whole > total:
        raise ValueError(
            "has a `clamp` that goes back on itself or has no length; points in order along the "
            "outline are needed"
        )
    begin, end = (ways[0], ways[0] + whole) if ahead else (ways[-1], ways[-1] + whole)
    return _snapped(ring, begin, length), _snapped(ring, end, length)


def by_shares(ring: Ring, root: Point, shares: tuple[float, float]) -> tuple[float, float]:
    """Return begin and end [m] along a counter-clockwise curve of a stretch in shares of it.

    ``root`` [m] is where the shares begin; they run counter-clockwise.
    """
    total = lengths_of(ring)[-1]
    start, _ = place_on(ring, root)
    first, last = shares
    end = last if last > first else last + 1.0
    return start + first * total, start + end * total


def stretch(ring: Ring, begin: float, end: float) -> tuple[Ring, Ring]:
    """Return a curve with the ends of a stretch among its points, and the stretch itself.

    Both run counter-clockwise where the curve does; a stretch all round ends where it begins.
    """
    *ways, total = lengths_of(ring)
    known = list(zip(ways, ring, strict=True))
    slack = 1e-9 * total
    for way in (begin % total, end % total):
        # a stretch all round begins where it ends: no point twice, which no mesher takes
        if min(abs(way - other) for other in (*(at for at, _ in known), total)) > slack:
            known.append((way, point_at(ring, way)))
    known.sort()
    first = begin % total if begin % total < total - slack else 0.0
    last = first + end - begin
    twice = [*known, *((way + total, point) for way, point in known)]
    held = tuple(point for way, point in twice if first - slack <= way <= last + slack)
    return tuple(point for _, point in known), held


def _snapped(ring: Ring, way: float, length: float) -> float:
    """Return a way [m], or that of a corner of the outline within ``SNAP`` of it."""
    ways = lengths_of(ring)
    total = ways[-1]
    for k, here in enumerate(ring):
        gap = (ways[k] - way + 0.5 * total) % total - 0.5 * total
        if (
            abs(gap) < SNAP * length
            and _turn(ring[k - 1], here, ring[(k + 1) % len(ring)]) > CORNER
        ):
            return way + gap
    return way


def _turn(before: Point, here: Point, after: Point) -> float:
    """Return the angle [rad] by which a curve turns at a point."""
    first = math.atan2(here[1] - before[1], here[0] - before[0])
    last = math.atan2(after[1] - here[1], after[0] - here[0])
    return abs((last - first + math.pi) % (2.0 * math.pi) - math.pi)


def _shown(point: Point) -> str:
    return f"{1e3 * point[0]:.3g} mm, {1e3 * point[1]:.3g} mm"
