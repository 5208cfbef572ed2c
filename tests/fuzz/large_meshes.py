"""Large meshes: torn, noise, crowded, in crumbs, folded, and sound ones that leave a question."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from typing import Any

import numpy as np
import trimesh

from simsoft.core.arrays import Array

SIZE = 10_000_000
FACES = 199_000  # of a binary STL of ten million bytes
Mesh = tuple[Array, Any]


def spindle(faces: int = FACES) -> Mesh:
    """Return a spindle of 100 x 12 mm, two ends alike: sound, but which end is the nose?"""
    around = int(np.sqrt(faces / 6.0))
    rings = faces // (2 * around)
    share = (np.arange(rings) + 0.5) / rings
    radius = 6.0 * np.sin(np.pi * share)
    turn = 2.0 * np.pi * np.arange(around) / around
    points = np.stack(
        [
            np.repeat(100.0 * share[:, None], around, axis=1),
            np.outer(radius, np.cos(turn)),
            np.outer(radius, np.sin(turn)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    here = np.arange(rings * around).reshape(rings, around)
    ahead = np.roll(here, -1, axis=1)
    a, b, c, d = here[:-1], ahead[:-1], ahead[1:], here[1:]
    sides = np.concatenate([np.stack([a, d, c], -1), np.stack([a, c, b], -1)]).reshape(-1, 3)
    ends = len(points) + np.arange(2)
    first = np.column_stack([here[0], ahead[0], np.full(around, ends[0])])
    last = np.column_stack([ahead[-1], here[-1], np.full(around, ends[1])])
    tips = np.array([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0]])
    return np.vstack([points, tips]), np.vstack([sides, first, last])


def bait() -> Mesh:
    """Return a spindle with a stem and a plate, finely cut: sound, and to be read."""
    body = trimesh.creation.icosphere(subdivisions=6)
    body.apply_scale([30.0, 6.0, 8.0])
    shells = [(body.vertices, body.faces)]
    for size, place in (([16.0, 2.5, 5.0], 34.0), ([3.0, 12.0, 14.0], 43.0)):
        box = trimesh.creation.box(extents=size)
        box.apply_translation([place, 0.0, 0.0])
        for _ in range(6):
            box = box.subdivide()
        shells.append((box.vertices, box.faces))
    starts = np.cumsum([0, *(len(points) for points, _ in shells[:-1])])
    faces = [f + start for (_, f), start in zip(shells, starts, strict=True)]
    return np.vstack([points for points, _ in shells]), np.vstack(faces)


def _stl(points: Array, faces: Any) -> bytes:
    rows = np.zeros(len(faces), dtype=[("normal", "<f4", 3), ("corners", "<f4", 9), ("end", "<u2")])
    rows["corners"] = points[faces].reshape(-1, 9)
    return bytes(80) + struct.pack("<I", len(faces)) + rows.tobytes()


def _exported(kind: str, points: Array, faces: Any) -> bytes:
    data = trimesh.Trimesh(points, faces, process=False).export(file_type=kind)
    return data.encode() if isinstance(data, str) else bytes(data)


def _soup() -> bytes:
    rng = np.random.default_rng(1)
    return _stl(rng.normal(size=(3 * FACES, 3)) * 30.0, np.arange(3 * FACES).reshape(-1, 3))


def _crowded() -> bytes:
    points = np.random.default_rng(1).random((3 * FACES, 3)) * 0.1
    points[-3:, 0] += 500.0
    return _stl(points, np.arange(len(points)).reshape(-1, 3))


def _boxes(size: float) -> bytes:
    """Return boxes on a lattice of 2 mm, apart or through each other."""
    box, count = trimesh.creation.box(extents=[size] * 3), FACES // 12
    number = np.arange(count)
    place = 2.0 * np.column_stack([number % 40, number // 40 % 20, number // 800])
    points = (box.vertices[None] + place[:, None]).reshape(-1, 3)
    return _stl(points, (box.faces[None] + 8 * number[:, None, None]).reshape(-1, 3))


def _torn() -> bytes:
    """Return a spindle of which one corner in three hundred belongs to another point."""
    rng, (points, faces) = np.random.default_rng(1), spindle()
    some = rng.choice(len(faces), len(faces) // 100)
    faces[some, 0] = rng.integers(0, len(points), len(some))
    return _stl(points, faces)


def _spiky() -> bytes:
    """Return a spindle of which one point in a hundred changed its place with another."""
    rng, (points, faces) = np.random.default_rng(1), spindle()
    some = rng.choice(len(points), len(points) // 100)
    points[some] = points[rng.permutation(some)]
    return _stl(points, faces)


def _folded() -> bytes:
    """Return a spindle whose rings stand in another order, in blocks: tubes within tubes."""
    points, faces = spindle(225_000)
    blocks = np.array_split(points[:-2], 12)
    order = np.random.default_rng(1).permutation(12)
    return _exported("obj", np.vstack([*(blocks[k] for k in order), points[-2:]]), faces)


def _rough() -> bytes:
    points, faces = spindle()
    points += np.random.default_rng(1).normal(scale=0.3, size=points.shape)
    return _exported("ply", points, faces)


def _model(tail: str = "", built: bool = True) -> bytes:
    """Return a spindle as 3MF of the largest model that is read."""
    points, faces = spindle(270_000)
    corners = "".join(f'<vertex x="{x:.4f}" y="{y:.4f}" z="{z:.4f}"/>' for x, y, z in points)
    sides = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces)
    text = '<?xml version="1.0"?><model unit="millimeter" xmlns="urn:any"><resources>'
    text += f'<object id="1"><mesh><vertices>{corners}</vertices><triangles>{sides}</triangles>'
    text += "</mesh></object></resources><build>" + '<item objectid="1"/>' * built
    result = io.BytesIO()
    with zipfile.ZipFile(result, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr("3D/3dmodel.model", f"{text}</build>{tail}</model>")
    return result.getvalue()


def _words(line: bytes, head: bytes = b"", tail: bytes = b"") -> bytes:
    return head + line * ((SIZE - len(head) - len(tail)) // len(line)) + tail


PLY = b"ply\nformat ascii 1.0\nelement vertex 400000\nproperty float x\nproperty float y\n"
PLY += (
    b"property float z\nelement face 360000\nproperty list uchar int vertex_indices\nend_header\n"
)
STEP = b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n"
FACET = (
    b"facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 9 0 0\nvertex 0 9 1\nendloop\nendfacet\n"
)
REFUSED: dict[str, Callable[[], bytes]] = {
    "soup.stl": _soup,
    "crowded.stl": _crowded,
    "crumbs.stl": lambda: _boxes(1.0),
    "shells.stl": lambda: _boxes(3.0),
    "torn.stl": _torn,
    "spiky.stl": _spiky,
    "both_ends.stl": lambda: _stl(*spindle()),
    "facets.stl": lambda: _words(FACET, b"solid x\n"),
    "folded.obj": _folded,
    "both_ends.obj": lambda: _exported("obj", *spindle(225_000)),
    "corners.obj": lambda: _words(b"v 1.25 0.5 3\nf 1 2 3\n"),
    "bytes.obj": lambda: np.random.default_rng(1).bytes(SIZE),
    "rough.ply": _rough,
    "both_ends.ply": lambda: _exported("ply", *spindle(395_000)),
    "many.ply": lambda: _exported("ply", *spindle(520_000)),
    "text.ply": lambda: PLY + b"1.5 2.5 3.5\n" * 400_000 + b"3 0 1 2\n" * 360_000,
    "both_ends.3mf": _model,
    "broken.3mf": lambda: _model("<"),
    "unbuilt.3mf": lambda: _model(built=False),
    "points.step": lambda: _words(b"#1=CARTESIAN_POINT('',(0.5,1.5,2.5));\n", STEP),
}
READ: dict[str, Callable[[], bytes]] = {
    "bait.stl": lambda: _stl(*bait()),
    "bait.ply": lambda: _exported("ply", *bait()),
    "bait.obj": lambda: _exported("obj", *bait()),
}
