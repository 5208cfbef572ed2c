"""Maps: the numbers in their cells, the frame where the brief is met."""

import numpy as np
import pytest
from sweep_cases import PADDLE

from simsoft.design.sweep.axis import read_axis
from simsoft.design.sweep.plan import Plan
from simsoft.design.sweep.run import local_runner, prepare_sweep, read_base, run_sweep
from simsoft.report.figures.maps import _edges, _frame, grids, save_maps

BRIEF = """
[[brief]]
quantity = "start_speed"
at_most = "0.3 m/s"
"""


def swept(tmp_path, *vary, speeds='["0.5 m/s"]'):
    path = tmp_path / "paddle.toml"
    path.write_text(PADDLE.replace('["0.5 m/s"]', speeds) + BRIEF)
    sweep = prepare_sweep(read_base(path), Plan(tuple(map(read_axis, vary))), "fast")
    table, _ = run_sweep(sweep, tmp_path, local_runner(1, "fast"))
    return sweep, table


def test_every_number_stands_in_its_cell_and_the_frame_follows_the_brief(tmp_path):
    sweep, table = swept(
        tmp_path, "parts.tail.thickness=2,2.4,2.8 mm", "material.durometer=40,46,52 OO"
    )
    found = next(g for g in grids(sweep, table) if "start speed" in g.title)
    assert found.across.tolist() == [2.0, 2.4, 2.8]
    assert found.up.tolist() == [40.0, 46.0, 52.0]
    column = next(c for c in table.columns.values() if c.parts[2] == "start_speed")
    for i, values in enumerate(table.values):
        x = found.across.tolist().index(float(values[0].split()[0]))
        y = found.up.tolist().index(float(values[1].split()[0]))
        assert found.value[y, x] == column.value[i]
        assert found.good[y, x] == (column.value[i] <= 0.3)
    assert found.good.any()
    assert not found.good.all()
    assert save_maps(sweep, table, tmp_path) == ["maps.png"]
    assert (tmp_path / "maps.png").stat().st_size > 10_000


def test_one_axis_is_mapped_against_the_speeds(tmp_path):
    sweep, table = swept(
        tmp_path, "water.temperature=4,12,20 degC", speeds='["0.25 m/s", "0.26 m/s", "0.27 m/s"]'
    )
    found = next(g for g in grids(sweep, table) if "flap" in g.title)
    assert found.across.tolist() == pytest.approx([0.25, 0.26, 0.27])
    assert found.value.shape == (3, 3)
    # the stem sets the rate: stiffer in the cold, hardly another in a faster stream
    assert np.all(np.diff(found.value, axis=0) < 0.0)
    assert np.all(np.ptp(found.value, axis=1) < 0.1 * found.value.mean(axis=1))


def test_the_frame_surrounds_exactly_the_good_cells():
    good = np.zeros((3, 4), dtype=bool)
    good[1, 1:3] = True
    lines = list(_frame(good, np.arange(5.0), np.arange(4.0)))
    assert len(lines) == 6
    assert ((1.0, 1.0), (1.0, 2.0)) in lines
    assert ((3.0, 3.0), (1.0, 2.0)) in lines
    assert _edges(np.array([1.0, 2.0, 4.0])).tolist() == [0.5, 1.5, 3.0, 5.0]
