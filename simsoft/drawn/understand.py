"""From a mesh file to what was understood of the bait in it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from simsoft.case.shapes.mesh_file import NEEDS, RawMesh, read_mesh
from simsoft.case.shapes.mesh_repair import repaired
from simsoft.case.shapes.slices import middles, span
from simsoft.case.units import convert
from simsoft.case.wording import printable
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.drawn.orient import placed
from simsoft.drawn.parts import parts_of
from simsoft.drawn.shapes import Understood
from simsoft.drawn.solid import face_normals
from simsoft.drawn.stem import stem_and_plate, stiffness
from simsoft.drawn.thin import thin_parts
from simsoft.drawn.trunk import trunk_of

UNITS = ("mm", "cm", "m", "inch", "um", "ft")
# Baits are 20 to 300 mm long (common practice, no source); numbers between are in doubt.
SURE_MM, SURE_M = (15.0, 600.0), (0.015, 0.45)
LONGEST, SHORTEST = 1000.0, 8.0  # mm, beyond which a mesh is no bait
CUTS = 400
MOULD = 0.93  # of the box about it: the hull of a block
APART = 0.05  # of the whole volume: a piece that does not touch the rest


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
    size = float(np.ptp(raw.points[np.unique(raw.faces)], axis=0).max())
    if size <= 0.0:
        raise ValueError("has no size; a closed mesh of one bait is needed")
    unit = unit_of(size, raw.unit, unit)
    points = raw.points * convert(1.0, unit, "mm")
    mended = repaired(points, raw.faces)
    solid, notes = single(mended.solid)
    _refuse_mould(solid)
    lying = placed(solid, nose, up)
    solid = lying.solid
    high = span(solid)[1]
    x = middles(0.0, high, CUTS)
    stem = stem_and_plate(solid, x, stiffness(solid, x))
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


def unit_of(size: float, stated: str, asked: str | None) -> str:
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


def single(solid: Any) -> tuple[Any, list[str]]:
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
    others = [p for p in pieces[1:] if p.volume() > APART * whole]
    if others:
        alike = sum(p.volume() > 0.5 * pieces[0].volume() for p in pieces)
        if alike > 1:
            raise ValueError(f"holds {alike} separate baits; export one")
        raise ValueError(f"falls into {len(others) + 1} pieces that do not touch; join them in CAD")
    return pieces[0], [f"{len(pieces) - 1} loose crumbs were left out"]


def _refuse_mould(solid: Any) -> None:
    """Refuse a block with a cavity: its hull is a box that the solid does not fill."""
    hull = solid.hull()
    box = np.array(hull.bounding_box())
    room = float(np.prod(box[3:] - box[:3]))
    hollow = solid.volume() / hull.volume()
    if hull.volume() > MOULD * room and hollow < 0.97:
        raise ValueError(
            "is a block with a cavity, such as a mould half; the bait itself is needed"
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
