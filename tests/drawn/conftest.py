"""Meshes of baits of known sizes, written once; skipped where the extra is not installed."""

import sys
from pathlib import Path

import pytest

pytest.importorskip("manifold3d")
pytest.importorskip("trimesh")
sys.path.insert(0, str(Path(__file__).parent))

import baits
import sizes


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
            kept[name, damage] = sizes.read(bait(name), damage, folder)
        return kept[name, damage]

    return read
