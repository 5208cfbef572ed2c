"""A rim bead and a rib on a flat part: sections of a rod, thickness of a plate where it stands.

A bead runs along the free outline, a rib along the middle line; both stand half on each face.
What is between them is a web. A rod takes area, second moments and torsion of the stepped
section; a plate takes means over its elements, of the stiffness along the bead and of the
flexibility across it, so that the mesh need not know of the bead. In twist a bead is a bar and
no part of a wide plate: both models add what its rectangle has more than the web under it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simsoft.case.model import Beads, Part
from simsoft.core.arrays import Array, Integers
from simsoft.geometry.section import Section, section_properties, torsion_constant_rectangle
from simsoft.mechanics.plate import Stepped

CELLS = 4  # along each side of an element, in which the thickness is averaged; even


def highest(beads: Beads) -> float:
    """Return how much [m] a part is thicker where its bead or rib is highest."""
    return max(beads.rim_height, beads.rib_height)


def bead_words(part: Part, model: str) -> str:
    """Return what the model makes of a part's bead and rib, empty where it has none."""
    beads = part.beads
    if not beads:
        return ""
    shown = [
        f"{name} {1e3 * width:.3g} mm wide and {1e3 * height:.3g} mm high"
        for name, width, height in (
            ("rim bead", beads.rim_width, beads.rim_height),
            ("rib", beads.rib_width, beads.rib_height),
        )
        if width > 0.0
    ]
    way = (
        "in the second moments of the rod's sections"
        if model == "rod"
        else "in means of stiffness along them and of flexibility across them over the elements"
    )
    return f"; {' and '.join(shown)}, {way}"


def part_sections(part: Part, width: Array, thickness: Array, share: Array) -> Section:
    """Return the sections of a part with its bead and rib.

    Parameters
    ----------
    part : Part
    width, thickness : array [m], of the web
    share : array [-], places along the length, 0 at the clamp

    Returns
    -------
    Section
        Water is carried as by the flat section, on its edges as by one as thick as the bead.

    Notes
    -----
    The torsion constant is that of the flat section with, for each bead, what its rectangle has
    more than the web under it: exact without beads, screening otherwise.
    """
    flat = section_properties(part.section, width, thickness)
    beads = part.beads
    if not beads:
        return flat
    # the bead along the tip side is as thick all across
    at_tip = share > 1.0 - beads.rim_width / part.length
    rim = np.where(at_tip, 0.5 * width, np.minimum(beads.rim_width, 0.5 * width))
    rib = np.minimum(beads.rib_width, width - 2.0 * rim)
    area, soft, stiff = (
        np.array(flat.area),
        np.array(flat.second_moment_soft),
        np.array(flat.second_moment_stiff),
    )
    inner = width - 2.0 * rim
    for band, height, moment in (
        (2.0 * rim, beads.rim_height, (width**3 - inner**3) / 12.0),
        (rib, beads.rib_height, rib**3 / 12.0),
    ):
        area += band * height
        soft += band * ((thickness + height) ** 3 - thickness**3) / 12.0
        stiff += moment * height
    whole = rim >= 0.5 * width
    side = _more_torsion(np.where(whole, width, rim), thickness, beads.rim_height)
    torsion = flat.torsion_constant + np.where(whole, 1.0, 2.0) * side
    return replace(
        flat,
        area=area,
        second_moment_soft=soft,
        second_moment_stiff=stiff,
        torsion_constant=torsion + _more_torsion(rib, thickness, beads.rib_height),
        added_mass_edge=0.25 * np.pi * (thickness + beads.rim_height) ** 2,
    )


def _more_torsion(band: Array, thickness: Array, height: float) -> Array:
    """Return by how much [m^4] a band's torsion constant grows with a height [m] on it."""
    band = np.maximum(band, 1e-9)
    thick = torsion_constant_rectangle(band, thickness + height)
    return np.asarray(thick - torsion_constant_rectangle(band, thickness))


