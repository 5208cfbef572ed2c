"""The elements of a plate as solids in the flow: slabs, how they move, where their loads go.

A slab moves as its element does as a whole, by the mean of its corners and the turning of its
mid-lines. Its load goes to the four corners as the work of that motion asks, so that force and
moment are handed on whole.
"""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.mechanics.plate import CORNERS
from simsoft.resolved.coupling import Places
from simsoft.resolved.pieces import CLAMP, Pieces, form, no_pieces
from simsoft.resolved.solids import SEAM, SLAB

EDGE = 0.15  # of the thickness, rounding of the rim, as of a rod's lengths
ROWS = 4  # of the table that belong to a slab: its corners


def element_axes(corners: Array) -> tuple[Array, Array, Array, Array]:
    """Return middles (E, 3), axes (E, 3, 3) as columns and the mid-lines (E, 3) of elements.

    ``corners`` (E, 4, 3) [m]. Axis 1 goes along the first mid-line, axis 3 is normal to both.
    """
    first = 0.5 * np.einsum("a,eai->ei", CORNERS[:, 0], corners)
    second = 0.5 * np.einsum("a,eai->ei", CORNERS[:, 1], corners)
    along = first / np.linalg.norm(first, axis=1)[:, None]
    normal = np.cross(first, second)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    axes = np.stack([along, np.cross(normal, along), normal], axis=2)
    return corners.mean(axis=1), axes, first, second


def spin_rows(axes: Array, first: Array, second: Array) -> Array:
    """Return the map (E, 3, 2, 3) from the rates of both mid-lines to an element's spin.

    The spin is in the element's axes; that of an element that turns as a whole is met exactly.
    """
    length = np.linalg.norm(first, axis=1)
    lean = np.einsum("ei,ei->e", second, axes[:, :, 0])
    width = np.einsum("ei,ei->e", second, axes[:, :, 1])
    rows = np.zeros((len(axes), 3, 2, 3))
    rows[:, 0, 1] = axes[:, :, 2] / width[:, None]
    rows[:, 0, 0] = -axes[:, :, 2] * (lean / (length * width))[:, None]
    rows[:, 1, 0] = -axes[:, :, 2] / length[:, None]
    rows[:, 2, 0] = axes[:, :, 1] / length[:, None]
    return rows


def ride_slabs(quads: Integers, root: Array, place: Array, rate: Array, pieces: Pieces) -> Places:
    """Return where the solids on elements and clamp are.

    Parameters
    ----------
    quads : int array (E, 4)
    root : array (3,) [m], from which places count
    place, rate : array (n, 3) [m], [m/s], of the nodes
    pieces : Pieces
    """
    ridden = pieces.link != CLAMP
    centre, axes = pieces.offset.copy(), pieces.axes.copy()
    velocity, spin = np.zeros_like(centre), np.zeros_like(centre)
    own_quads = quads[pieces.link[ridden]]
    middle, own, first, second = element_axes(place[own_quads])
    rates = rate[own_quads]
    lines = 0.5 * np.einsum("ak,eai->eki", CORNERS, rates)
    turning = np.einsum("eckj,ekj->ec", spin_rows(own, first, second), lines)
    arm = np.einsum("eij,ej->ei", own, pieces.offset[ridden])
    centre[ridden] = root + middle + arm
    axes[ridden] = own @ pieces.axes[ridden]
    spin[ridden] = np.einsum("eij,ej->ei", own, turning)
    velocity[ridden] = rates.mean(axis=1) + np.cross(spin[ridden], arm)
    return Places(centre, axes, velocity, spin)


def loads_on_nodes(quads: Integers, place: Array, pieces: Pieces, loads: Array) -> Array:
    """Return the loads of the solids as forces (n, 3) [N] on the nodes, places (n, 3) [m].

    ``loads`` (P, 6) are force and moment about the solids' centres in the world. A force is shared
    by the four corners of its element, a moment pulls its mid-lines apart.
    """
    ridden = pieces.link != CLAMP
    own_quads = quads[pieces.link[ridden]]
    _, own, first, second = element_axes(place[own_quads])
    arm = np.einsum("eij,ej->ei", own, pieces.offset[ridden])
    force = loads[ridden, :3]
    moment = loads[ridden, 3:] + np.cross(arm, force)
    local = np.einsum("eij,ei->ej", own, moment)
    pull = np.einsum("eckj,ec->ekj", spin_rows(own, first, second), local)
    share = 0.25 * force[:, None] + 0.5 * np.einsum("ak,ekj->eaj", CORNERS, pull)
    total = np.zeros_like(place)
    np.add.at(total, own_quads, share)
    return total


def sheet_pieces(quads: Integers, state: Array, thickness: Array) -> Pieces:
    """Return a slab for each element of a moulded sheet.

    Parameters
    ----------
    quads : int array (E, 4), counter-clockwise
    state : array (n, 6), places and directors as moulded
    thickness : array (E,) [m]

    Returns
    -------
    Pieces
        Sides that two elements share are seams: no groove is left between them.
    """
    corners = state[quads, :3]
    middle, axes, _, _ = element_axes(corners)
    local = np.einsum("eaj,ejk->eak", corners - middle[:, None], axes)
    inner = _shared(quads)
    rows, forms = [], []
    for k in range(len(quads)):
        edge = EDGE * float(thickness[k])
        reach = np.abs(local[k, :, :2]).max(axis=0) + 0.5 * SEAM * float(thickness[k])
        solid = form(SLAB, float(reach[0]), float(reach[1]), 0.5 * float(thickness[k]), edge)
        forms.append(solid._replace(first=float(1 + ROWS * k), rows=float(ROWS)))
        rows.append(np.column_stack([local[k, :, :2], inner[k]]))
    count = len(quads)
    return no_pieces()._replace(
        forms=np.array(forms),
        link=np.arange(count),
        offset=np.zeros((count, 3)),
        axes=np.repeat(np.eye(3)[None], count, axis=0),
        table=np.vstack([np.zeros((1, 3)), *rows]),
    )


def _shared(quads: Integers) -> Array:
    """Return whether each side (E, 4) of elements, from its corner to the next, has a neighbour."""
    sides = np.sort(np.stack([quads, np.roll(quads, -1, axis=1)], axis=2), axis=2).reshape(-1, 2)
    _, inverse, count = np.unique(sides, axis=0, return_inverse=True, return_counts=True)
    return (count[inverse.ravel()] > 1).astype(float).reshape(quads.shape)
