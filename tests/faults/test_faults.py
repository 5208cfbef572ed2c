"""A bounded share of the faults for every run of the tests; ``run.py`` is the long one."""

from __future__ import annotations

import time
from collections import Counter
from pathlib import Path

import flips
import full
import inject
import kills
import pytest
import run
import sweeps
import tally

posix = pytest.mark.skipif(not hasattr(inject.os, "fork"), reason="processes of this system")


def fine(found: Counter[str]) -> bool:
    return not set(found) - tally.FINE and found.total() > 0


@posix
def test_a_fast_sweep_killed_again_and_again_ends_equal(tmp_path: Path) -> None:
    found = kills.killed("fast", tmp_path, 6, 99)
    assert fine(found), found
    assert found["kills"] == 6


@posix
def test_a_disk_that_is_full_stops_a_sweep_in_one_line_and_it_goes_on_later(tmp_path: Path) -> None:
    found = full.of_sweep(tmp_path, most=4)
    assert fine(found), found
    assert found["one line, exit 1"] > 0
    assert found["resumed equal"] == found["one line, exit 1"] + found["enough"]


@pytest.mark.parametrize("name", ["rows.sqlite", "sweep.h5"])
def test_a_sweep_over_its_damaged_file_ends_equal(tmp_path: Path, name: str) -> None:
    assert fine(flips.of_sweep_file(tmp_path, name, 3, 99))


@pytest.mark.parametrize("kind", run.TEXTS)
def test_plain_text_with_a_turned_bit_is_read_or_refused(tmp_path: Path, kind: str) -> None:
    assert fine(flips.of_text(kind, tmp_path, 8, 99))


def test_a_damaged_lock_or_list_of_files_does_no_harm(tmp_path: Path) -> None:
    assert fine(flips.of_lock(tmp_path, 20, 99))
    assert fine(flips.of_list(tmp_path, 20, 99))


def test_a_clock_that_jumps_loses_nothing(tmp_path: Path) -> None:
    case, whole = sweeps.warmed("fast", tmp_path)
    for number, jump in enumerate((-1e9, 1e9, 86_400.0)):
        out = tmp_path / f"out{number}"
        with inject.jumping_clock(iter([0.0, jump] * 10_000)), pytest.raises(SystemExit) as ended:
            sweeps.sweep("fast", case, out)()
        assert ended.value.code == 0
        assert sweeps.written(out) == whole
        for path in out.iterdir():
            inject.os.utime(path, (time.time() + jump, time.time() + jump))
        with pytest.raises(SystemExit):
            sweeps.sweep("fast", case, out)()
        assert sweeps.written(out) == whole
