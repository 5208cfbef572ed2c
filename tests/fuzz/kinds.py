"""Every kind of file that is spoilt: how one is made from a seed, and what is done with it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import clips
import drawings
import kept
import meshes
import mutations
import outcomes

import cases

Outcome = tuple[str, str]  # what became of a file, and what was said


class Kind(NamedTuple):
    """A kind of file.

    Attributes
    ----------
    group : str, 'csv', 'case', 'drawing', 'mesh', 'clip', 'lock' or 'profile'
    name : str, of the file
    make : function of the seed, returns the file's bytes
    use : function of the file and a folder to write into, returns the outcome
    """

    group: str
    name: str
    make: Callable[[int], bytes]
    use: Callable[[Path, Path], Outcome]


def _csv(kind: str) -> Kind:
    return Kind(
        "csv", "file.csv", lambda seed: mutations.mutated(kind, seed), outcomes.of_measurement
    )


def _case(kind: str) -> Kind:
    return Kind(
        "case",
        "case.toml",
        lambda seed: cases.mutated(kind, seed),
        lambda p, _: outcomes.of_case(p),
    )


def _mesh(kind: str) -> Kind:
    return Kind("mesh", f"bait.{kind}", lambda seed: meshes.mutated(kind, seed), meshes.of_mesh)


KINDS: dict[str, Kind] = {
    **{kind: _csv(kind) for kind in mutations.SEEDS},
    **{kind: _case(kind) for kind in cases.KINDS},
    "svg": Kind("drawing", "drawn.svg", drawings.svg, drawings.of_drawing),
    "dxf": Kind("drawing", "drawn.dxf", drawings.dxf, drawings.of_drawing),
    "outline": Kind("drawing", "drawn.toml", drawings.outline, drawings.of_outline),
    **{kind: _mesh(kind) for kind in ("stl", "obj", "ply", "3mf")},
    "clip": Kind("clip", "clip.mp4", clips.mutated, clips.of_clip),
    "lock": Kind("lock", "tail.lock.json", kept.lock, kept.of_lock),
    "profile": Kind("profile", "shop.toml", kept.profile, kept.of_profile),
}
LONG = {
    "csv": 50_000,
    "case": 20_000,
    "drawing": 2_000,
    "mesh": 400,
    "clip": 500,
    "lock": 5_000,
    "profile": 5_000,
}  # fmt: skip  files of each group in the long run


def shares(group: str, files: int) -> dict[str, int]:
    """Return how many files of each kind of a group make up a number of files."""
    names = [name for name, kind in KINDS.items() if kind.group == group]
    each, rest = divmod(files, len(names))
    return {name: each + (number < rest) for number, name in enumerate(names)}


def one(kind: str, seed: int, folder: Path) -> Outcome:
    """Return the outcome of one spoilt file and what was said."""
    chosen = KINDS[kind]
    path = folder / chosen.name
    path.write_bytes(chosen.make(seed))
    return chosen.use(path, folder)
