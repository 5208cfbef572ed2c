"""Doublet panels of zero thickness on a flat planform: added mass of any outline.

A plate that moves across itself carries a jump mu of the velocity potential; a panel of constant
jump is a ring of vortex along its sides, and the rings together must give the plate's velocity at
the panels' middles: H mu = w. The sides are straight and lie in the plane, so each has the closed
form of Biot and Savart. The pressure's inertia part is rho d(mu)/dt, the added mass
rho sum(area mu w).

A lattice of rings acts as a plate that reaches a quarter of a panel past its outer rings (the
inset of vortex lattices, Hough 1973, J. Aircraft 10:314, from memory): the outer rings are drawn
in by a quarter of their depth, and the inner ones follow evenly. The error then falls with the
second power of the panel's size.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel

INSET = 0.25  # of the depth of an outer panel


def sides_of(quads: Integers) -> tuple[Integers, Integers]:
    """Return the sides (S, 2) of panels, and the panels (S, 2) left and right of each.

    The panel on the left runs along the side from its first node to its second; right of a
    side on the outline there is none, -1.
    """
    first = quads.ravel()
    last = np.roll(quads, -1, axis=1).ravel()
    owner = np.repeat(np.arange(len(quads)), 4)
    key = np.sort(np.column_stack([first, last]), axis=1)
    _, start, inverse, count = np.unique(
        key, axis=0, return_index=True, return_inverse=True, return_counts=True
    )
    if count.max() > 2:
        raise ValueError("a side belongs to more than two panels")
    sides = np.column_stack([first, last])[start]
    panels = np.full((len(sides), 2), -1, dtype=np.int64)
    panels[:, 0] = owner[start]
    second = np.ones(len(first), dtype=bool)
    second[start] = False
    panels[np.asarray(inverse).ravel()[second], 1] = owner[second]
    return sides.astype(np.int64), panels


def drawn_in(plan: Array, quads: Integers) -> Array:
    """Return the nodes (n, 2) of the ring lattice: outline drawn in, inner nodes following.

    Parameters
    ----------
    plan : array (n, 2) [m]
    quads : int array (E, 4), counter-clockwise
    """
    sides, panels = sides_of(quads)
    edge = panels[:, 1] < 0
    along = plan[sides[edge, 1]] - plan[sides[edge, 0]]
    length = np.linalg.norm(along, axis=1)
    inward = np.column_stack([-along[:, 1], along[:, 0]]) / length[:, None]
    corner = plan[quads[panels[edge, 0]]]
    depth = panel_areas(corner) / length
    # the inner panels shrink in step, so that a quarter of the final depth is left outside
    span = panel_areas(plan[quads]).sum() / float(np.ptp(plan, axis=0).max())
    shift = _outline_shift(sides[edge], inward, INSET * depth / (1.0 + 0.5 * depth / span))
    return plan + _followed(plan, sides, shift)


def panel_areas(corner: Array) -> Array:
    """Return the areas [m^2] of quadrilaterals (E, 4, 2), positive counter-clockwise."""
    a = corner[:, 2] - corner[:, 0]
    b = corner[:, 3] - corner[:, 1]
    return np.asarray(0.5 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]))


def _outline_shift(sides: Integers, inward: Array, depth: Array) -> dict[int, Array]:
    """Return the shift (2,) of every outline node that moves its two sides in by ``depth``."""
    rows: dict[int, list[int]] = {}
    for k, (a, b) in enumerate(sides):
        rows.setdefault(int(a), []).append(k)
        rows.setdefault(int(b), []).append(k)
    result: dict[int, Array] = {}
    for node, own in rows.items():
        normal, wanted = inward[own], depth[own]
        # sides nearly in line would make the corner's equations singular: least squares
        result[node] = np.asarray(np.linalg.lstsq(normal, wanted, rcond=0.2)[0], dtype=float)
    return result


def _followed(plan: Array, sides: Integers, shift: dict[int, Array]) -> Array:
    """Return the shift of all nodes, harmonic between those of the outline."""
    nodes = len(plan)
    weight = 1.0 / np.linalg.norm(plan[sides[:, 1]] - plan[sides[:, 0]], axis=1)
    a, b = sides[:, 0], sides[:, 1]
    rows = np.concatenate([a, b, a, b])
    columns = np.concatenate([b, a, a, b])
    values = np.concatenate([-weight, -weight, weight, weight])
    graph = coo_matrix((values, (rows, columns)), shape=(nodes, nodes)).tocsr()
    result = np.zeros((nodes, 2))
    fixed = np.array(sorted(shift))
    result[fixed] = [shift[int(n)] for n in fixed]
    inner = np.setdiff1d(np.arange(nodes), fixed)
    if inner.size:
        solve = splu(graph[inner][:, inner].tocsc()).solve
        result[inner] = solve(-graph[inner][:, fixed] @ result[fixed])
    return result


@kernel()
def side_influence(point: Array, first: Array, last: Array) -> Array:
    """Return the velocity [1/m] across the plane at points (P, 2) of unit vortices on sides (S, 2).

    Positive left of a side. Biot and Savart for a straight piece, in the form that has no
    singularity beyond its ends (Katz & Plotkin, Low-Speed Aerodynamics, section 10.4.5).
    """
    result = np.empty((point.shape[0], first.shape[0]))
    for i in range(point.shape[0]):
        for j in range(first.shape[0]):
            ax, ay = point[i, 0] - first[j, 0], point[i, 1] - first[j, 1]
            bx, by = point[i, 0] - last[j, 0], point[i, 1] - last[j, 1]
            a, b = math.sqrt(ax * ax + ay * ay), math.sqrt(bx * bx + by * by)
            cross = ax * by - ay * bx
            result[i, j] = cross * (a + b) / (4.0 * math.pi * a * b * (a * b + ax * bx + ay * by))
    return result


def ray_influence(point: Array, start: Array, direction: Array) -> Array:
    """Return the velocity [1/m] at points (P, 2) of unit vortices from ``start`` (S, 2) onward.

    ``direction`` (2,) is their common unit vector; positive left of a ray.
    """
    gap = point[:, None] - start[None]
    distance = np.linalg.norm(gap, axis=2)
    cross = direction[0] * gap[..., 1] - direction[1] * gap[..., 0]
    return np.asarray(cross / (4.0 * math.pi * distance * (distance - gap @ direction)))


class Panels(NamedTuple):
    """A planform's lattice of rings.

    Attributes
    ----------
    sides : int array (S, 2), nodes of the sides
    neighbours : int array (S, 2), panels left and right, -1 off the plate
    ring : array (n, 2) [m], nodes of the drawn-in lattice
    middle : array (E, 2) [m], middles of its panels
    area : array (E,) [m^2]
    influence : array (E, E) [1/m], normal velocity at panel i of a unit jump on panel j
    """

    sides: Integers
    neighbours: Integers
    ring: Array
    middle: Array
    area: Array
    influence: Array


def make_panels(plan: Array, quads: Integers) -> Panels:
    """Return the ring lattice of a planform of quadrilaterals.

    Parameters
    ----------
    plan : array (n, 2) [m]
    quads : int array (E, 4), counter-clockwise
    """
    sides, neighbours = sides_of(quads)
    ring = drawn_in(plan, quads)
    middle = ring[quads].mean(axis=1)
    by_side = side_influence(middle, ring[sides[:, 0]], ring[sides[:, 1]])
    turn = _incidence(neighbours, len(quads))
    return Panels(
        sides, neighbours, ring, middle, panel_areas(ring[quads]), np.asarray(by_side @ turn)
    )


def _incidence(neighbours: Integers, panels: int) -> coo_matrix:
    """Return the matrix (S, E): 1 where a panel is left of a side, -1 where it is right."""
    rows = np.arange(len(neighbours))
    inner = neighbours[:, 1] >= 0
    return coo_matrix(
        (
            np.concatenate([np.ones(len(rows)), -np.ones(int(inner.sum()))]),
            (
                np.concatenate([rows, rows[inner]]),
                np.concatenate([neighbours[:, 0], neighbours[inner, 1]]),
            ),
        ),
        shape=(len(neighbours), panels),
    ).tocsr()


def panel_added_mass(panels: Panels) -> Array:
    """Return the added mass (E, E) [m^3] of the panels for unit density, symmetric.

    Reciprocity makes the exact operator symmetric; the collocated one is made so.
    """
    jump = np.linalg.inv(panels.influence)
    mass = panels.area[:, None] * jump
    return np.asarray(0.5 * (mass + mass.T))
