"""From a part's stated dimensions to elements and nodes along its centreline."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from simsoft.case.model import Part, Taper, Vector
from simsoft.core.arrays import Array

# A sickle is perfectly flat in no mould. The small bend lets the rest shape turn out of the
# plane the way a real one does; without it the equilibrium solver would stay on the flat
# branch after it has become unstable. Common practice, no source.
IMPERFECTION = math.radians(2.0)


@dataclass(frozen=True)
class Stations:
    """A part cut into N elements.

    Attributes
    ----------
    length : array (N,) [m], element lengths
    span : array (N,) [m], length belonging to the node at the end of each element
    element_share, node_share : array (N,) [-], element middles and nodes along the length
    element_width, element_thickness : array (N,) [m], at the element middles
    node_width, node_thickness : array (N,) [m], at the nodes
    root_width, root_thickness : float [m], at the clamp
    turn : array (N, 3) [rad], moulded turning of each element about axes 1, 2, 3
    """

    length: Array
    span: Array
    element_share: Array
    node_share: Array
    element_width: Array
    element_thickness: Array
    node_width: Array
    node_thickness: Array
    root_width: float
    root_thickness: float
    turn: Array


def along(taper: Taper, fraction: Array) -> Array:
    """Return the dimension [m] at fractions 0..1 of the length, linear between stations."""
    return np.asarray(np.interp(fraction, np.asarray(taper.stations), np.asarray(taper.values)))


def cut(part: Part, elements: int, thickness_shift: float, set_fraction: float) -> Stations:
    """Cut a part into equal elements.

    Parameters
    ----------
    part : Part
    elements : int, at least 2
    thickness_shift : float [m], added to the thickness everywhere (mould bias, tolerance)
    set_fraction : float [-], share of the packaging bend that the part keeps

    Returns
    -------
    Stations
        The moulded arc and the retained set are spread evenly. An 'across' curl turns the
        tangent toward the thickness axis, an 'in-plane' one toward the width axis with
        ``IMPERFECTION`` out of the plane. A mirror image turns the other way across its flat.
    """
    middle = (np.arange(elements) + 0.5) / elements
    node = (np.arange(elements) + 1.0) / elements
    length = np.full(elements, part.length / elements)
    span = length.copy()
    span[-1] *= 0.5
    turn = np.zeros((elements, 3))
    if part.curl == "across":
        turn[:, 1] += part.arc_angle / elements
    else:
        turn[:, 0] -= part.arc_angle / elements
        turn[:, 1] += IMPERFECTION * math.copysign(1.0, part.arc_angle) / elements
    turn[:, 1] += set_fraction * part.set_angle / elements
    turn[:, 1] *= part.handedness
    shift_width = thickness_shift if part.kind == "leg" else 0.0
    return Stations(
        length=length,
        span=span,
        element_share=middle,
        node_share=node,
        element_width=along(part.width, middle) + shift_width,
        element_thickness=along(part.thickness, middle) + thickness_shift,
        node_width=along(part.width, node) + shift_width,
        node_thickness=along(part.thickness, node) + thickness_shift,
        root_width=part.width.values[0] + shift_width,
        root_thickness=part.thickness.values[0] + thickness_shift,
        turn=turn,
    )


def lobes(part: Part) -> list[tuple[str, Part]]:
    """Return the flexible strips of a part with the names they carry in the records.

    A mirrored part is two: the stated one and its mirror image, ``name/left`` (at positive y,
    on the left of one who looks downstream from the nose) and ``name/right``. A fork tail has
    an ``upper`` and a ``lower`` lobe, which leave the root at plus and minus the fork angle
    from the part's direction, in the plane of direction and width axis.
    """
    sides = _pair(part) if part.mirrored else [(part.name, part)]
    return [strip for name, side in sides for strip in _fork(name, side)]


def mirror_image(part: Part) -> Part:
    """Return the part reflected in the plane y = 0.

    Positions, directions and forces change their y, moments their x and z. The thickness axis,
    a cross product, comes out reversed: a load along it and the moulded bends across the flat
    change sign (``handedness``).
    """
    across, along_width, ahead = part.follower_force
    return replace(
        part,
        position=_reflect(part.position),
        direction=_reflect(part.direction),
        width_axis=_reflect(part.width_axis),
        tip_force=_reflect(part.tip_force),
        tip_moment=(-part.tip_moment[0], part.tip_moment[1], -part.tip_moment[2]),
        follower_force=(-across, along_width, ahead),
        handedness=-part.handedness,
    )


def _reflect(vector: Vector) -> Vector:
    return vector[0], -vector[1], vector[2]


def _pair(part: Part) -> list[tuple[str, Part]]:
    stated = replace(part, mirrored=False)
    on_left = part.position[1] > 0.0 or (part.position[1] == 0.0 and part.direction[1] >= 0.0)
    sides = ("left", "right") if on_left else ("right", "left")
    images = (stated, mirror_image(stated))
    return [(f"{part.name}/{side}", image) for side, image in zip(sides, images, strict=True)]


def _fork(name: str, part: Part) -> list[tuple[str, Part]]:
    if part.kind != "fork-tail":
        return [(name, part)]
    direction = np.asarray(part.direction)
    width_axis = np.asarray(part.width_axis)
    result = []
    for label, sign in (("upper", 1.0), ("lower", -1.0)):
        c, s = np.cos(part.fork_angle), sign * np.sin(part.fork_angle)
        ahead = c * direction + s * width_axis
        across = c * width_axis - s * direction
        lobe = replace(part, direction=tuple(ahead), width_axis=tuple(across))
        result.append((f"{name}/{label}", lobe))
    return result
