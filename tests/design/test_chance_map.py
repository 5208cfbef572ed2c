"""The map of the share that meets: every cell is the tolerance run of its own design."""

import numpy as np
import pytest
from sweep_cases import STRIP

from simsoft.core.errors import InputError
from simsoft.design.chance_map import chance_map, map_axes
from simsoft.design.sweep.run import local_runner, read_base
from simsoft.design.tolerance import make_trial, points, probability, run_samples
from simsoft.report.html.design import _map_rows
from simsoft.report.text.tolerance import map_text

RING = """
[[brief]]
quantity = "natural_frequency"
at_least = "1.75 Hz"
at_most = "2.05 Hz"
"""
VARY = ("parts.strip.thickness=1.5 mm, 2 mm, 2.5 mm", "material.durometer=20 OO, 50 OO, 80 OO")


@pytest.fixture(scope="module")
def mapped(tmp_path_factory):
    """A trial and its map over thickness and durometer."""
    folder = tmp_path_factory.mktemp("map")
    path = folder / "case.toml"
    path.write_text(STRIP + RING)
    trial = make_trial(read_base(path))
    axes = map_axes(VARY)
    return trial, chance_map(trial, axes, 16, 1, folder, local_runner(1, trial.mode)), path


def test_a_cell_is_the_tolerance_run_of_that_design(mapped, tmp_path):
    _, found, path = mapped
    base = read_base(path, ["parts.strip.thickness=2.5 mm", "material.durometer=20 OO"])
    trial = make_trial(base)
    alone = run_samples(trial, points(trial, 16, 1), tmp_path, local_runner(1, trial.mode))
    assert found.chance[0][2] == probability([sample.passes for sample in alone])


def test_the_map_is_not_the_same_everywhere(mapped):
    _, found, _ = mapped
    shares = np.array([[cell.value for cell in row] for row in found.chance])
    assert shares.shape == (3, 3)
    assert shares.max() > shares.min()


def test_text_and_table_hold_every_cell(mapped):
    _, found, _ = mapped
    text = map_text(found)
    assert all(value in text for value in (*found.across, *found.up))
    rows = _map_rows(found)
    assert len(rows) == 9
    assert rows[0][2:5] == [found.chance[0][0].passed, 16, found.chance[0][0].value]
    assert map_text(None) == ""


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        (VARY[:1], "two different keys"),
        ((VARY[0], VARY[0]), "two different keys"),
        ((VARY[0], "material.durometer=20 OO:80 OO"), "a map needs values"),
        ((VARY[0], "water.temperature=1 degC:34 degC:0.2 degC"), "at most 400"),
    ],
)
def test_what_is_no_map_is_one_line(vary, said):
    with pytest.raises(InputError, match=said):
        map_axes(vary)


def test_no_axes_no_map():
    assert map_axes(()) is None
