"""Axes of a mesh's file in words, and frames about an axis."""

from __future__ import annotations

import re

import numpy as np

from simsoft.case.wording import printable
from simsoft.core.arrays import Array

SNAP = np.radians(1.5)  # nearer to the file's own axes than this, those are meant
AXES = {"x": 0, "y": 1, "z": 2}
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
_VECTOR = re.compile(rf"{_NUMBER},{_NUMBER},{_NUMBER}", re.ASCII)
_LONGEST = 60  # letters of a vector


class Unclear(ValueError):
    """What a mesh cannot tell; the message is the question."""


def direction(word: str) -> Array:
    """Return a direction of the file: '+x', '-z', 'y', or a vector such as '0,0.5,0.87'.

    Raises
    ------
    ValueError
        The word names no direction.
    """
    if len(word) <= _LONGEST and _VECTOR.fullmatch(word):
        result = np.array([float(part) for part in word.split(",")])
        size = float(np.linalg.norm(result))
        if 0.0 < size < np.inf:
            return np.asarray(result / size)
    sign, name = (word[0], word[1:]) if word[:1] in "+-" and len(word) == 2 else ("+", word)
    if name not in AXES:
        raise ValueError(
            f"`{printable(word)}` is no axis of the file; allowed are +x, -x, +y, -y, +z, -z, "
            "or a vector such as 0,0.5,0.87"
        )
    result = np.zeros(3)
    result[AXES[name]] = -1.0 if sign == "-" else 1.0
    return result


def axis_word(vector: Array) -> str:
    """Return the shortest word that `direction` reads as a unit vector (3,)."""
    k = int(np.argmax(np.abs(vector)))
    sign = "+" if vector[k] > 0.0 else "-"
    if abs(vector[k]) > np.cos(SNAP):
        return f"{sign}{'xyz'[k]}"
    return ",".join(f"{0.0 + round(float(v), 2):g}" for v in vector)


def frame_about(axis: Array) -> Array:
    """Return any right-handed frame whose first row is an axis, near to the file's."""
    helper = np.eye(3)[int(np.argmin(np.abs(axis)))]
    side = np.cross(helper, axis)
    side /= np.linalg.norm(side)
    return np.array([axis, side, np.cross(axis, side)])


def are_file_axes(axes: Array) -> bool:
    """Tell whether a frame's rows are the file's own axes, in any order."""
    return bool(np.allclose(np.abs(axes).max(axis=1), 1.0))


def snapped(axes: Array) -> Array:
    """Return the file's own axes where a frame is as good as these."""
    nearest = np.zeros((3, 3))
    for row in (0, 1):
        column = int(np.argmax(np.abs(axes[row])))
        nearest[row, column] = np.sign(axes[row, column])
    nearest[2] = np.cross(nearest[0], nearest[1])
    angle = np.arccos(np.clip(0.5 * (np.trace(nearest @ axes.T) - 1.0), -1.0, 1.0))
    return nearest if angle < SNAP and np.abs(nearest).sum() == 3.0 else axes
