"""Meshes of a small bait (STL, OBJ, PLY, 3MF), and seeded ways to spoil their bytes and numbers."""

from __future__ import annotations

import io
import random
import re
import zipfile
from functools import lru_cache
from pathlib import Path

import outcomes
import trimesh
from mutations import ODD_NUMBERS

from simsoft.case.read import loads
from simsoft.drawn.case_text import case_text
from simsoft.drawn.understand import understand

NUMBER = re.compile(rb"-?\d+\.\d+(e-?\d+)?")


@lru_cache(maxsize=1)
def bait() -> trimesh.Trimesh:
    """Return a spindle with a stem and an upright plate: shells that overlap, in millimetres."""
    body = trimesh.creation.icosphere(subdivisions=2)
    body.apply_scale([30.0, 6.0, 8.0])
    stem = trimesh.creation.box(extents=[16.0, 2.5, 5.0])
    stem.apply_translation([34.0, 0.0, 0.0])
    plate = trimesh.creation.box(extents=[3.0, 12.0, 14.0])
    plate.apply_translation([43.0, 0.0, -2.0])
    return trimesh.util.concatenate([body, stem, plate])


@lru_cache(maxsize=8)
def whole(kind: str) -> bytes:
    """Return the bait as a file of a kind; 'ascii' is STL as text."""
    if kind == "3mf":
        return _archive()
    if kind == "ascii":
        return str(bait().export(file_type="stl_ascii")).encode()
    data = bait().export(file_type="stl" if kind == "stl" else kind)
    return data.encode() if isinstance(data, str) else bytes(data)


def _archive() -> bytes:
    """Return the bait as 3MF: an archive of two files, the model as text."""
    points = "".join(
        f'<vertex x="{x:.5f}" y="{y:.5f}" z="{z:.5f}"/>' for x, y, z in bait().vertices
    )
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in bait().faces)
    space = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    mesh = f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"
    model = (
        f'<?xml version="1.0"?><model unit="millimeter" xmlns="{space}"><resources>'
        f'<object id="1" type="model">{mesh}</object></resources>'
        '<build><item objectid="1"/></build></model>'
    )
    types = '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/'
    types += 'content-types"><Default Extension="model" ContentType="a/b"/></Types>'
    result = io.BytesIO()
    with zipfile.ZipFile(result, "w") as archive:
        archive.writestr("[Content_Types].xml", types)
        archive.writestr("3D/3dmodel.model", model)
    return result.getvalue()


def mutated(kind: str, seed: int) -> bytes:
    """Return a spoilt file; the same seed gives the same one."""
    rng = random.Random(f"mesh/{kind}/{seed}")
    if kind == "3mf":
        return _spoilt_zip(rng, whole(kind))
    base = whole("ascii") if kind == "stl" and rng.randrange(2) else whole(kind)
    return _spoilt(rng, base)


def _spoilt(rng: random.Random, data: bytes) -> bytes:
    for _ in range(rng.choice((1, 1, 2, 3, 8, 60))):
        how = rng.randrange(7)
        place = rng.randrange(max(1, len(data)))
        if how == 0:
            data = data[:place]
        elif how == 1:
            data = data[:place] + bytes([rng.randrange(256)]) + data[place + 1 :]
        elif how == 2:
            data = data[:place] + data[place + rng.choice((1, 12, 50, 400)) :]
        elif how == 3:
            data = data[:place] + data[max(0, place - rng.choice((12, 50, 400))) :]
        elif how == 4:
            data = _other_number(rng, data)
        elif how == 5:
            lines = data.split(b"\n")
            lines.insert(rng.randrange(len(lines) + 1), rng.choice(lines))
            data = b"\n".join(lines)
        else:
            data = rng.choice(
                (data + data, data, data, data.replace(b"\n", b"\r", 9), b"\n" + data)
            )
    return data


def _other_number(rng: random.Random, data: bytes) -> bytes:
    found = list(NUMBER.finditer(data))
    if not found:
        return data
    one = rng.choice(found)
    odd = rng.choice((*ODD_NUMBERS, "1e9", "-1e-9", "0", "nan", "inf")).encode()
    return data[: one.start()] + odd + data[one.end() :]


def _spoilt_zip(rng: random.Random, data: bytes) -> bytes:
    """Spoil a file inside the archive, or the archive itself."""
    if rng.randrange(4) == 0:
        return _spoilt(rng, data)
    result = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(result, "w") as new:
        for name in old.namelist():
            inner = old.read(name)
            if name.endswith(".model"):
                inner = _spoilt(rng, inner)
            if rng.randrange(12):
                new.writestr(name, inner)
    return result.getvalue()


def of_mesh(path: Path, _: Path) -> tuple[str, str]:
    """Return what becomes of a mesh: understood and written as a case that loads, or refused."""

    def use() -> str:
        found = understand(path, unit="mm")
        loads(case_text(found, "page.html", "body.stl"))
        return "understood"

    return outcomes.judged(use)
