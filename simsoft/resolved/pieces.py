"""The solids of a job: what is rigid with the clamp and what rides on the links of a rod."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from simsoft.core.arrays import Array
from simsoft.resolved.solids import BODY, BOX, CYLINDER, DISC, ENDLESS, SLAB, Form, Single

Links = npt.NDArray[np.int64]

CLAMP = -1  # link of a solid that is rigid with the clamp
BODY_LINK = 0  # link of a solid that is part of a free body
THINNEST = 1.5  # [cells] of a slab: links of the lattice are up to root two long, none may pass


class Pieces(NamedTuple):
    """Solids in SI units.

    Attributes
    ----------
    forms : array (P, 8) [m], see ``solids.Form``
    link : array (P,), link of the rod or element of the sheet that carries the solid, ``CLAMP``
        for none; ``BODY_LINK`` on a free body
    offset : array (P, 3) [m], its centre from the link's node in the node frame; of a solid on the
        clamp, from the origin in the world
    axes : array (P, 3, 3), its axes as columns in the node frame; on the clamp in the world
    table : array (rows, 3) [m], sections of bodies
    """

    forms: Array
    link: Links
    offset: Array
    axes: Array
    table: Array


def ball_radius(kind: int, a: float, b: float, c: float) -> float:
    """Return the radius [m] of a ball about the centre that holds a solid."""
    if kind == CYLINDER:
        return ENDLESS
    if kind in (BOX, DISC, BODY, SLAB):
        return float(np.sqrt(a * a + b * b + c * c))
    return max(a, b, c)


def form(kind: int, a: float, b: float, c: float, rounding: float = 0.0) -> Form:
    """Return a solid from its half sizes [m]."""
    return Form(kind, a, b, c, rounding, 0.0, 0.0, ball_radius(kind, a, b, c))


def no_pieces() -> Pieces:
    """Return an empty set of solids."""
    return Pieces(
        np.zeros((0, 8)),
        np.zeros(0, np.int64),
        np.zeros((0, 3)),
        np.zeros((0, 3, 3)),
        np.zeros((1, 3)),
    )


def with_piece(
    pieces: Pieces, solid: Form | Array, link: int, offset: Array, axes: Array
) -> Pieces:
    """Return the solids with one more."""
    return pieces._replace(
        forms=np.vstack([pieces.forms, [solid]]),
        link=np.append(pieces.link, link),
        offset=np.vstack([pieces.offset, [offset]]),
        axes=np.concatenate([pieces.axes, [axes]]),
    )


def with_body(
    pieces: Pieces,
    nose: Array,
    half_width: Array,
    half_height: Array,
    middle: Array,
    length: float,
    link: int = CLAMP,
) -> Pieces:
    """Return the solids with a body, its axis along x of the world or of what carries it.

    ``nose`` (3,) [m] is where it begins; the sections [m] are evenly spaced over ``length`` [m].
    """
    first = len(pieces.table)
    rows = np.column_stack([half_width, half_height, middle])
    b, c = float(half_width.max()), float((half_height + np.abs(middle)).max())
    solid = form(BODY, 0.5 * length, b, c)._replace(first=float(first), rows=float(len(rows)))
    grown = pieces._replace(table=np.vstack([pieces.table, rows]))
    middle_of_it = nose + np.array([0.5 * length, 0.0, 0.0])
    return with_piece(grown, solid, link, middle_of_it, np.eye(3))


def in_cells(pieces: Pieces, cell: float) -> tuple[Single, Single]:
    """Return forms and section table in cells of a size [m], single precision.

    A slab is made thick enough that the flow cannot pass through it.
    """
    forms = pieces.forms.copy()
    forms[:, 1:5] /= cell
    forms[:, 7] = np.where(forms[:, 7] < ENDLESS, forms[:, 7] / cell, ENDLESS)
    thin = np.where(forms[:, 0] == SLAB, np.maximum(0.5 * THINNEST - forms[:, 3], 0.0), 0.0)
    forms[:, 3] += thin
    forms[:, 7] += thin
    return forms.astype(np.float32), (pieces.table / cell).astype(np.float32)
