"""Quadrilaterals on an outline: a lattice and the rim, triangles joined in pairs, all divided.

The corners of the rim and a square lattice inside are joined to triangles (Delaunay); triangles
that make a good quadrilateral together are joined; every piece is divided through its middle and
the middles of its sides, which leaves quadrilaterals alone. Common practice in meshing, from
memory.
"""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array, Integers

CLEAR = 0.6  # of a side, nearest that a lattice point comes to the rim
WORST = 0.25  # quality below which two triangles stay apart; 1 is a square
ROUNDS = 12  # of smoothing
SPLITS = 12  # of the rim, until the triangles follow it
SPLIT_SIDES = 6  # times as many sides as the rim had: past that it is a thicket


def quads_between(rings: list[Array], side: float) -> tuple[Array, Integers]:
    """Return nodes (n, 2) and quadrilaterals (E, 4), counter-clockwise.

    Parameters
    ----------
    rings : list of arrays (m, 2), the outline first, then holes; every point becomes a node
    side : float, of a quadrilateral aimed at; sides of the rim are cut to twice that

    Raises
    ------
    ValueError
        If the outline cannot be meshed.
    """
    coarse = 2.0 * side
    rims = [_cut_to(np.asarray(ring, dtype=np.float64), coarse) for ring in rings]
    most = SPLIT_SIDES * sum(map(len, rims))
    for _ in range(SPLITS):
        nodes, triangles = _triangles(rims, coarse)
        rims, split = _split_where_missed(rims, triangles)
        if not split:
            break
        if sum(map(len, rims)) > most:
            raise ValueError("the outline is too fine for this mesh; ask for more elements")
    else:
        raise ValueError("the outline is too fine for this mesh; ask for more elements")
    rim_count = sum(len(rim) for rim in rims)
    nodes = _smoothed(nodes, [triangles], rim_count)
    pairs, single = _joined(nodes, triangles)
    plan, quads, on_rim = _divided(nodes, pairs, single)
    plan = _smoothed(plan, [quads], 0, np.flatnonzero(on_rim))
    if not len(quads) or (_areas(plan, quads) <= 0.0).any():
        raise ValueError("the mesher left a folded quadrilateral; ask for more elements")
    return plan, quads


def _cut_to(ring: Array, longest: float) -> Array:
    """Return a closed ring with its long sides cut evenly."""
    pieces = []
    for here, ahead in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        count = max(1, round(float(np.linalg.norm(ahead - here)) / longest))
        share = np.arange(count)[:, None] / count
        pieces.append(here + share * (ahead - here))
    return np.concatenate(pieces)


def _inside(rims: list[Array], points: Array) -> Array:
    """Tell which points lie between the rims, by crossings of a ray."""
    order = np.argsort(points[:, 1])
    x, y = points[order].T
    odd = np.zeros(len(points), dtype=bool)
    for rim in rims:
        ahead = np.roll(rim, -1, axis=0)
        level = np.stack([rim[:, 1], ahead[:, 1]])
        # a side is crossed by the rays of points at its own heights alone
        first, last = np.searchsorted(y, [level.min(axis=0), level.max(axis=0)])
        for (ax, ay), (bx, by), i, j in zip(rim, ahead, first, last, strict=True):
            if i < j:
                odd[i:j] ^= x[i:j] < (bx - ax) * (y[i:j] - ay) / (by - ay) + ax
    result = np.empty_like(odd)
    result[order] = odd
    return result


