"""What was understood of a bait: sizes in mm and degrees, in a case's axes, with their doubt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simsoft.core.arrays import Array
from simsoft.drawn.solid import arrays

FEW = 8  # points at an end that make a face of it


@dataclass(frozen=True)
class EndPlate:
    """The plate at the end of a stem.

    Attributes
    ----------
    shape : 'disc' or 'boot', the nearer of the two
    width, height : float [mm], of the outline, across the kick and upright
    area : float [mm^2], of the outline
    thickness : float [mm], volume over area
    angle : float [deg], between plate and stem
    offset : float [mm], centre below the stem's axis
    outline : array (n, 2) [mm], across and upright from the plate's centre
    map : array (m, 3) [mm], across, upright, thickness there
    centre, normal, upright : arrays (3,) of the plate's middle plane
    fullness : float [-], area over width times height
    """

    shape: str
    width: float
    height: float
    area: float
    thickness: float
    angle: float
    offset: float
    outline: Array
    map: Array
    centre: Array
    normal: Array
    upright: Array
    fullness: float


@dataclass(frozen=True)
class Appendage:
    """One soft part that stands off the trunk.

    Attributes
    ----------
    kind : str, as in a case
    name : str
    solid : manifold3d.Manifold [mm], the part cut off the trunk
    position, direction, width_axis : arrays (3,), its root, where it leaves it, its flat
    length : float [mm], along the middle line
    at : array (n,) [-], stations along the length
    width, thickness : arrays (n,) [mm]
    line : array (n, 3) [mm], the middle line
    section : 'rectangle' or 'ellipse'
    arc_angle : float [deg], turning of the middle line; 0 for a straight part
    curl : 'across' or 'in-plane'
    fork_angle : float [deg], of a forked tail; 0 otherwise
    mirrored : bool, one of a pair
    plate : EndPlate or None
    narrowest : float [mm], place along x of the section that bends most easily
    doubt : float [mm], of width and thickness
    root_doubt : float [mm], of where it leaves the trunk: no shoulder, or a root that two share
    notes : tuple of str
    """

    kind: str
    name: str
    solid: Any
    position: Array
    direction: Array
    width_axis: Array
    length: float
    at: Array
    width: Array
    thickness: Array
    line: Array
    section: str = "rectangle"
    arc_angle: float = 0.0
    curl: str = "across"
    fork_angle: float = 0.0
    mirrored: bool = False
    plate: EndPlate | None = None
    narrowest: float = 0.0
    doubt: float = 0.01
    root_doubt: float = 0.0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Trunk:
    """The body without what stands off it.

    Attributes
    ----------
    solid : manifold3d.Manifold [mm]
    family : str, as in a case
    length : float [mm]
    at : array (n,) [-], stations from nose to tail
    height, width : arrays (n,) [mm], outer sizes
    fullness : array (n,) [-], area over height times width, slot and grooves left out
    rib_depth, rib_pitch : float [mm]; 0 for a smooth body
    slot : tuple of float [mm], width, height, from, to; empty where there is none
    notes : tuple of str
    """

    solid: Any
    family: str
    length: float
    at: Array
    height: Array
    width: Array
    fullness: Array
    rib_depth: float = 0.0
    rib_pitch: float = 0.0
    slot: tuple[float, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Understood:
    """A whole bait.

    Attributes
    ----------
    name, digest, unit : str, of the file; the unit its numbers are in
    solid : manifold3d.Manifold [mm], nose at the origin
    axes, origin : arrays, of the case's axes in the file's, rows and mm
    trunk : Trunk
    parts : tuple of Appendage
    notes : tuple of str, what was mended, turned and assumed
    nose, up : str, what was asked for; empty where it was found
    noise : float [mm], roughness of the surface
    """

    name: str
    digest: str
    unit: str
    solid: Any
    axes: Array
    origin: Array
    trunk: Trunk
    parts: tuple[Appendage, ...]
    notes: tuple[str, ...] = ()
    nose: str = ""
    up: str = ""
    noise: float = 0.0

    @property
    def length(self) -> float:
        """Length [mm] of the whole bait, without the roughness of its surface."""
        points = arrays(self.solid)[0][:, 0]
        return _end(points, self.noise) + _end(-points, self.noise)


def _end(places: Array, noise: float) -> float:
    """Return how far places reach: the middle of the last ones, where they scatter."""
    farthest = float(places.max())
    last = places[places > farthest - 6.0 * noise]
    return float(np.median(last)) if len(last) > FEW else farthest
