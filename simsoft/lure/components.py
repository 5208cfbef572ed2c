"""The pieces of a lure weighed one by one: body, flexible strips, hook, weights.

Everything is a six-by-six inertia about the nose, rotation first, in the lure's axes (nose at
the origin, x to the tail, y to the side, z up). Parts keep their moulded shape.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from simsoft.case.model import BodyInput, HookInput, Part, Vector, WeightInput
from simsoft.case.paddle_outlines import outline_of
from simsoft.core.arrays import Array
from simsoft.geometry import body as shape_body
from simsoft.geometry import hook as wire
from simsoft.geometry.beads import part_sections
from simsoft.geometry.body import BodyStations
from simsoft.geometry.section import finite_span_factor
from simsoft.geometry.stations import Stations, cut
from simsoft.lure.parts import Specimen, Strip
from simsoft.lure.rod_model import build_rod
from simsoft.mechanics.inertia import inertia_from_point, turned
from simsoft.mechanics.kinematics import place
from simsoft.mechanics.rod import Rod
from simsoft.mechanics.rotation import quaternion_from_vector
from simsoft.properties.mixture import METAL_DENSITY
from simsoft.properties.water import Water

ELEMENTS = 64  # of a strip being weighed; lumps at N nodes turn 2/N^2 too heavily, 0.05 %
NOSE = np.zeros(3)
EXPOSED = ("jig-head", "sliding")  # weights that stand in the water beside the body
CACHED_WIRES = 16
SPHERE_ADDED = 0.5  # of the displaced mass (Lamb, Hydrodynamics, art. 92)


@dataclass(frozen=True)
class Component:
    """One piece of the lure about the nose, rotation first.

    Attributes
    ----------
    name : str, as in the records
    solid : array (6, 6) [kg m^2, kg m, kg]
    displaced : array (6, 6) [m^5, m^4, m^3], of the displaced water per density
    added : array (6, 6) [kg m^2, kg m, kg]
    areas : array (3,) [m^2], seen along x, y and z
    ends : tuple of float [m], smallest and largest x, paddle included; empty for the rig
    """

    name: str
    solid: Array
    displaced: Array
    added: Array
    areas: Array
    ends: tuple[float, ...] = ()


def rigid(mass: float, centre: Array, inertia: Array) -> Array:
    """Return the inertia (6, 6) about the nose of a mass [kg] with its own inertia (3, 3)."""
    own = np.zeros((6, 6))
    own[:3, :3], own[3:, 3:] = inertia, mass * np.eye(3)
    return inertia_from_point(own, centre)


def centre_of(inertia: Array) -> Array:
    """Return the centre of mass (3,) [m] of an inertia (6, 6) about the nose."""
    moment = inertia[3:, :3]
    first = np.array([moment[1, 2], moment[2, 0], moment[0, 1]])
    return np.asarray(first / inertia[3, 3])


def body_piece(body: BodyInput, values: dict[str, float], water_density: float) -> Component:
    """Weigh a body.

    Parameters
    ----------
    body : BodyInput
    values : dict, 'density' [kg/m^3] and 'thickness' [m], the latter added to both sizes
    water_density : float [kg/m^3]
    """
    stations = shape_body.body_stations(body, values["thickness"])
    piece = body_slices(stations, stations, values["density"], water_density)
    return replace(piece, ends=(0.0, body.length))


def body_slices(
    stations: BodyStations, whole: BodyStations, density: float, water_density: float
) -> Component:
    """Weigh a length of a body, ``stations`` out of those of the ``whole``."""
    centre = shape_body.centre_of_volume(stations)
    own = shape_body.volume_inertia(stations, centre)
    displaced = rigid(shape_body.volume(stations), centre, own)
    return Component(
        name="body",
        solid=density * displaced,
        displaced=displaced,
        added=shape_body.added_mass(stations, water_density, NOSE, whole),
        areas=shape_body.projected_areas(stations),
    )


def hook_piece(hook: HookInput, water_density: float) -> Component:
    """Weigh a hook: as stated, or steel wire of its length."""
    displaced, added, areas = _wire(hook.path, hook.wire_diameter, water_density)
    density = METAL_DENSITY["steel"] if hook.mass is None else hook.mass / float(displaced[3, 3])
    return Component("hook", density * displaced, displaced, added, areas)


@lru_cache(maxsize=CACHED_WIRES)  # searches weigh one hook hundreds of times
def _wire(
    path: tuple[Vector, ...], diameter: float, water_density: float
) -> tuple[Array, Array, Array]:
    """Return what a wire displaces, its added mass and the areas it shows; not to be written on."""
    bar = wire.wire_along(np.asarray(path), diameter)
    centre = wire.wire_centre(bar)
    displaced = rigid(wire.wire_volume(bar), centre, wire.wire_inertia(bar, centre))
    found = displaced, wire.wire_added_mass(bar, water_density, NOSE), wire.wire_areas(bar)
    for array in found:
        array.flags.writeable = False
    return found


def weight_piece(weight: WeightInput, water_density: float) -> Component:
    """Weigh a weight, a sphere; one inside the body pushes its volume of soft material aside."""
    density = METAL_DENSITY[weight.material] if weight.density is None else weight.density
    volume = weight.mass / density
    centre = np.asarray(weight.position)
    displaced = rigid(volume, centre, wire.sphere_inertia(volume))
    added, areas = np.zeros((6, 6)), np.zeros(3)
    if weight.kind in EXPOSED:
        added = rigid(SPHERE_ADDED * water_density * volume, centre, np.zeros((3, 3)))
        areas = np.full(3, np.pi * wire.sphere_radius(volume) ** 2)
    return Component(weight.name, density * displaced, displaced, added, areas)


def strip_piece(strip: Strip, water: Water, values: dict[str, float]) -> Component:
    """Weigh a strip: its rod at unit density is its volume; a lump at the tip has none."""
    bare = replace(strip, part=replace(strip.part, tip_mass=0.0))
    rod = build_rod(
        Specimen(bare, water, values | {"density": 1.0}, gravity=False, elements=ELEMENTS)
    )
    stations = cut(strip.part, ELEMENTS, values["thickness"], values.get("set_fraction", 0.0))
    frame, hinge, node = moulded_chain(rod)
    displaced, added = root_half(strip.part, stations, rod, water.density)
    displaced = displaced + inertia_from_point(turned(rod.structure, frame), hinge).sum(axis=0)
    added = added + inertia_from_point(turned(rod.fluid, frame), hinge).sum(axis=0)
    lump = rigid(strip.part.tip_mass, node[-1], np.zeros((3, 3)))
    return Component(
        name=strip.name,
        solid=values["density"] * displaced + lump,
        displaced=displaced,
        added=added,
        areas=_strip_areas(strip.part, stations, rod, frame),
        ends=_strip_ends(strip.part, stations, rod, frame, node),
    )


def moulded_chain(rod: Rod) -> tuple[Array, Array, Array]:
    """Return frames (N, 3, 3), hinges and nodes (N, 3) [m] of a rod as it left the mould."""
    n = len(rod.length)
    turn = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(rod.natural[k], turn[k])
    frame, hinge, node = np.zeros((n, 3, 3)), np.zeros((n, 3)), np.zeros((n, 3))
    place(rod, turn, np.zeros((n, 3, 3)), frame, hinge, node)
    return frame, hinge, node


def root_half(
    part: Part, stations: Stations, rod: Rod, water_density: float
) -> tuple[Array, Array]:
    """Return displaced and added inertia of the half element at the clamp, which rods leave out."""
    width, thickness = np.array([stations.root_width]), np.array([stations.root_thickness])
    root = part_sections(part, width, thickness, np.zeros(1))
    span = 0.5 * float(stations.length[0])
    soft, stiff = float(root.second_moment_soft[0]), float(root.second_moment_stiff[0])
    area = float(root.area[0])
    own = span * np.diag([stiff, soft, stiff + soft, area, area, area])
    carried = water_density * span if part.loads.added_mass else 0.0
    if part.loads.finite_span:
        carried *= finite_span_factor(float(np.mean(stations.node_width)), part.length)
    broad, edge = float(root.added_mass_broad[0]), float(root.added_mass_edge[0])
    fluid = carried * np.diag([0.0, 0.0, float(root.added_roll[0]), broad, edge, 0.0])
    return (
        inertia_from_point(turned(own, rod.frame), rod.root),
        inertia_from_point(turned(fluid, rod.frame), rod.root),
    )


def _strip_ends(
    part: Part, stations: Stations, rod: Rod, frame: Array, node: Array
) -> tuple[float, float]:
    """Return the smallest and largest x [m] of a strip's sections and of its paddle's rim.

    A section reaches half its sizes along x as a box or an ellipse does, a disc likewise.
    """
    axes = np.concatenate([rod.frame[None], frame])[:, 0]
    middle = np.concatenate([rod.root[:1], node[:, 0]])
    thickness = np.concatenate([[stations.root_thickness], stations.node_thickness])
    width = np.concatenate([[stations.root_width], stations.node_width])
    reach = _half_reach(part.section == "ellipse", thickness * axes[:, 0], width * axes[:, 1])
    paddle = part.paddle
    if paddle is not None:
        tip, own = node[-1] + frame[-1] @ rod.paddle.centre, frame[-1, 0] @ rod.paddle.axes
        face = _half_reach(
            outline_of(paddle.shape).oval, paddle.width * own[0], paddle.height * own[1]
        )
        middle = np.append(middle, tip[0])
        reach = np.append(reach, face + 0.5 * paddle.thickness * abs(own[2]))
    return float((middle - reach).min()), float((middle + reach).max())


def _half_reach(is_oval: bool, one: Array, other: Array) -> Array:
    """Return how far an oval or a box reaches past its middle; sizes times their cosines."""
    return np.asarray(0.5 * (np.hypot(one, other) if is_oval else np.abs(one) + np.abs(other)))


def _strip_areas(part: Part, stations: Stations, rod: Rod, frame: Array) -> Array:
    """Return the areas (3,) [m^2] of a strip seen along x, y and z, paddle included.

    Seen along e, a piece of a flat bar shows b |n.e| + h |w.e| per length, an elliptic one
    the root of the sum of their squares; a paddle shows its face and its edge.
    """
    axes = np.concatenate([rod.frame[None], frame])
    width = np.concatenate([[stations.root_width], stations.node_width])
    thickness = np.concatenate([[stations.root_thickness], stations.node_thickness])
    thickness += part.beads.rim_height
    span = np.concatenate([[0.5 * stations.length[0]], stations.span])
    face = width[:, None] * np.abs(axes[:, :, 0])
    edge = thickness[:, None] * np.abs(axes[:, :, 1])
    areas = span @ (np.hypot(face, edge) if part.section == "ellipse" else face + edge)
    paddle = part.paddle
    if paddle is not None:
        normal = frame[-1] @ rod.paddle.axes[:, 2]
        size = 0.5 * (paddle.width + paddle.height)
        edge_on = np.sqrt(np.clip(1.0 - normal**2, 0.0, None))
        areas = areas + rod.paddle.area * np.abs(normal) + paddle.thickness * size * edge_on
    return np.asarray(areas)
