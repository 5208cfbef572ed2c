"""The body: stations along x -> volume, centre, inertia, areas and added mass.

Sections are cut at the middle of thin slices. A hook slot is open at the belly, ribs are rings
separated by grooves; both take volume and leave the outer size, which drag and added mass see.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, replace

import numpy as np

from simsoft.case.model import BodyInput, MeshSections
from simsoft.core.arrays import Array
from simsoft.geometry import superellipse
from simsoft.geometry.ellipsoid import ellipsoid_added_mass, equivalent_spheroid
from simsoft.geometry.stations import along
from simsoft.mechanics.inertia import inertia_from_point

SLICES = 400  # a linear taper's volume is right to 1e-6
GROOVE_SHARE = 0.5  # of the rib pitch that is groove: common practice, no source


@dataclass(frozen=True)
class BodyStations:
    """A body cut into n slices across x.

    Attributes
    ----------
    x : array (n,) [m], middle of each slice behind the nose
    step : float [m], thickness of a slice
    height, width : array (n,) [m], outer size along z and y
    area : array (n,) [m^2], of soft material
    centre : array (n,) [m], height z of the area's centre
    second_y, second_z : array (n,) [m^4], int z^2 dA and int y^2 dA about the x axis's height
    outline : array (n,) [m^2], area within the outer size
    perimeter : array (n,) [m], of the outer size
    groove_walls : float [m^2], side walls of all rib grooves
    """

    x: Array
    step: float
    height: Array
    width: Array
    area: Array
    centre: Array
    second_y: Array
    second_z: Array
    outline: Array
    perimeter: Array
    groove_walls: float


def body_stations(body: BodyInput, shift: float = 0.0, slices: int = SLICES) -> BodyStations:
    """Cut a body into slices.

    Parameters
    ----------
    body : BodyInput
    shift : float [m], added to height and width everywhere (mould bias, tolerance)
    slices : int
    """
    if body.measured is not None:
        return _measured(body, body.measured, shift, slices)
    step = body.length / slices
    x: Array = (np.arange(slices, dtype=np.float64) + 0.5) * step
    height = along(body.height, x / body.length) + shift
    width = along(body.width, x / body.length) + shift
    kind: str | Array = body.section
    if body.fullness is not None:
        kind = along(body.fullness, x / body.length)
    area, second_y, second_z = _solid(kind, height, width)
    outline = area
    walls = 0.0
    if body.rib_depth > 0.0:
        inner = [np.maximum(size - 2.0 * body.rib_depth, 0.0) for size in (height, width)]
        core = _solid(kind, *inner)
        walls = float(np.sum(2.0 * (area - core[0])) * step / body.rib_pitch)
        area, second_y, second_z = (
            GROOVE_SHARE * within + (1.0 - GROOVE_SHARE) * full
            for within, full in zip(core, (area, second_y, second_z), strict=True)
        )
    cut_width, cut_height = _slot(body, x, step, height, width)
    middle = 0.5 * (cut_height - height)
    gone = cut_width * cut_height
    kept = area - gone
    second_y = second_y - gone * (cut_height**2 / 12.0 + middle**2)
    second_z = second_z - gone * cut_width**2 / 12.0
    centre = -gone * middle / kept
    return BodyStations(
        x, step, height, width, kept, centre, second_y, second_z, outline,
        _perimeter(kind, height, width), walls,
    )  # fmt: skip


def _measured(body: BodyInput, mesh: MeshSections, shift: float, slices: int) -> BodyStations:
    """Return the sections of a mesh; a shift scales each to the size it then has."""
    step = body.length / slices
    x: Array = (np.arange(slices, dtype=np.float64) + 0.5) * step
    at = (np.arange(len(mesh.area)) + 0.5) * body.length / len(mesh.area)
    height, width, area, centre, second_y, second_z, outline, perimeter = (
        np.interp(x, at, np.asarray(row)) for row in dataclasses.astuple(mesh)
    )
    tall = np.maximum(1.0 + shift / np.maximum(height, 1e-9), 0.0)
    wide = np.maximum(1.0 + shift / np.maximum(width, 1e-9), 0.0)
    return BodyStations(
        x, step, tall * height, wide * width, tall * wide * area, tall * centre,
        tall**3 * wide * second_y, tall * wide**3 * second_z, tall * wide * outline,
        0.5 * (tall + wide) * perimeter, 0.0,
    )  # fmt: skip


def full_area(kind: str, height: Array, width: Array) -> Array:
    """Return the area [m^2] of full sections, 'ellipse' or 'rectangle'."""
    return _solid(kind, height, width)[0]


def _solid(kind: str | Array, height: Array, width: Array) -> tuple[Array, Array, Array]:
    """Return area, int z^2 dA and int y^2 dA of full sections, by name or fullness."""
    box = height * width
    if not isinstance(kind, str):
        share = superellipse.second_share(kind)
        return kind * box, share * box * height**2, share * box * width**2
    if kind == "rectangle":
        return box, box * height**2 / 12.0, box * width**2 / 12.0
    area = 0.25 * math.pi * box
    return area, area * height**2 / 16.0, area * width**2 / 16.0


def _slot(
    body: BodyInput, x: Array, step: float, height: Array, width: Array
) -> tuple[Array, Array]:
    """Return width and height of the slot at each slice, kept inside the section.

    At its ends a slice is cut by the share that the slot covers; near a thin end of the body
    the slot takes at most nine tenths of the box inside the section.
    """
    covered = np.minimum(x + 0.5 * step, body.slot_to) - np.maximum(x - 0.5 * step, body.slot_from)
    share = np.clip(covered / step, 0.0, 1.0)
    inside = 0.9 if body.section == "rectangle" else 0.9 * math.sqrt(0.5)
    wide = np.minimum(body.slot_width, inside * width) * share
    tall = np.minimum(body.slot_height, inside * height)
    return wide, tall


def _perimeter(kind: str | Array, height: Array, width: Array) -> Array:
    if not isinstance(kind, str):
        return superellipse.perimeter(kind, height, width)
    if kind == "rectangle":
        return 2.0 * (height + width)
    # Ramanujan 1914, first approximation; within 0.5 % up to an axis ratio of 20.
    a, b = 0.5 * height, 0.5 * width
    return np.asarray(math.pi * (3.0 * (a + b) - np.sqrt((3.0 * a + b) * (a + 3.0 * b))))


def volume(stations: BodyStations) -> float:
    """Return the volume of soft material [m^3]."""
    return float(np.sum(stations.area) * stations.step)


def centre_of_volume(stations: BodyStations) -> Array:
    """Return the centre (3,) [m] of the soft material, from the nose."""
    weights = stations.area / np.sum(stations.area)
    return np.array([weights @ stations.x, 0.0, weights @ stations.centre])


def volume_inertia(stations: BodyStations, point: Array) -> Array:
    """Return the inertia tensor (3, 3) [m^5] of the soft material about a point, per density.

    Parameters
    ----------
    stations : BodyStations
    point : array (3,) [m]
    """
    step, area = stations.step, stations.area
    x, y, z = (float(item) for item in point)
    ahead = stations.x - x
    xx = float(np.sum(area * (ahead**2 + step**2 / 12.0)) * step)
    yy = float(np.sum(stations.second_z + area * y**2) * step)
    moment_z = area * (stations.centre - z)
    zz = float(np.sum(stations.second_y - 2.0 * z * area * stations.centre + area * z**2) * step)
    xy = float(np.sum(-area * ahead * y) * step)
    xz = float(np.sum(moment_z * ahead) * step)
    yz = float(np.sum(-moment_z * y) * step)
    return np.array([[yy + zz, -xy, -xz], [-xy, xx + zz, -yz], [-xz, -yz, xx + yy]])


def projected_areas(stations: BodyStations) -> Array:
    """Return the areas (3,) [m^2] seen along x (end-on), y (the side) and z (from above)."""
    end_on = float(np.max(stations.outline))
    return np.array(
        [end_on, np.sum(stations.height) * stations.step, np.sum(stations.width) * stations.step]
    )


def wetted_area(stations: BodyStations) -> float:
    """Return the wetted area [m^2]: flanks with their slope, both ends, walls of the grooves.

    The slope is that of the mean radius. The inside of a slot closes on the hook and is left
    out.
    """
    radius = 0.25 * (stations.height + stations.width)
    slope = np.gradient(radius, stations.step) if radius.size > 1 else np.zeros(1)
    flanks = float(np.sum(stations.perimeter * np.sqrt(1.0 + slope**2)) * stations.step)
    return flanks + float(stations.outline[0] + stations.outline[-1]) + stations.groove_walls


def added_mass(
    stations: BodyStations, density: float, point: Array, whole: BodyStations | None = None
) -> Array:
    """Return the added mass (6, 6), rotation first, about a point in the lure's axes.

    Parameters
    ----------
    stations : BodyStations
    density : float [kg/m^3], of the water
    point : array (3,) [m]
    whole : BodyStations or None, the body that ``stations`` are a length of, None for all of it

    Notes
    -----
    Strip theory: pi/4 rho h^2 per length to the side, pi/4 rho b^2 up and down, pi/128 rho
    (h^2 - b^2)^2 in roll (Lamb, Hydrodynamics, art. 71; a rectangle is taken as the ellipse on
    its sizes), times what an ellipsoid of the same length and the same strip values has left of
    them, since water gives way around the ends (``end_factors``). Along x the ellipsoid of the
    same length and outer volume carries Lamb's share of its water.
    """
    x, y, z = (float(item) for item in point)
    line = 0.25 * math.pi * density * stations.step
    side = line * stations.height**2
    lift = line * stations.width**2
    unlike = stations.height**2 - stations.width**2
    ahead = stations.x - x
    arm = ahead**2 + stations.step**2 / 12.0
    strips = np.zeros((6, 6))
    strips[0, 0] = np.sum(unlike**2) * math.pi / 128.0 * density * stations.step
    body = stations if whole is None else whole
    side_share, lift_share, side_turn, lift_turn = end_factors(body)
    share_of_water = float(np.sum(stations.outline) / np.sum(body.outline))
    strips[3, 3] = axial_added_mass(body, density) * share_of_water
    for moved, turned, line_mass, share, turn_share, sign in (
        (4, 2, side, side_share, side_turn, 1.0),
        (5, 1, lift, lift_share, lift_turn, -1.0),
    ):
        mass, first = float(np.sum(line_mass)), float(line_mass @ ahead)
        own = float(line_mass @ arm) - first**2 / mass
        strips[moved, moved] = share * mass
        strips[turned, turned] = turn_share * own + share * first**2 / mass
        strips[turned, moved] = strips[moved, turned] = sign * share * first
    return inertia_from_point(strips, np.array([0.0, -y, -z]))


def end_factors(stations: BodyStations) -> tuple[float, float, float, float]:
    """Return what the flow around the ends leaves of strip theory's added mass [-].

    Of an ellipsoid as long as the body with the same strip values (Lamb, arts. 114-115): moving
    to the side, moving up, turning with the side flow (about z) and with the lift flow (about y).
    """
    a = 0.5 * stations.step * stations.x.size
    half_height = math.sqrt(0.375 * float(np.mean(stations.height**2)))
    half_width = math.sqrt(0.375 * float(np.mean(stations.width**2)))
    exact = ellipsoid_added_mass(a, half_width, half_height)
    side, lift = (4.0 / 3.0 * math.pi * a * size**2 for size in (half_height, half_width))
    turn = 0.2 * a**2
    return (
        float(exact[4] / side),
        float(exact[5] / lift),
        float(exact[2] / (turn * side)),
        float(exact[1] / (turn * lift)),
    )


def slices_between(stations: BodyStations, start: float, end: float) -> BodyStations:
    """Return the slices of a body between two distances [m] behind the nose."""
    kept = (stations.x > start) & (stations.x < end)
    cut_arrays = {
        name: getattr(stations, name)[kept]
        for name in (
            *("x", "height", "width", "area", "centre"),
            *("second_y", "second_z", "outline", "perimeter"),
        )
    }
    return replace(stations, **cut_arrays)


def axial_added_mass(stations: BodyStations, density: float) -> float:
    """Return the added mass [kg] along x: Lamb's share for the equivalent spheroid."""
    outer = float(np.sum(stations.outline) * stations.step)
    a, b = equivalent_spheroid(outer, stations.step * stations.x.size)
    return float(ellipsoid_added_mass(a, b, b, density)[3])
