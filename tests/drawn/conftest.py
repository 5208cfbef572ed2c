"""Meshes of baits of known sizes, written once; skipped where the extra is not installed."""

import sys
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("manifold3d")
pytest.importorskip("trimesh")
sys.path.insert(0, str(Path(__file__).parent))

import baits
import damages

from simsoft.drawn.export import write_triangles
from simsoft.drawn.understand import understand


@pytest.fixture(scope="session")
def bait():
    """Return the bait of a name."""
    found = {one.name: one for one in baits.all_baits()}
    return found.__getitem__


@pytest.fixture(scope="session")
def read_bait(bait, tmp_path_factory):
    """Return what is understood of a bait, after a damage; every reading is kept."""
    kept = {}
    folder = tmp_path_factory.mktemp("meshes")

    def read(name, damage="plain"):
        if (name, damage) not in kept:
            one = bait(name)
            make = damages.ALL.get(damage, damages.plain)
            rng = np.random.default_rng([len(name), len(damage)])
            points, faces = make(one, rng)
            path = folder / f"{name}-{damage}.stl"
            write_triangles(points, faces, path)
            unit = "inch" if damage == "inches" else None
            nose = None
            if one.truth["kind"] is None:
                # both ends of a plain bait may be alike: the maker is asked, and answers
                nose = damages.axis_to(one, make)
            kept[name, damage] = understand(path, nose=nose, unit=unit)
        return kept[name, damage]

    return read
