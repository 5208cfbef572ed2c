"""Section loads led along a path: a straight rod that sways as a whole."""

import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

FOLDER = Path(__file__).parents[2] / "validation" / "resolved"


@pytest.fixture(scope="module")
def tools():
    sys.path.insert(0, str(FOLDER))
    try:
        yield importlib.import_module("along_body"), importlib.import_module("blade")
    finally:
        sys.path.remove(str(FOLDER))


def test_a_rod_in_a_stream_that_does_not_move_feels_its_steady_drag_alone(tools):
    along, blade = tools
    rod = blade.blade_job(1600.0).rod._replace(added_gain=np.zeros((blade.ELEMENTS, 2)))
    speed, count = 0.16, 12
    frame = np.tile(rod.frame, (count, len(rod.length), 1, 1))
    node = rod.root + rod.frame[:, 2] * np.cumsum(rod.length)[:, None]
    force = along.section_forces(rod, speed, 0.01, frame, np.tile(node, (count, 1, 1)))
    across = rod.span * (rod.drag[:, 0] + rod.drag[:, 2]) * speed**2
    assert force[..., 0] == pytest.approx(np.tile(across, (count, 1)), rel=1e-9)
    assert force[..., 1:] == pytest.approx(0.0, abs=1e-12)


def test_added_mass_resists_a_swaying_rod(tools):
    along, blade = tools
    rod = blade.blade_job(1600.0).rod._replace(drag=np.zeros((blade.ELEMENTS, 4)))
    time = np.linspace(0.0, 1.0, 401)
    swing = 1.0e-3 * np.sin(2.0 * np.pi * 4.0 * time)
    node = rod.root + rod.frame[:, 2] * np.cumsum(rod.length)[:, None]
    path = np.tile(node, (len(time), 1, 1))
    path[..., 0] += swing[:, None]
    frame = np.tile(rod.frame, (len(time), len(rod.length), 1, 1))
    force = along.section_forces(rod, 0.0, time[1], frame, path)
    expected = rod.span * rod.added[:, 0] * (2.0 * np.pi * 4.0) ** 2 * swing[200 - 20]
    assert force[180, :, 0] == pytest.approx(expected, rel=0.02)
