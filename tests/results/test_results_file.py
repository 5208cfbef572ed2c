"""The results file: complete, readable with h5py alone, whole or not there."""

import dataclasses
import hashlib
import json
import os

import h5py
import numpy as np
import pytest

from simsoft.core.errors import InputError, OutputError
from simsoft.core.files import whole_file, write_text
from simsoft.results import hdf5 as results_file
from simsoft.results.hdf5_reader import read_run


def test_records_come_back_as_written(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")
    assert read_run(path).result.records == synthetic_result.records


def test_every_dataset_has_units_and_a_long_name(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")
    found = []

    def visit(name, item):
        if isinstance(item, h5py.Dataset):
            found.append(name)
            assert item.attrs["units"], name
            assert item.attrs["long_name"], name

    with h5py.File(path) as file:
        file.visititems(visit)
    assert {"case_text", "records/value", "traces/000/tip", "shapes/001/paddle"} <= set(found)


def test_every_dimension_of_an_array_has_a_scale(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")

    def visit(name, item):
        if isinstance(item, h5py.Dataset) and not item.is_scale:
            assert all(len(dimension) == 1 for dimension in item.dims), name

    with h5py.File(path) as file:
        file.visititems(visit)
        assert file["traces/000/tip"].dims[0][0].name == "/traces/000/time"


def test_arrays_are_those_of_the_run(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")
    with h5py.File(path) as file:
        for number, trace in enumerate(synthetic_result.traces):
            group = file[f"traces/{number:03d}"]
            assert group.attrs["part"] == trace.part
            assert group["speed"][()] == trace.speed
            for name in ("time", "tip", "tangent", "force", "moment", "wake", "strobe"):
                np.testing.assert_array_equal(group[name][()], getattr(trace, name))
            assert group["energy/residual"][()] == trace.energy["residual"]
        for number, shape in enumerate(synthetic_result.shapes):
            group = file[f"shapes/{number:03d}"]
            assert group.attrs["label"] == shape.label
            for name in ("centreline", "edges", "paddle"):
                np.testing.assert_array_equal(group[name][()], getattr(shape, name))


def test_case_text_carries_its_checksum_and_the_versions_are_there(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")
    with h5py.File(path) as file:
        text = file["case_text"].asstr()[()]
        assert text == synthetic_result.case.text
        expected = hashlib.sha256(text.encode()).hexdigest()
        assert file["case_text"].attrs["sha256"] == expected
        versions = json.loads(file.attrs["versions"])
        assert {"python", "simsoft", "numpy", "scipy", "numba", "h5py"} <= set(versions)
        assert list(file["warnings"].asstr()[()]) == list(synthetic_result.warnings)


def test_columns_hold_the_scalar_numbers(synthetic_result, tmp_path):
    path = results_file.write_run(synthetic_result, tmp_path / "results.h5")
    with h5py.File(path) as file:
        names = file["records/quantity"].asstr()[()]
        row = list(names).index("start_speed")
        low, value, high = (file[f"records/{name}"][row] for name in ("low", "value", "high"))
        assert (low, value, high) == (0.16, 0.243, 0.36)
        assert np.isnan(file["records/value"][list(names).index("tip_position")])


def test_a_run_without_anything_is_still_a_file(synthetic_result, tmp_path):
    bare = dataclasses.replace(synthetic_result, records=(), warnings=(), shapes=(), traces=())
    assert read_run(results_file.write_run(bare, tmp_path / "bare.h5")).result.records == ()


def test_parts_without_a_paddle_are_written(synthetic_result, tmp_path):
    shape = dataclasses.replace(synthetic_result.shapes[0], paddle=np.empty((0, 3)))
    result = dataclasses.replace(synthetic_result, shapes=(shape,))
    with h5py.File(results_file.write_run(result, tmp_path / "strip.h5")) as file:
        assert file["shapes/000/paddle"].shape == (0, 3)


@pytest.mark.parametrize(
    "failure", [RuntimeError("disc\nfull"), OSError(28, "No space left on device")]
)
def test_failure_in_the_middle_keeps_the_old_file(synthetic_result, tmp_path, monkeypatch, failure):
    path = tmp_path / "results.h5"
    path.write_bytes(b"the old one")

    def fail(*_):
        raise failure

    monkeypatch.setattr(results_file, "_write_shape", fail)
    with pytest.raises(OutputError) as caught:
        results_file.write_run(synthetic_result, path)
    message = str(caught.value)
    assert message.startswith(f"{path}: cannot write, ")
    assert message.endswith(("disc full", "No space left on device"))
    assert path.read_bytes() == b"the old one"
    assert os.listdir(tmp_path) == ["results.h5"]


def test_interrupt_leaves_no_file(synthetic_result, tmp_path, monkeypatch):
    def interrupt(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(results_file, "_write_trace", interrupt)
    with pytest.raises(KeyboardInterrupt):
        results_file.write_run(synthetic_result, tmp_path / "results.h5")
    assert os.listdir(tmp_path) == []


def test_failed_rename_leaves_no_file(synthetic_result, tmp_path, monkeypatch):
    def fail(*_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("simsoft.core.files.os.replace", fail)
    with pytest.raises(OutputError, match=r"results\.h5: cannot write, Permission denied"):
        results_file.write_run(synthetic_result, tmp_path / "results.h5")
    assert os.listdir(tmp_path) == []


def test_path_that_is_a_directory_is_refused(synthetic_result, tmp_path):
    with pytest.raises(OutputError, match="cannot write, a directory has this name"):
        results_file.write_run(synthetic_result, tmp_path)
    assert os.listdir(tmp_path) == []


def test_missing_directory_is_named(synthetic_result, tmp_path):
    with pytest.raises(OutputError, match=r"there is no directory .*nowhere"):
        results_file.write_run(synthetic_result, tmp_path / "nowhere" / "results.h5")


def test_unwritable_directory_is_one_line(synthetic_result, tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o555)
    if os.access(folder, os.W_OK):
        # The superuser writes anywhere on an ordinary disc; the process table refuses even it.
        folder = type(tmp_path)("/proc/self")
    with pytest.raises(OutputError) as caught:
        results_file.write_run(synthetic_result, folder / "results.h5")
    assert str(caught.value) in {
        f"{folder / 'results.h5'}: cannot write, {reason}"
        for reason in ("Permission denied", "No such file or directory")
    }


def test_reading_something_else_is_a_clear_line(tmp_path):
    other = tmp_path / "notes.txt"
    other.write_text("not HDF5")
    with pytest.raises(InputError, match=r"notes\.txt: cannot be read as a results file"):
        read_run(other)
    with h5py.File(tmp_path / "other.h5", "w") as file:
        file["x"] = 1.0
    with pytest.raises(InputError, match=r"other\.h5: not a results file of the format"):
        read_run(tmp_path / "other.h5")


def test_results_file_without_its_tables_is_a_clear_line(tmp_path):
    with h5py.File(tmp_path / "hollow.h5", "w") as file:
        file.attrs["format"] = results_file.FORMAT
        file["case_checked"] = "{}"
    with pytest.raises(InputError, match=r"hollow\.h5: cannot be read as a results file"):
        read_run(tmp_path / "hollow.h5")


def test_name_too_long_for_the_disc_is_one_line(tmp_path):
    with pytest.raises(OutputError, match="cannot write, File name too long"):
        write_text(tmp_path / ("x" * 300), "text")


def test_text_file_is_whole(tmp_path):
    path = write_text(tmp_path / "summary.txt", "20 °C\n")
    assert path.read_text(encoding="utf-8") == "20 °C\n"
    with pytest.raises(OutputError, match="surrogates not allowed"):
        write_text(path, "half \ud800")
    assert path.read_text(encoding="utf-8") == "20 °C\n"
    assert os.listdir(tmp_path) == ["summary.txt"]


def test_writer_that_writes_nothing_is_an_error(tmp_path):
    with (
        pytest.raises(OutputError, match="cannot write, No such file"),
        whole_file(tmp_path / "empty.bin"),
    ):
        pass
    assert os.listdir(tmp_path) == []
