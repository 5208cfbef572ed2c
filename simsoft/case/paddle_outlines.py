"""The outlines that a paddle may have, one row each.

To add one: a row here. Keys, rules, inertia, added mass, meshes, drawings and pages take it from
there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class PaddleOutline:
    """One outline: an oval, or four-sided with level edges.

    Attributes
    ----------
    word : str, of ``paddle_shape``
    keys : tuple of str, that give its size: one for width and height both, or one each
    oval : bool
    lower, upper : float, lengths of the lower and the upper edge over the width
    """

    word: str
    keys: tuple[str, ...]
    oval: bool = False
    lower: float = 1.0
    upper: float = 1.0

    @property
    def fill(self) -> float:
        """Area over width times height."""
        return 0.25 * math.pi if self.oval else 0.5 * (self.lower + self.upper)

    @property
    def second(self) -> tuple[float, float]:
        """Second moments of the area about its middle over area and height, width squared."""
        if self.oval:
            return 1.0 / 16.0, 1.0 / 16.0
        a, b = self.lower, self.upper
        return (a**2 + 4.0 * a * b + b**2) / (18.0 * (a + b) ** 2), (a**2 + b**2) / 24.0

    @property
    def middle(self) -> float:
        """Height of the area's middle above that of the box around it, in half heights."""
        a, b = self.lower, self.upper
        return 0.0 if self.oval else 2.0 * ((a + 2.0 * b) / (a + b) / 3.0) - 1.0

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Corners from the area's middle, in half widths and heights, the lower left first."""
        low, high = -1.0 - self.middle, 1.0 - self.middle
        a, b = self.lower, self.upper
        return (-a, low), (a, low), (b, high), (-b, high)


PADDLE_OUTLINES = {
    row.word: row
    for row in (
        PaddleOutline("disc", ("paddle_diameter",), oval=True),
        PaddleOutline("boot", ("paddle_width", "paddle_height")),
    )
}


def outline_of(shape: str) -> PaddleOutline:
    """Return the outline of a word of ``paddle_shape``."""
    return PADDLE_OUTLINES[shape]