def stepped(
    part: Part, plan: Array, quads: Integers, thickness: Array, rim: Array, line: Array
) -> Stepped:
    """Return the thickness of a plate with a bead or rib, as means over its elements.

    Parameters
    ----------
    part : Part, with a bead or rib
    plan : array (n, 2) [m]
    quads : int array (E, 4)
    thickness : array (n,) [m], of the web
    rim : array (S, 2, 2) [m], sides of the outline that carry the bead
    line : array (rows, 2) [m], middle line, under the rib
    """
    beads = part.beads
    point, web = _lattice(plan[quads]), _lattice(thickness[quads][..., None])[..., 0]
    to_rim = _distance(point, rim)
    to_line = _distance(point, np.stack([line[:-1], line[1:]], axis=1))
    covered, rib = _covered(to_rim, beads.rim_width), _covered(to_line, 0.5 * beads.rib_width)
    # where both stand, the higher one is seen
    if beads.rim_height >= beads.rib_height:
        rib = np.minimum(rib, 1.0 - covered)
    else:
        covered = np.minimum(covered, 1.0 - rib)
    cell = 0.25 * (web[:, :-1, :-1] + web[:, 1:, :-1] + web[:, :-1, 1:] + web[:, 1:, 1:])
    mean, cube, twist = cell.copy(), cell**3, cell**3
    soft = (1.0 - covered - rib) / cell**3
    for share, width, height in (
        (covered, beads.rim_width, beads.rim_height),
        (rib, beads.rib_width, beads.rib_height),
    ):
        mean += share * height
        cube += share * ((cell + height) ** 3 - cell**3)
        soft += share / (cell + height) ** 3
        if width > 0.0:
            twist += share * 3.0 * _more_torsion(np.full_like(cell, width), cell, height) / width
    by_rib = rib.sum(axis=(1, 2)) > covered.sum(axis=(1, 2))
    return Stepped(
        thickness=_quarters(mean),
        cube=_quarters(cube),
        across=1.0 / soft.mean(axis=(1, 2)),
        twist=_quarters(twist),
        normal=_across(point, np.where(by_rib[:, None, None], to_line, to_rim)),
    )


def _across(point: Array, distance: Array) -> Array:
    """Return unit vectors (E, 2) along which distances grow over the elements' lattices."""
    place = point.reshape(len(point), -1, 2)
    place = place - place.mean(axis=1, keepdims=True)
    flat = distance.reshape(len(point), -1)
    slope = np.einsum("epi,ep->ei", place, flat - flat.mean(axis=1, keepdims=True))
    spread = np.einsum("epi,epj->eij", place, place)
    slope = np.linalg.solve(spread, slope[..., None])[..., 0]
    size = np.linalg.norm(slope, axis=1, keepdims=True)
    # an element that a middle line halves has no slope: across the part then
    return np.where(size > 1e-9, slope / np.maximum(size, 1e-300), np.array([0.0, 1.0]))


def _lattice(corner: Array) -> Array:
    """Return values (E, CELLS + 1, CELLS + 1, k) on a lattice, bilinear from corners (E, 4, k)."""
    t = np.linspace(0.0, 1.0, CELLS + 1)
    one, other = np.meshgrid(t, t, indexing="ij")
    weight = np.stack([(1 - one) * (1 - other), one * (1 - other), one * other, (1 - one) * other])
    return np.asarray(np.einsum("aij,eak->eijk", weight, corner))


def _distance(point: Array, sides: Array) -> Array:
    """Return the distance [m] of points (..., 2) from the nearest of some sides (S, 2, 2)."""
    flat = point.reshape(-1, 2)
    best = np.full(len(flat), np.inf)
    for start, end in sides:
        way = end - start
        share = (flat - start) @ way / max(float(way @ way), 1e-300)
        foot = start + np.clip(share, 0.0, 1.0)[:, None] * way
        best = np.minimum(best, np.hypot(*(flat - foot).T))
    return best.reshape(point.shape[:-1])


def _covered(distance: Array, reach: float) -> Array:
    """Return the share of each lattice cell within ``reach`` [m], distances straight across it."""
    if reach <= 0.0:
        return np.zeros_like(distance[:, 1:, 1:])
    corner = np.stack(
        [distance[:, :-1, :-1], distance[:, 1:, :-1], distance[:, :-1, 1:], distance[:, 1:, 1:]]
    )
    low, high = corner.min(axis=0), corner.max(axis=0)
    return np.asarray(np.clip((reach - low) / np.maximum(high - low, 1e-300), 0.0, 1.0))


def _quarters(cell: Array) -> Array:
    """Return the means (E, 4) of lattice cells by quarter, in the order of the Gauss points."""
    half = CELLS // 2
    first, last = slice(0, half), slice(half, CELLS)
    order = ((first, first), (last, first), (last, last), (first, last))
    return np.stack([cell[:, i, j].mean(axis=(1, 2)) for i, j in order], axis=1)
