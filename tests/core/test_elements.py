"""An element of an array is found where NumPy finds it, whatever the layout and the index."""

import numpy as np
import pytest

from simsoft.core.compiled import kernel


@kernel()
def swapped(values, i, j):
    found = values[i, j], values[-1, j], values[i, -2]
    values[i, j] = 7
    values[-1, 0] += 1.5
    return found


@kernel()
def ends(values, k):
    values[k] *= 2
    values[-1] = values[0]
    return values[k], values[1:][0]


@kernel()
def rows(values, k):
    values[k] = values[0]
    values[1, 1:] = 4.0
    return values[k, 0]


ARRAYS = {
    "in rows": np.arange(12.0).reshape(3, 4),
    "turned": np.arange(12.0).reshape(4, 3).T,
    "every second": np.arange(48.0).reshape(6, 8)[::2, ::2],
    "backward": np.arange(12.0).reshape(3, 4)[::-1, ::-1],
    "complex": np.arange(12.0).reshape(3, 4) * (1.0 + 2.0j),
    "whole": np.arange(12).reshape(3, 4) * 2.0,
}


@pytest.mark.parametrize("name", ARRAYS)
@pytest.mark.parametrize("place", [(0, 0), (2, 1), (-3, -1), (-1, 3)])
def test_an_element_is_that_of_numpy(name, place):
    compiled, plain = ARRAYS[name].copy(order="K"), ARRAYS[name].copy(order="K")
    if name in ("every second", "backward"):
        compiled, plain = spread(ARRAYS[name]), spread(ARRAYS[name])
    assert swapped(compiled, *place) == swapped.py_func(plain, *place)
    np.testing.assert_array_equal(compiled, plain)


def spread(values):
    """Return a copy that does not lie in one piece."""
    wide = np.zeros((2 * values.shape[0], 2 * values.shape[1]), values.dtype)
    wide[::2, ::2] = values
    return wide[::2, ::2]


@pytest.mark.parametrize("kind", [np.float64, np.int64, np.complex128, np.bool_])
@pytest.mark.parametrize("k", [0, -2])
def test_one_axis(kind, k):
    compiled, plain = np.array([1, 0, 1], dtype=kind), np.array([1, 0, 1], dtype=kind)
    if kind is np.bool_:
        assert rows_of(compiled, k) == rows_of.py_func(plain, k)
    else:
        assert ends(compiled, k) == ends.py_func(plain, k)
    np.testing.assert_array_equal(compiled, plain)


@kernel()
def rows_of(values, k):
    values[k] = not values[k]
    return values[k]


def test_rows_and_slices_are_left_to_the_compiler():
    compiled, plain = np.arange(6.0).reshape(2, 3), np.arange(6.0).reshape(2, 3)
    assert rows(compiled, 1) == rows.py_func(plain, 1)
    np.testing.assert_array_equal(compiled, plain)
