"""A mesh file read within bounds: STL, OBJ, PLY, 3MF or STEP -> triangles and the stated unit."""

from __future__ import annotations

import hashlib
import io
import logging
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from simsoft.case.files import read_bytes
from simsoft.case.shapes.mesh_3mf import Refused, read_3mf
from simsoft.case.shapes.mesh_index import used
from simsoft.case.wording import printable
from simsoft.core.arrays import Array
from simsoft.core.errors import InputError

LARGEST = 120_000_000  # bytes of a file
MOST_FACES = 400_000  # more than a bait needs, and two seconds' work to close and look at
KINDS = (".stl", ".3mf", ".obj", ".ply", ".step", ".stp")
NEEDS = "reading a mesh needs the extra `mesh`: pip install 'simsoft[mesh]'"
NEEDS_STEP = "reading STEP needs the extra `step`: pip install 'simsoft[step]'"
_FACET = 50  # bytes of a binary STL's triangle
_FACETS_FROM = 84


@dataclass(frozen=True)
class RawMesh:
    """Triangles as a file holds them.

    Attributes
    ----------
    points : array (n, 3), in the file's unit
    faces : array (m, 3) of int
    unit : str, name of the unit that the file states; empty where it states none
    digest : str, SHA-256 of the file
    """

    points: Array
    faces: Any
    unit: str
    digest: str


def read_mesh(path: Path) -> RawMesh:
    """Return the triangles of a mesh file.

    Raises
    ------
    InputError
        One line: the file is missing, too large, damaged, of another kind, or an extra that
        reads it is not installed.
    """
    shown = printable(str(path))
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise InputError(f"{shown}: is no mesh file by its name; allowed are {', '.join(KINDS)}")
    data = read_bytes(path, "a mesh file", LARGEST)
    if not data.strip():
        raise InputError(f"{shown}: is empty; a closed mesh of one bait is needed")
    needs = NEEDS_STEP if kind in KINDS[4:] else NEEDS
    if kind != ".3mf" and not _can_read(kind):
        raise InputError(f"{shown}: {needs}")
    try:
        refuse_many(_announced(kind, data))
        with _quiet():
            points, faces, unit = _read(kind, data)
    except Refused as problem:
        raise InputError(f"{shown}: {' '.join(str(problem).split())[:200]}") from None
    except Exception as problem:  # what the readers raise on a broken file is not documented
        words = " ".join(f"{problem}".split())[:120] or type(problem).__name__
        raise InputError(f"{shown}: cannot be read as {kind[1:].upper()}: {words}") from None
    return RawMesh(*_checked(points, faces, shown), unit, hashlib.sha256(data).hexdigest())


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what the libraries say of a damaged file from the screen: its refusal says enough."""
    logger = logging.getLogger("trimesh")
    kept = logger.level
    logger.setLevel(logging.CRITICAL + 1)  # its modules' loggers take the level of this one
    try:
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            yield
    finally:
        logger.setLevel(kept)


def _can_read(kind: str) -> bool:
    """Tell whether the library that reads a kind of file is installed."""
    wanted = ("trimesh", "cascadio") if kind in KINDS[4:] else ("trimesh",)
    return all(find_spec(name) is not None for name in wanted)


def refuse_many(count: int) -> None:
    """Raise Refused where a file announces more faces than are read."""
    if count > MOST_FACES:
        raise Refused(f"holds {count} faces; at most {MOST_FACES} are allowed, export it coarser")


def _announced(kind: str, data: bytes) -> int:
    """Return how many faces a file says it holds, without reading them."""
    if kind == ".stl":
        return _binary_facets(data) or data.count(b"endfacet")
    if kind == ".obj":
        return data.count(b"\nf ")
    if kind == ".ply":
        head = data[: max(data.find(b"end_header"), 0)]
        if not head.startswith(b"ply"):
            raise Refused("is no PLY file; its first line must be `ply`")
        counts = [line.split() for line in head.splitlines() if line.startswith(b"element")]
        numbers = [(words[1], int(words[2])) for words in counts if len(words) == 3
                   and words[2].isdigit()]  # fmt: skip
        if sum(number for _, number in numbers) > len(data):
            most = max(number for _, number in numbers)
            raise Refused(f"announces {most} entries, more than the file can hold")
        return max((number for name, number in numbers if name == b"face"), default=0)
    return 0


def _binary_facets(data: bytes) -> int:
    """Return the count of a binary STL; 0 for a text."""
    if len(data) < _FACETS_FROM:
        return 0
    (count,) = struct.unpack_from("<I", data, _FACETS_FROM - 4)
    if data[:5].lower() == b"solid" and b"facet" in data[:1000]:
        return 0
    room = (len(data) - _FACETS_FROM) // _FACET
    if count > room:
        raise Refused(f"announces {count} faces but holds {room}; it is cut off or no STL")
    return int(count)


def _read(kind: str, data: bytes) -> tuple[Array, Any, str]:
    if kind == ".3mf":
        return read_3mf(data, MOST_FACES)
    if kind in (".step", ".stp"):
        from simsoft.case.shapes.mesh_step import read_step

        return read_step(data)
    import trimesh

    options = {"skip_materials": True} if kind == ".obj" else {}
    if kind == ".obj" or (kind == ".stl" and not _binary_facets(data)):
        # names and remarks may be of any code page, numbers are plain
        data = data.decode("utf-8" if _is_text(data) else "latin-1").encode()
    found: Any = trimesh.load_mesh(
        io.BytesIO(data), file_type=kind[1:], process=False, resolver=None, **options
    )
    return np.asarray(found.vertices, np.float64), np.asarray(found.faces), ""


def _is_text(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _checked(points: Array, faces: Any, shown: str) -> tuple[Array, Any]:
    if points.ndim != 2 or faces.ndim != 2 or not len(faces):
        raise InputError(f"{shown}: holds no triangles; a closed mesh of one bait is needed")
    if len(faces) > MOST_FACES:
        raise InputError(f"{shown}: holds {len(faces)} faces; at most {MOST_FACES} are allowed")
    if faces.shape[1] != 3 or faces.min() < 0 or faces.max() >= len(points):
        raise InputError(f"{shown}: has faces that name points which are not there")
    corners = points[used(faces)]
    if not np.isfinite(corners).all() or np.abs(corners).max() > 1e7:
        raise InputError(f"{shown}: has points that are no sane numbers; export it again")
    return points, faces.astype(np.int64)