def _triangles(rims: list[Array], side: float) -> tuple[Array, Integers]:
    """Return the rims' points and a lattice inside, and the triangles between them."""
    from scipy.spatial import Delaunay, cKDTree  # a quarter of a second that rods do without

    rim = np.concatenate(rims)
    low, high = rim.min(axis=0), rim.max(axis=0)
    counts = np.maximum(np.round((high - low) / side).astype(int), 1)
    steps = (high - low) / counts
    axes = [low[k] + steps[k] * np.arange(1, counts[k]) for k in range(2)]
    lattice = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    lattice = lattice[_inside(rims, lattice)]
    fine = np.concatenate([_cut_to(one, 0.25 * side) for one in rims])
    lattice = lattice[cKDTree(fine).query(lattice)[0] > CLEAR * side] if len(lattice) else lattice
    nodes = np.vstack([rim, lattice])
    found = Delaunay(nodes).simplices.astype(np.int64)
    found = found[_inside(rims, nodes[found].mean(axis=1))]
    a, b, c = (nodes[found[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    found = found[np.abs(area) > 1e-9 * side**2]
    turned = area[np.abs(area) > 1e-9 * side**2] < 0.0
    found[turned] = found[turned][:, ::-1]
    return nodes, found


def _split_where_missed(rims: list[Array], triangles: Integers) -> tuple[list[Array], bool]:
    """Halve every side of the rims that no triangle has for an edge."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    there = {tuple(edge) for edge in np.sort(edges, axis=1).tolist()}
    result, split, start = [], False, 0
    for rim in rims:
        count = len(rim)
        points = []
        for k in range(count):
            points.append(rim[k])
            one, other = start + k, start + (k + 1) % count
            if (min(one, other), max(one, other)) not in there:
                points.append(0.5 * (rim[k] + rim[(k + 1) % count]))
                split = True
        result.append(np.array(points))
        start += count
    return result, split


def _joined(nodes: Array, triangles: Integers) -> tuple[Integers, Integers]:
    """Return quadrilaterals of two triangles each, the best first, and triangles left alone."""
    sides: dict[tuple[int, int], list[int]] = {}
    for number, corners in enumerate(triangles.tolist()):
        for k in range(3):
            one, other = corners[k], corners[(k + 1) % 3]
            sides.setdefault((min(one, other), max(one, other)), []).append(number)
    candidates = []
    for (one, other), owners in sides.items():
        if len(owners) == 2:
            first = triangles[owners[0]].tolist()
            k = next(k for k in range(3) if {first[k], first[(k + 1) % 3]} == {one, other})
            tip = next(v for v in triangles[owners[1]].tolist() if v not in (one, other))
            quad = [first[k], tip, first[(k + 1) % 3], first[(k + 2) % 3]]
            candidates.append((_quality(nodes[quad]), owners, quad))
    candidates.sort(key=lambda item: -item[0])
    free = np.ones(len(triangles), dtype=bool)
    pairs = []
    for quality, (one, other), quad in candidates:
        if quality > WORST and free[one] and free[other]:
            free[[one, other]] = False
            pairs.append(quad)
    return np.array(pairs, dtype=np.int64).reshape(-1, 4), triangles[free]


def _quality(corners: Array) -> float:
    """Return the smallest sine of a quadrilateral's corners; negative where one is bent in."""
    ahead = np.roll(corners, -1, axis=0) - corners
    back = np.roll(corners, 1, axis=0) - corners
    cross = ahead[:, 0] * back[:, 1] - ahead[:, 1] * back[:, 0]
    size = np.linalg.norm(ahead, axis=1) * np.linalg.norm(back, axis=1)
    return float((cross / np.maximum(size, 1e-300)).min())


def _divided(nodes: Array, pairs: Integers, single: Integers) -> tuple[Array, Integers, Array]:
    """Divide every piece through its middle; tell which nodes lie on the rim."""
    points = list(nodes)
    middles: dict[tuple[int, int], int] = {}
    uses: dict[tuple[int, int], int] = {}
    quads = []

    def middle(one: int, other: int) -> int:
        key = (min(one, other), max(one, other))
        uses[key] = uses.get(key, 0) + 1
        if key not in middles:
            middles[key] = len(points)
            points.append(0.5 * (nodes[one] + nodes[other]))
        return middles[key]

    for corners in [*pairs.tolist(), *single.tolist()]:
        count = len(corners)
        sides = [middle(corners[k], corners[(k + 1) % count]) for k in range(count)]
        centre = len(points)
        points.append(nodes[corners].mean(axis=0))
        quads += [[corners[k], sides[k], centre, sides[k - 1]] for k in range(count)]
    on_rim = np.zeros(len(points), dtype=bool)
    for (one, other), count in uses.items():
        if count == 1:
            on_rim[[one, other, middles[(one, other)]]] = True
    used, packed = np.unique(np.array(quads), return_inverse=True)
    return np.array(points)[used], packed.reshape(-1, 4).astype(np.int64), on_rim[used]


def _smoothed(
    nodes: Array, cells: list[Integers], fixed: int, held: Integers | None = None
) -> Array:
    """Move free nodes toward the middle of their neighbours, where no cell folds by that."""
    mesh = cells[0]
    count = mesh.shape[1]
    free = np.arange(len(nodes)) >= fixed
    if held is not None:
        free[held] = False
    one = np.concatenate([mesh[:, k] for k in range(count)])
    other = np.concatenate([mesh[:, (k + 1) % count] for k in range(count)])
    ends, others = np.concatenate([one, other]), np.concatenate([other, one])
    degree = np.bincount(ends, minlength=len(nodes))
    result = nodes.copy()
    for _ in range(ROUNDS):
        total = np.column_stack(
            [np.bincount(ends, result[others, k], minlength=len(nodes)) for k in range(2)]
        )
        aim = np.where(
            (free & (degree > 0))[:, None], total / np.maximum(degree, 1)[:, None], result
        )
        step = np.full(len(nodes), 0.7)
        for _ in range(4):
            trial = result + step[:, None] * (aim - result)
            bad = mesh[_areas(trial, mesh) <= 0.1 * np.abs(_areas(result, mesh))]
            if not len(bad):
                break
            step[np.unique(bad)] = 0.0
        else:
            return result
        result = trial
    return result


def _areas(nodes: Array, cells: Integers) -> Array:
    """Return the smallest corner triangle of every cell, twice its area."""
    count = cells.shape[1]
    found = []
    for k in range(count):
        a, b, c = (nodes[cells[:, (k + shift) % count]] for shift in (-1, 0, 1))
        found.append(
            (b[:, 0] - a[:, 0]) * (c[:, 1] - b[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - b[:, 0])
        )
    return np.asarray(np.min(found, axis=0))
