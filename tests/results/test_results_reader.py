"""A run read back: nothing is lost, nothing is changed."""

import dataclasses

import h5py
import numpy as np
import pytest

import simsoft
from simsoft.case.model import Seen
from simsoft.case.read import load
from simsoft.case.stored import from_json, to_json
from simsoft.core.errors import InputError
from simsoft.results import hdf5 as results_file
from simsoft.results.hdf5_reader import read_run
from simsoft.results.result import Flight, Look, Motion, Surface


def equal(one, other):
    """Tell whether two values of a run are the same, arrays number by number."""
    if dataclasses.is_dataclass(one):
        names = [field.name for field in dataclasses.fields(one)]
        return type(one) is type(other) and all(
            equal(getattr(one, name), getattr(other, name)) for name in names
        )
    if isinstance(one, np.ndarray):
        return one.shape == np.shape(other) and np.array_equal(one, other)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(equal, one, other))
    return one == other


@pytest.fixture
def full_result(synthetic_result):
    """A run with one of everything a results file holds."""
    time = np.linspace(0.0, 1.0, 5)
    motion = Motion(
        scenario="fall",
        label="fall",
        speed=0.0,
        time=time,
        eye=np.outer(time, [0.1, 0.0, -0.3]),
        frames=np.tile(np.eye(3), (5, 1, 1)),
        centre=np.outer(time, [0.1, 0.0, -0.3]),
        attitude=10.0 * time,
        roll=-time,
        line=np.zeros((5, 3)),
        lead=np.outer(time[:3], [1.0, 0.0, 0.0]),
        chains=("tail",),
        first=(0, 2),
        nodes=np.ones((5, 2, 3)),
        outline=np.array([[0.0, 0.01], [0.1, 0.0], [0.0, -0.01]]),
        window=(0.5, 1.0),
        message="steady",
        energy={"work": 1.0, "residual": 1e-4},
        momentum_residual=1e-5,
    )
    flight = Flight("throw", "end-on", 5.0, 90.0, np.linspace(0.0, 1.0, 12).reshape(4, 3))
    quads = np.array([[0, 1, 2, 3]])
    surface = Surface("tank", "fin", "mode", "mode 1", quads, np.ones((2, 4, 3)))
    start = synthetic_result.records[0]
    looks = (
        Look(Seen("start_speed", 0.3, 0.1), "tail", "used", 0.4, "", start, start),
        Look(Seen("verdict", None, 0.1, "eye", "kicks", speed=0.4), "", "refused", None, "nobody"),
    )
    return dataclasses.replace(
        synthetic_result,
        motions=(motion,),
        flights=(flight,),
        surfaces=(surface,),
        looks=looks,
        narrowed=(("durometer", 0.6), ("water", 0.9)),
    )


def test_a_run_comes_back_as_written(full_result, tmp_path):
    stored = read_run(results_file.write_run(full_result, tmp_path / "results.h5"))
    assert equal(stored.result, full_result)
    assert stored.versions["simsoft"] == simsoft.__version__
    assert stored.created.endswith("+00:00")


def test_a_lost_number_is_noticed(full_result):
    moved = dataclasses.replace(full_result.traces[0], edges=full_result.traces[0].edges + 1e-9)
    changed = dataclasses.replace(full_result, traces=(moved, *full_result.traces[1:]))
    assert not equal(changed, full_result)


@pytest.mark.parametrize("name", ["paddle_100", "creature_95", "stick_127", "finesse_90"])
def test_a_checked_case_comes_back_from_its_text(name):
    case = load(f"cases/{name}.toml")
    assert from_json(to_json(case)) == case


@pytest.mark.parametrize("text", ["", "{}", '{"title": 3}', "[1]"])
def test_text_that_is_no_case_is_refused(text):
    with pytest.raises(ValueError, match="not a stored case"):
        from_json(text)


def test_a_file_of_an_older_version_says_what_to_do(full_result, tmp_path):
    path = results_file.write_run(full_result, tmp_path / "results.h5")
    with h5py.File(path, "a") as file:
        del file["case_checked"]
    with pytest.raises(InputError, match=r"results\.h5: written by an older simsoft; run the case"):
        read_run(path)


@pytest.mark.parametrize("broken", ["traces", "records/json", "case_text"])
def test_a_hollow_file_is_a_clear_line(full_result, tmp_path, broken):
    path = results_file.write_run(full_result, tmp_path / "results.h5")
    with h5py.File(path, "a") as file:
        del file[broken]
    with pytest.raises(InputError, match=r"results\.h5: cannot be read as a results file"):
        read_run(path)


def test_something_else_is_a_clear_line(tmp_path):
    (tmp_path / "notes.h5").write_text("not HDF5")
    with pytest.raises(InputError, match=r"notes\.h5: cannot be read as a results file"):
        read_run(tmp_path / "notes.h5")


def test_a_damaged_file_is_refused_before_the_library_sees_it(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 4
    path.write_bytes(bytes(data))
    with pytest.raises(InputError, match="is damaged, its checksum does not fit"):
        read_run(path)
