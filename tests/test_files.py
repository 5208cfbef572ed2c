"""Files written whole or not at all, whatever the disk, the user or a kill does."""

import os
import random
import subprocess
import sys

import h5py
import numpy as np
import pytest

from simsoft.core import files
from simsoft.core.errors import OutputError
from simsoft.core.files import is_damaged, whole_file, whole_hdf5, write_text

posix = pytest.mark.skipif(os.name != "posix", reason="processes and limits of this system")


def test_an_hdf5_file_made_in_memory_reads_back_and_is_the_same_each_time(tmp_path):
    values = np.arange(5000.0)
    for name in ("a.h5", "b.h5"):
        with whole_hdf5(tmp_path / name, libver="latest") as file:
            file.create_dataset("values", data=values, compression="gzip")
            file.attrs["unit"] = "m"
    assert (tmp_path / "a.h5").read_bytes() == (tmp_path / "b.h5").read_bytes()
    with h5py.File(tmp_path / "a.h5") as file:
        assert (file["values"][:] == values).all()
        assert file.attrs["unit"] == "m"


def test_a_failing_block_leaves_the_old_hdf5_file(tmp_path):
    write_text(tmp_path / "a.h5", "old")
    with pytest.raises(OutputError, match="no reason"), whole_hdf5(tmp_path / "a.h5"):
        raise ValueError("no reason")
    assert [p.name for p in tmp_path.iterdir()] == ["a.h5"]
    assert (tmp_path / "a.h5").read_text() == "old"


FILL = """
import resource, sys
from pathlib import Path
import numpy as np
from simsoft.core.errors import OutputError
from simsoft.core.files import whole_hdf5
folder = Path(sys.argv[1])
for size in range(4096, 400_000, 4096):
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
    try:
        with whole_hdf5(folder / "a.h5") as file:
            for i in range(30):
                file.create_dataset(str(i), data=np.arange(800.0))
    except OutputError as error:
        assert "cannot write, File too large" in str(error), error
        assert list(folder.iterdir()) == []
    else:
        print("written at", size)
        break
"""


@posix
def test_a_disk_that_is_full_at_any_4_kb_ends_no_process(tmp_path):
    found = subprocess.run(
        [sys.executable, "-c", FILL, str(tmp_path)], capture_output=True, text=True
    )
    assert found.returncode == 0, found.stderr
    assert found.stderr == ""
    assert found.stdout.startswith("written at")
    assert [p.name for p in tmp_path.iterdir()] == ["a.h5"]


KILLED = """
import os, sys
from simsoft.core.files import whole_file
with whole_file(sys.argv[1]) as temporary:
    temporary.write_text("half")
    os.kill(os.getpid(), 9)
"""


@posix
def test_what_a_kill_left_goes_with_the_next_writing(tmp_path):
    target = tmp_path / "maps.png"
    subprocess.run([sys.executable, "-c", KILLED, str(target)])
    (left,) = tmp_path.iterdir()
    assert left.name.endswith(".part.png")
    write_text(target, "whole")
    assert [p.name for p in tmp_path.iterdir()] == ["maps.png"]


@posix
def test_what_another_process_is_writing_stays(tmp_path):
    target = tmp_path / "maps.png"
    with whole_file(target) as other:
        other.write_text("under way")
        write_text(target, "whole")
        assert other.read_text() == "under way"
    foreign = tmp_path / ".maps.0123abcd-999999999-00000000.part.png"
    foreign.write_text("of another machine")
    write_text(target, "whole")
    assert foreign.exists()


def test_only_the_dead_are_dead():
    assert files._is_alive(os.getpid())
    if os.name == "posix":
        assert not files._is_alive(2**22 + 1)


def test_no_turned_bit_of_an_hdf5_file_passes_for_the_file(tmp_path):
    path = tmp_path / "a.h5"
    with whole_hdf5(path, libver="latest") as file:
        file.create_dataset("values", data=np.arange(300.0))
    whole = path.read_bytes()
    content = len(whole) - len(files.SEAL) - 32
    assert not is_damaged(path)
    for bit in random.Random(4).sample(range(8 * len(whole)), 200):
        changed = bytearray(whole)
        changed[bit // 8] ^= 1 << bit % 8
        path.write_bytes(bytes(changed))
        if bit // 8 < content:
            assert is_damaged(path), bit
        elif not is_damaged(path):  # the seal itself is gone, not the content
            with h5py.File(path) as file:
                assert (file["values"][:] == np.arange(300.0)).all()


def test_a_file_without_a_seal_is_not_called_damaged(tmp_path):
    with h5py.File(tmp_path / "a.h5", "w") as file:
        file["x"] = 1.0
    assert not is_damaged(tmp_path / "a.h5")
    assert not is_damaged(tmp_path / "none.h5")
