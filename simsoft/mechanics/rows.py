"""Rows of matrices (6, 6) as six numbers each.

What is read from an array has to be read again after every write, since two arrays may share their
memory; numbers taken out of it stay in the processor, several to one instruction.
"""

from __future__ import annotations

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel

Row = tuple[float, float, float, float, float, float]


@lean_kernel()
def take_row(matrix: Array, i: int) -> Row:
    """Return row i."""
    row = matrix[i]
    return row[0], row[1], row[2], row[3], row[4], row[5]


@lean_kernel()
def put_row(matrix: Array, i: int, row: Row) -> None:
    """Write row i."""
    for j in range(6):
        matrix[i, j] = row[j]


@lean_kernel()
def mixed(a: float, x: Row, b: float, y: Row, c: float, z: Row) -> Row:
    """Return a x + b y + c z."""
    return (
        a * x[0] + b * y[0] + c * z[0],
        a * x[1] + b * y[1] + c * z[1],
        a * x[2] + b * y[2] + c * z[2],
        a * x[3] + b * y[3] + c * z[3],
        a * x[4] + b * y[4] + c * z[4],
        a * x[5] + b * y[5] + c * z[5],
    )


@lean_kernel()
def plus(x: Row, y: Row) -> Row:
    """Return x + y."""
    return x[0] + y[0], x[1] + y[1], x[2] + y[2], x[3] + y[3], x[4] + y[4], x[5] + y[5]


@lean_kernel()
def less(x: Row, y: Row) -> Row:
    """Return x - y."""
    return x[0] - y[0], x[1] - y[1], x[2] - y[2], x[3] - y[3], x[4] - y[4], x[5] - y[5]


@lean_kernel()
def added_up(start: float, x: Row, y: Row) -> float:
    """Return ``start`` and the products of x and y, added from first to last."""
    half = start + x[0] * y[0] + x[1] * y[1] + x[2] * y[2]
    return half + x[3] * y[3] + x[4] * y[4] + x[5] * y[5]


@lean_kernel()
def product(matrix: Array, x: Row) -> Row:
    """Return a matrix (6, 6) times a row taken as a column."""
    return (
        added_up(0.0, take_row(matrix, 0), x),
        added_up(0.0, take_row(matrix, 1), x),
        added_up(0.0, take_row(matrix, 2), x),
        added_up(0.0, take_row(matrix, 3), x),
        added_up(0.0, take_row(matrix, 4), x),
        added_up(0.0, take_row(matrix, 5), x),
    )


@lean_kernel()
def scaled(c: float, x: Row) -> Row:
    """Return c x."""
    return c * x[0], c * x[1], c * x[2], c * x[3], c * x[4], c * x[5]


@lean_kernel()
def more(x: Row, c: float, y: Row) -> Row:
    """Return x + c y."""
    return (
        x[0] + c * y[0],
        x[1] + c * y[1],
        x[2] + c * y[2],
        x[3] + c * y[3],
        x[4] + c * y[4],
        x[5] + c * y[5],
    )
