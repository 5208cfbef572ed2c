"""Solids and plain triangles to mesh files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from simsoft.core.arrays import Array
from simsoft.drawn.solid import arrays

_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])


def write_mesh(solid: Any, path: Path) -> None:
    """Write a solid as a mesh file of the kind that its name says, .stl or .obj."""
    write_triangles(*arrays(solid), path)


def write_triangles(points: Array, faces: Any, path: Path) -> None:
    """Write triangles as a binary STL or an OBJ text, in the unit of the points."""
    if path.suffix.lower() == ".obj":
        lines = [f"v {x:.6g} {y:.6g} {z:.6g}" for x, y, z in points]
        lines += [f"f {a} {b} {c}" for a, b, c in np.asarray(faces) + 1]
        path.write_text("\n".join(lines) + "\n", encoding="ascii")
        return
    corners = np.asarray(points)[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    rows = np.zeros(len(corners), dtype=_FACET)
    rows["normal"], rows["corners"] = normal, corners
    head = b"binary STL, mm".ljust(80, b" ") + np.uint32(len(rows)).tobytes()
    path.write_bytes(head + rows.tobytes())
