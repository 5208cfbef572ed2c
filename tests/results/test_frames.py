"""Directions of sections and paddles, and that results open in xarray with their dimensions."""

import dataclasses

import numpy as np
import pytest

from simsoft.design.sweep.hdf5 import write_h5
from simsoft.design.sweep.table import Column, SweepTable
from simsoft.results.frames import paddle_frames, section_directions
from simsoft.results.hdf5 import write_run


def bent(count=9, turn=1.2):
    """Return an arc in the x-y plane with its width upright."""
    angle = np.linspace(0.0, turn, count)
    line = np.stack([np.sin(angle), 1.0 - np.cos(angle), 0.0 * angle], axis=-1)
    half = np.array([0.0, 0.0, 0.1])
    return angle, line, np.stack([line - half, line + half], axis=1)


def test_sections_of_an_arc():
    angle, line, edges = bent()
    axes = section_directions(line, edges)
    assert axes[:, 1] == pytest.approx(np.tile([0.0, 0.0, 1.0], (len(angle), 1)))
    tangent = np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=-1)
    assert axes[1:-1, 2] == pytest.approx(tangent[1:-1], abs=1e-3)
    assert np.einsum("nij,nkj->nik", axes, axes) == pytest.approx(
        np.tile(np.eye(3), (len(angle), 1, 1)), abs=1e-12
    )
    assert np.linalg.det(axes) == pytest.approx(np.ones(len(angle)))


def test_frames_stack_over_time():
    _, line, edges = bent()
    both = section_directions(np.stack([line, 2.0 * line]), np.stack([edges, 2.0 * edges]))
    assert both.shape == (2, len(line), 3, 3)
    assert both[0] == pytest.approx(both[1])


def test_a_section_without_a_width_has_no_directions():
    _, line, _ = bent()
    assert np.isnan(section_directions(line, np.stack([line, line], axis=1))).all()


def test_a_turned_disc():
    angle = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    flat = np.stack([0.0 * angle, 2.0 * np.cos(angle), 2.0 * np.sin(angle)], axis=-1)
    turn = np.array([[0.8, -0.6, 0.0], [0.6, 0.8, 0.0], [0.0, 0.0, 1.0]])
    centre, axes = paddle_frames(flat @ turn.T + [1.0, 2.0, 3.0])
    assert centre == pytest.approx([1.0, 2.0, 3.0])
    assert axes[0] == pytest.approx(turn @ [1.0, 0.0, 0.0])
    assert axes[1] == pytest.approx(turn @ [0.0, 1.0, 0.0])
    assert np.linalg.det(axes) == pytest.approx(1.0)


def test_no_paddle_no_frame():
    centre, axes = paddle_frames(np.zeros((5, 0, 3)))
    assert centre.shape == (5, 3)
    assert axes.shape == (5, 3, 3)
    assert np.isnan(axes).all()


@pytest.fixture
def xarray():
    pytest.importorskip("h5netcdf")
    return pytest.importorskip("xarray")


def test_a_run_opens_in_xarray_with_dimensions(xarray, synthetic_result, tmp_path):
    path = write_run(synthetic_result, tmp_path / "results.h5")
    tree = xarray.open_datatree(path, engine="h5netcdf")
    records = tree["records"]
    for name in ("value", "low", "high", "unit", "json"):
        assert records[name].dims == ("record",)
    speeds = [r.at.get("speed", np.nan) for r in synthetic_result.records]
    assert records["at_speed"].values == pytest.approx(np.array(speeds, dtype=float), nan_ok=True)
    trace = tree["traces/000"]
    assert trace["tip"].dims == ("time", "axis")
    assert trace["directions"].dims == ("frame", "node", "section_axis", "axis")
    assert list(tree["axis"].values) == ["x", "y", "z"]
    assert not [d for node in tree.subtree for d in node.dims if "phony" in str(d)]
    for node in tree.subtree:
        for array in node.dataset.data_vars.values():
            assert array.attrs["long_name"]
    tree.close()


def test_a_sweep_opens_in_xarray_with_dimensions(xarray, tmp_path):
    name = '["stream", "tail", "start_speed", "m/s", {}]'
    value = np.array([0.3, np.nan, 0.5])
    column = Column(name, "none", value, low=value - 0.1, high=value + 0.1, reasons={1: "lost"})
    words = Column('["stream", "tail", "verdict", "", {}]', "none", ["kicks", "still", "kicks"])
    table = SweepTable(
        "own", "title", {}, ("parts.tail.thickness",), ("mm",),
        [("1 mm",), ("2 mm",), ("3 mm",)], ["done"] * 3, [""] * 3,
        {column.name: column, words.name: words},
    )  # fmt: skip
    write_h5(table, tmp_path / "sweep.h5", "digest")
    tree = xarray.open_datatree(tmp_path / "sweep.h5", engine="h5netcdf")
    start = tree["answers/0000"]
    for end in ("value", "low", "high"):
        assert start[end].dims == ("design",)
        assert start[end].attrs["units"] == "m/s"
    assert start["value"].values == pytest.approx(value, nan_ok=True)
    assert start["missing_reason"].dims == ("missing",)
    assert list(tree["answers/0001"]["value"].values) == words.value
    assert tree["axes/parts.tail.thickness"]["number"].values == pytest.approx([1.0, 2.0, 3.0])
    assert list(tree["status"].values) == ["done"] * 3
    assert not [d for node in tree.subtree for d in node.dims if "phony" in str(d)]
    tree.close()


def test_a_part_without_a_paddle_has_no_frames_of_one(synthetic_result, tmp_path, xarray):
    bare = dataclasses.replace(
        synthetic_result,
        traces=tuple(
            dataclasses.replace(t, paddle=np.zeros((len(t.strobe), 0, 3)))
            for t in synthetic_result.traces
        ),
    )
    tree = xarray.open_datatree(write_run(bare, tmp_path / "results.h5"), engine="h5netcdf")
    assert "paddle_axes" not in tree["traces/000"]
    tree.close()
