"""From a mesh file to what was understood of the bait in it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from simsoft.case.shapes.mesh_file import NEEDS, RawMesh, read_mesh
from simsoft.case.shapes.mesh_index import used
from simsoft.case.shapes.mesh_repair import repaired
from simsoft.case.shapes.slices import middles, slices, span, turned_solid
from simsoft.case.units import convert
from simsoft.case.wording import printable
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.drawn.orient import turned_to_case
from simsoft.drawn.parts import parts_of
from simsoft.drawn.shapes import Understood
from simsoft.drawn.solid import arrays, face_normals
from simsoft.drawn.stem import second_moment, stem_and_plate
from simsoft.drawn.thin import thin_parts
from simsoft.drawn.trunk import trunk_of

UNITS = ("mm", "cm", "m", "inch", "um", "ft")
# Baits are 20 to 300 mm long (common practice, no source); numbers between are in doubt.
SURE_MM, SURE_M = (15.0, 600.0), (0.015, 0.45)
LONGEST, SHORTEST = 1000.0, 8.0  # mm, beyond which a mesh is no bait
CUTS = 400
MOULD = 0.93  # of the box about it: the hull of a block
LOOKS = 80  # sections in a first look
MOST_LOOPS = 25  # of a section in the mean; ribs and claws make two, a skirt of 40 tails 20
MOST_CORNERS = 3000  # the same; a bait of 200,000 faces has 400
CROSSED = 0.1  # of the volume; 0.011 is the most of 33 sound baits, whole, scanned or torn
APART = 0.05  # of the whole volume, in pieces that do not touch the largest


def understand(
    path: Path, *, nose: str | None = None, up: str | None = None, unit: str | None = None
) -> Understood:
    """Return what a mesh file holds.

    Parameters
    ----------
    path : Path
    nose, up : str or None, axes of the file, such as '+x'; None to find them
    unit : str or None, of the file's numbers; None to take what it states or its size tells

    Raises
    ------
    InputError
        One line: the file cannot be read, holds no single bait, or cannot tell something.
    """
    shown = printable(str(path))
    raw = read_mesh(path)
    try:
        return _understood(path.name, raw, nose, up, unit)
    except ImportError:
        raise InputError(f"{shown}: {NEEDS}") from None
    except ValueError as problem:
        raise InputError(f"{shown}: {problem}") from None


def _understood(
    name: str, raw: RawMesh, nose: str | None, up: str | None, unit: str | None
) -> Understood:
    size = float(np.ptp(raw.points[used(raw.faces)], axis=0).max())
    if size <= 0.0:
        raise ValueError("has no size; a closed mesh of one bait is needed")
    unit = _unit_of(size, raw.unit, unit)
    points = raw.points * convert(1.0, unit, "mm")
    mended = repaired(points, raw.faces)
    solid, notes = _single(mended.solid)
    _refuse_mould(solid)
    _refuse_torn(solid)
    lying = turned_to_case(solid, nose, up)
    solid = lying.solid
    high = span(solid)[1]
    x = middles(0.0, high, CUTS)
    stem = stem_and_plate(solid, x, second_moment(solid, x))
    bare = solid
    if stem is not None:
        bare = solid.trim_by_plane((-1.0, 0.0, 0.0), -float(stem.position[0]))
        bare = max(bare.decompose(), key=lambda p: p.volume())
    parts, trunk, more = parts_of(bare, thin_parts(bare), high, stem is not None)
    if stem is not None:
        parts.insert(0, stem)
    return Understood(
        name=name,
        digest=raw.digest,
        unit=unit,
        solid=solid,
        axes=lying.axes,
        origin=lying.origin,
        trunk=trunk_of(trunk, parts),
        parts=tuple(parts),
        notes=(*mended.notes, *notes, *lying.notes, *more),
        nose=nose or "",
        up=up or "",
        noise=roughness(solid),
    )


def _unit_of(size: float, stated: str, asked: str | None) -> str:
    """Return the unit of a mesh whose largest size is ``size`` in it.

    Raises
    ------
    ValueError
        The unit is unknown, makes no bait, or cannot be told.
    """
    if asked is not None and asked not in UNITS:
        raise ValueError(f"`--unit {asked}` is not known; allowed are {', '.join(UNITS)}")
    unit = asked or stated
    if unit:
        long = size * convert(1.0, unit, "mm")
        if not SHORTEST <= long <= LONGEST:
            raise ValueError(
                f"is {long:.4g} mm long in {unit}; a bait of {SHORTEST:g} to {LONGEST:g} mm is "
                "allowed, say another --unit"
            )
        return unit
    if SURE_MM[0] <= size <= SURE_MM[1]:
        return "mm"
    if SURE_M[0] <= size <= SURE_M[1]:
        return "m"
    raise ValueError(
        f"which unit are its numbers in? The mesh is {size:.4g} long; say --unit "
        + ("inch or cm" if 0.45 < size < 15.0 else f"one of {', '.join(UNITS)}")
    )


def _single(solid: Any) -> tuple[Any, list[str]]:
    """Return the one body of a solid and notes; crumbs are dropped.

    Raises
    ------
    ValueError
        It holds several baits, or a bait in pieces.
    """
    pieces = sorted(solid.decompose(), key=lambda p: -p.volume())
    if len(pieces) == 1:
        return pieces[0], []
    whole = sum(p.volume() for p in pieces)
    if whole - pieces[0].volume() > APART * whole:
        alike = sum(p.volume() > 0.5 * pieces[0].volume() for p in pieces)
        if alike > 1:
            raise ValueError(f"holds {alike} separate baits; export one")
        raise ValueError(f"falls into {len(pieces)} pieces that do not touch; join them in CAD")
    return pieces[0], [f"{len(pieces) - 1} loose crumbs were left out"]


def _refuse_mould(solid: Any) -> None:
    """Refuse a block with a cavity: its hull is a box that the solid does not fill."""
    if _most_of_box(arrays(solid)[0]) < MOULD:
        return
    hull = solid.hull()
    box = np.array(hull.bounding_box())
    room = float(np.prod(box[3:] - box[:3]))
    hollow = solid.volume() / hull.volume()
    if hull.volume() > MOULD * room and hollow < 0.97:
        raise ValueError(
            "is a block with a cavity, such as a mould half; the bait itself is needed"
        )


def _most_of_box(points: Array) -> float:
    """Return the most of the box about points (n, 3) that their hull may fill, without the hull.

    The plane square to a corner's diagonal that the points just reach cuts off a tetrahedron,
    which in a cube of size 1 and at most half of it from the corner meets no other.
    """
    low = points.min(axis=0)
    cube = (points - low) / (points.max(axis=0) - low) - 0.5
    corners = np.stack(np.meshgrid(*[[-1.0, 1.0]] * 3), axis=-1).reshape(-1, 3)
    short = np.array([1.5 - (cube @ corner).max() for corner in corners])
    return float(1.0 - (np.clip(short, 0.0, 0.5) ** 3 / 6.0).sum())


def _refuse_torn(solid: Any) -> None:
    """Refuse a surface that crosses itself or is all spikes, before it is looked at at length.

    Sections across an axis add up to the volume that the faces bound, to a cut's step, unless
    faces run through each other. Where one axis does not tell, as along a thin disc, another does.
    """
    box = np.array(solid.bounding_box())
    volume = solid.volume()
    adds_up: list[float] = []
    for axis in np.argsort(box[:3] - box[3:]):  # the longest first
        along = turned_solid(solid, np.roll(np.eye(3), -axis, axis=0))
        low, high = span(along)
        sections = slices(along, middles(low, high, LOOKS))
        if not adds_up:
            loops = np.mean([section.num_contour() for section in sections])
            corners = np.mean([section.num_vert() for section in sections])
            if loops > MOST_LOOPS or corners > MOST_CORNERS:
                raise ValueError(
                    f"is torn or rough: a section has {loops:.0f} loops and {corners:.0f} corners "
                    f"in the mean, at most {MOST_LOOPS} and {MOST_CORNERS} are followed; smooth it"
                )
        adds_up.append(sum(s.area() for s in sections) * (high - low) / LOOKS / volume)
        if abs(adds_up[-1] - 1.0) < CROSSED:
            return
    raise ValueError(
        f"crosses itself: its sections add up to {adds_up[0]:.2g} times the volume that its faces "
        "bound; mend it in CAD"
    )


def roughness(solid: Any) -> float:
    """Return the roughness [mm] of a surface: how far faces lie off their neighbours' planes.

    A drawn mesh is smooth over most edges, or sharp; a scan is a little bent at every one.
    """
    mesh = solid.to_mesh64()
    faces = np.array(mesh.tri_verts).astype(np.int64)
    points = np.array(mesh.vert_properties)[:, :3]
    normals, areas, _ = face_normals(solid)
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    owner = np.tile(np.arange(len(faces)), 3)
    order = np.lexsort((edges[:, 1], edges[:, 0]))
    one, other = owner[order][::2], owner[order][1::2]
    angle = np.arccos(np.clip(np.einsum("ij,ij->i", normals[one], normals[other]), -1.0, 1.0))
    long = np.linalg.norm(points[edges[order][::2, 0]] - points[edges[order][::2, 1]], axis=1)
    rough = angle < np.radians(50.0)
    lift = angle[rough] * np.sqrt(areas[one][rough] + areas[other][rough])
    return float(0.25 * np.median(lift)) if rough.any() and long.size else 0.0


def file_points(understood: Understood, points: Array) -> Array:
    """Return points of a case [mm] in the file's axes and unit."""
    scale = convert(1.0, "mm", understood.unit)
    return (points @ understood.axes + understood.origin) * scale
