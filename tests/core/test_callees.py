"""Kernels that kernels call are taken in as code; only what Python calls is kept."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
from numba import prange

import simsoft
from simsoft.core.callees import KernelLibrary, SharedFlags
from simsoft.core.compiled import kernel, lean_kernel

SCRIPT = """
import numpy as np
from simsoft.core.compiled import kernel, lean_kernel

@lean_kernel()
def leaf(values, i, x):
    values[i] += x

@lean_kernel()
def branch(values, x):
    for i in range(values.shape[0]):
        leaf(values, i, x)

@kernel()
def trunk(values):
    branch(values, 2.0)
    branch(values, 1.0)
    return values.sum()

print(trunk(np.zeros(3)), sum(trunk.stats.cache_hits.values()), len(leaf.overloads))
"""


def test_only_what_python_calls_is_kept(tmp_path):
    script = tmp_path / "tree.py"
    script.write_text(SCRIPT)
    environment = {
        **os.environ,
        "SIMSOFT_CACHE": str(tmp_path / "cache"),
        "PYTHONPATH": str(Path(simsoft.__file__).parents[1]),
    }
    for hits in (0, 1):
        found = subprocess.run(
            [sys.executable, str(script)], env=environment, capture_output=True, text=True
        )
        assert found.stdout.split() == ["9.0", str(hits), "0"], found.stderr
    kept = {path.name.split("-")[0] for path in (tmp_path / "cache").rglob("*.nb?")}
    assert kept == {"tree.trunk"}


@lean_kernel()
def halved(values, i):
    values[i] *= 0.5


@kernel()
def halve_all(values):
    for i in range(values.shape[0]):
        halved(values, i)


def test_a_kernel_can_be_called_from_python_and_from_kernels():
    values = np.array([2.0, 4.0])
    halve_all(values)
    halved(values, 1)
    np.testing.assert_array_equal(values, [1.0, 1.0])


def test_sums_have_the_digits_of_python_whatever_is_optimised():
    """No level of the compiler may put sums into another order or join products to them."""

    @kernel()
    def added(values):
        total = 0.0
        for value in values:
            total += value * value
        return total

    values = np.random.default_rng(3).normal(size=1001)
    assert added(values) == added.py_func(values)
    (result,) = added.overloads.values()
    assert isinstance(result.library, KernelLibrary) or added.stats.cache_hits


def test_settings_are_the_same_where_the_same_was_set():
    one, other = SharedFlags(), SharedFlags()
    assert one == other
    assert hash(one) == hash(other)
    one.nrt = True
    assert one != other
    other.nrt = True
    assert one == other
    assert one.copy() == one


@kernel(parallel=True)
def halve_side_by_side(values):
    for i in prange(values.shape[0]):
        halved(values, i)
    return np.zeros(2).sum() + values.sum()


def test_a_kernel_on_several_threads_takes_in_its_callees():
    assert halve_side_by_side(np.ones(8)) == 4.0
