"""What grid and steps a run takes."""

import importlib
import sys
from pathlib import Path

import numpy as np
import pytest

from simsoft.core.errors import InputError
from simsoft.resolved.choose import (
    LIGHT,
    LONG_MEMORY,
    coarser,
    lightness,
    settings_for,
    suited,
)

FOLDER = Path(__file__).parents[2] / "validation" / "resolved"


@pytest.fixture(scope="module")
def blade():
    sys.path.insert(0, str(FOLDER))
    try:
        yield importlib.import_module("blade").blade_job(1600.0)
    finally:
        sys.path.remove(str(FOLDER))


def test_a_light_blade_takes_long_steps_and_a_long_memory(blade):
    assert lightness(blade.rod) < LIGHT
    settings = settings_for("standard", 16)
    found = suited(settings, blade)
    assert (found.stride, found.memory) == (6, LONG_MEMORY)
    assert found._replace(stride=settings.stride, memory=settings.memory) == settings


def test_a_heavy_part_and_a_job_without_a_rod_keep_their_settings(blade):
    settings = settings_for("standard", None)
    heavy = blade.rod._replace(structure=blade.rod.fluid + np.eye(6) * 1.0e-3)
    assert suited(settings, blade._replace(rod=heavy)) == settings
    assert suited(settings, blade._replace(rod=None)) == settings


def test_the_coarser_grid_has_two_thirds_of_the_cells():
    assert [coarser(settings_for("standard", n)).cells for n in (12, 24, 36)] == [8, 16, 24]
    with pytest.raises(InputError, match="--careful: 10 cells"):
        coarser(settings_for("standard", 10))
