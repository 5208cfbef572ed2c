"""Named tuples are handed to kernels by reference, and none outlives the kernel that made it."""

from typing import Any, NamedTuple

import numpy as np
import pytest
from numba.core.errors import TypingError

from simsoft.core.compiled import kernel, lean_kernel
from simsoft.core.references import MARK, whole


class Inner(NamedTuple):
    row: Any
    on: bool
    scale: float


class Outer(NamedTuple):
    table: Any
    inner: Inner
    count: int


def outer():
    return Outer(np.arange(6.0).reshape(2, 3), Inner(np.array([1.0, 2.0]), True, 0.5), 7)


@lean_kernel()
def leaf(inner, k):
    return inner.row[k] * inner.scale if inner.on else 0.0


@lean_kernel()
def branch(found, k):
    found.table[1, 2] += 1.0
    return leaf(found.inner, k) + found.table[1, 2] + found.count


@kernel()
def trunk(found):
    return branch(found, 0), branch(found, 1)


@kernel()
def made(size):
    inner = Inner(np.ones(size), False, 2.0)
    return branch(Outer(np.zeros((2, 3)), inner, size), 0)


def test_fields_are_read_and_written_through_a_reference():
    found = outer()
    assert trunk(found) == (0.5 + 6.0 + 7, 1.0 + 7.0 + 7)
    assert found.table[1, 2] == 7.0
    assert [kind.args[0].name.startswith(MARK) for kind in called(branch)] == [True]


def test_a_kernel_hands_on_a_tuple_that_it_makes():
    assert made(3) == 4.0


@kernel()
def kept(found):
    return [whole(found)][0].inner.scale


@kernel()
def listed(found):
    return [found][0].count


@kernel()
def returned(found):
    return found


@kernel()
def told(found):
    return returned(found).count


def test_a_tuple_that_is_kept_is_kept_whole():
    assert kept(outer()) == 0.5
    assert whole(3) == 3
    for kernel_that_keeps in (listed, told):
        with pytest.raises(TypingError, match="write whole"):
            kernel_that_keeps(outer())


def called(function):
    """Signatures with which other kernels have called a kernel."""
    return [found.signature for found in function.get_overload.__self__.overloads.values()]
