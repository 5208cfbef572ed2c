"""The same question gives the same bytes: twice, on one core and all, whatever the hash seed."""

import bit_equal
import pytest

from simsoft.case.starter import demo_files

STRIP = """
title = "Test strip"
[material]
durometer = "50 OO"
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"
[numerics]
elements = 8
[[scenarios]]
name = "tank"
kind = "hold"
"""


def test_a_run_is_equal_to_the_bit(tmp_path):
    (tmp_path / "strip.toml").write_text(STRIP)
    found = {bit_equal.of_run("strip.toml", tmp_path, where) for where in bit_equal.RUN[1:]}
    assert len(found) == 1


def test_a_sweep_is_equal_to_the_bit_with_one_worker_and_two(tmp_path):
    (tmp_path / "strip.toml").write_text(STRIP)
    vary = "parts.strip.thickness=1:2:0.5 mm"
    found = {
        bit_equal.of_sweep("strip.toml", tmp_path, where, workers, vary)
        for where, workers in bit_equal.SWEEP.items()
    }
    assert len(found) == 1


@pytest.mark.slow
@pytest.mark.parametrize("demo", sorted(demo_files()))
def test_a_demo_is_equal_to_the_bit(tmp_path, demo):
    case = demo_files()[demo]
    assert len({bit_equal.of_run(case, tmp_path, where) for where in bit_equal.RUN}) == 1


@pytest.mark.slow
@pytest.mark.parametrize("demo", sorted(demo_files()))
def test_a_sweep_of_a_demo_is_equal_to_the_bit(tmp_path, demo):
    found = {
        bit_equal.of_sweep(demo_files()[demo], tmp_path, where, workers)
        for where, workers in bit_equal.SWEEP.items()
    }
    assert len(found) == 1
