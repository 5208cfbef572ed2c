"""The triangles of a 3MF file: a zip archive with one XML model, read within bounds.

Format: 3MF Core Specification 1.3 (3MF Consortium), from memory.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from array import array
from typing import Any
from xml.parsers import expat

import numpy as np

from simsoft.core.arrays import Array

LARGEST_MODEL = 20_000_000  # bytes, unpacked; 75 or so a triangle
MOST_PACKED = 200  # times that a model shrinks in its archive; XML shrinks tenfold
MOST_ENTRIES = 1000
DEEPEST = 8  # objects within objects
UNITS = {
    "millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "inch", "foot": "ft",
    "micron": "um",
}  # fmt: skip


class Refused(ValueError):
    """A mesh file that is not read, and why, as the end of a sentence about the file."""


Meshes = dict[str, tuple[Array, Any]]
Uses = list[tuple[str, Array]]


def read_3mf(data: bytes, most_faces: int) -> tuple[Array, Any, str]:
    """Return points, faces and unit of all that a 3MF file builds.

    Raises
    ------
    Refused
        The archive or its model is damaged, too large or packed beyond reason.
    """
    text = _model_text(data)
    if text.count(b"<triangle ") > most_faces:
        raise Refused(f"holds more than {most_faces} faces; export it coarser")
    unit, meshes, parts, built = _contents(text)
    found: list[tuple[Array, Any]] = []
    left = most_faces
    for name, turn in built:
        left = _place(name, turn, meshes, parts, found, left, DEEPEST)
    if not found:
        raise Refused("builds no mesh; a closed mesh of one bait is needed")
    starts = np.cumsum([0, *(len(points) for points, _ in found)])
    points = np.concatenate([points for points, _ in found])
    faces = np.concatenate([f + start for (_, f), start in zip(found, starts, strict=False)])
    return points, faces, UNITS.get(unit, "mm")


def _model_text(data: bytes) -> bytes:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_ENTRIES:
                raise Refused(f"holds {len(entries)} entries; at most {MOST_ENTRIES} are read")
            models = [e for e in entries if e.filename.lower().endswith(".model")]
            models.sort(key=lambda e: e.filename.lower() != "3d/3dmodel.model")
            if not models:
                raise Refused("holds no model; it is no 3MF file")
            entry = models[0]
            size, packed = entry.file_size, max(entry.compress_size, 1)
            if size > LARGEST_MODEL or size > MOST_PACKED * packed:
                raise Refused(f"unpacks to {size} bytes from {packed}, beyond what is read")
            with archive.open(entry) as file:
                return file.read(LARGEST_MODEL)
    # zipfile raises NotImplementedError for a packing it lacks, RuntimeError for an encrypted entry
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as problem:
        raise Refused(f"is a damaged archive or no 3MF file: {problem}") from None


def _contents(text: bytes) -> tuple[str, Meshes, dict[str, Uses], Uses]:
    """Return the unit, meshes and assemblies by their number, and what is built of them.

    Numbers are taken as the parser meets them: a tree of a large model fills the memory.
    """
    units: list[str] = []
    objects: dict[str, tuple[Any, Any]] = {}
    parts: dict[str, Uses] = {}
    built: Uses = []
    points, faces, uses = array("d"), array("q"), []  # type: ignore[var-annotated]

    def start(tag: str, keys: dict[str, str]) -> None:
        nonlocal points, faces, uses
        kind = tag.rpartition(":")[2]
        if kind == "vertex":
            points.extend([float(keys.get(axis, "nan")) for axis in "xyz"])
        elif kind == "triangle":
            faces.extend([int(keys.get(corner, "-1")) for corner in ("v1", "v2", "v3")])
        elif kind == "object":
            points, faces, uses = array("d"), array("q"), []
            name = keys.get("id", "")
            objects[name], parts[name] = (points, faces), uses
        elif kind == "component":
            uses.append((keys.get("objectid", ""), _turn(keys)))
        elif kind == "item":
            built.append((keys.get("objectid", ""), _turn(keys)))
        elif kind == "model" and not units:
            units.append(keys.get("unit", "millimeter"))

    def declared(*_: object) -> None:
        raise Refused("declares a document type, which no 3MF model does")

    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    parser.StartDoctypeDeclHandler = declared
    try:
        parser.Parse(text, True)
    except expat.ExpatError as problem:
        raise Refused(f"its model is no valid XML: {problem}") from None
    meshes = {
        name: (np.array(corners).reshape(-1, 3), np.array(sides).reshape(-1, 3))
        for name, (corners, sides) in objects.items()
        if sides
    }
    return units[0] if units else "", meshes, parts, built


def _turn(keys: dict[str, str]) -> Array:
    """Return a transform (4, 3): three rows that turn, one that shifts."""
    words = keys.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()
    if len(words) != 12:
        raise Refused("has a transform that is not of twelve numbers")
    return np.array([float(word) for word in words]).reshape(4, 3)


def _place(
    name: str, turn: Array, meshes: Meshes, parts: dict[str, Uses],
    found: list[tuple[Array, Any]], left: int, depth: int,
) -> int:  # fmt: skip
    """Add an object and those within it; return how many faces may still come."""
    if depth == 0:
        raise Refused(f"has objects within objects more than {DEEPEST} deep")
    if name in meshes:
        points, faces = meshes[name]
        left -= len(faces)
        if left < 0:
            raise Refused("builds more faces than are read; export it coarser")
        found.append((points @ turn[:3] + turn[3], faces))
    for inner, own in parts.get(name, []):
        left -= 1
        whole = np.vstack([own[:3] @ turn[:3], own[3] @ turn[:3] + turn[3]])
        left = _place(inner, whole, meshes, parts, found, left, depth - 1)
    return left
