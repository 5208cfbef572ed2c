"""How thick a part is along its length as drawn: its own sizes, and the soft body ahead of a stem.

A held paddle tail may begin in the body, where the hook ends (``geometry.soft_lengths``). The
place of its clamp tells how much of it is body; that length is drawn as thick as the body.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.results.result import RunResult

NEAR = 1e-6  # [m] between a clamp and where the case puts it


class Thickness(NamedTuple):
    """Half thicknesses of a part [m]: of its sections from clamp to tip, and of its paddle."""

    stations: Array
    values: Array
    paddle: float

    @property
    def most(self) -> float:
        """The largest half thickness [m]."""
        return max(float(self.values.max()), self.paddle)


def part_of(result: RunResult, name: str) -> Any:
    """Return the part of the case that a strip belongs to: ``claw`` of ``claw/left``; or None."""
    fitting = [p for p in result.case.parts if name == p.name or name.startswith(f"{p.name}/")]
    return max(fitting, key=lambda part: len(part.name), default=None)


def soft_ahead(part: Any, root: Array) -> float:
    """Return the length [m] of soft body between a clamp ``root`` (3,) [m] and a part's stem."""
    ahead = float(part.position[0] - root[0])
    return ahead if part.paddle is not None and ahead > NEAR else 0.0


def thickness_of(result: RunResult, name: str, root: Array) -> Thickness | None:
    """Return how thick a part clamped at ``root`` is, None where the case has none of that name.

    The halves of a pair and the lobes of a fork carry the name of their part before a slash.
    """
    part = part_of(result, name)
    if part is None:
        return None
    stations = np.asarray(part.thickness.stations)
    halves = 0.5 * np.asarray(part.thickness.values)
    plate = 0.0 if part.paddle is None else 0.5 * part.paddle.thickness
    ahead, body = soft_ahead(part, root), result.case.body
    if ahead > 0.0 and body is not None:
        length = ahead + part.length
        places = np.linspace(0.0, ahead, 9)
        share = (root[0] + places) / body.length
        wide = 0.5 * np.interp(share, body.width.stations, body.width.values)
        stations = np.concatenate([places, ahead + part.length * stations]) / length
        halves = np.concatenate([wide, halves])
    return Thickness(stations, halves, plate)
