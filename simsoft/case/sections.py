"""Sections of a body measured on a mesh, as plain numbers that a stored case carries."""

from __future__ import annotations

from dataclasses import dataclass

Row = tuple[float, ...]


@dataclass(frozen=True)
class MeshSections:
    """Sections across x at even steps from nose to tail, SI.

    Attributes
    ----------
    height, width : tuple of float [m], outer sizes
    area : tuple of float [m^2], of soft material
    centre : tuple of float [m], height z of the area's centre
    second_y, second_z : tuple of float [m^4], int z^2 dA and int y^2 dA about the x axis
    outline : tuple of float [m^2], area within the hull
    perimeter : tuple of float [m], of the hull
    """

    height: Row
    width: Row
    area: Row
    centre: Row
    second_y: Row
    second_z: Row
    outline: Row
    perimeter: Row
