"""A strip as a rod: arrays for the kernels, its inertia, stiffness, drag and weight."""

from __future__ import annotations

import math

import numpy as np

from simsoft.case.model import Part
from simsoft.core.arrays import Array
from simsoft.geometry.beads import part_sections
from simsoft.geometry.paddle import paddle_arrays
from simsoft.geometry.section import Section, finite_span_factor, plate_stiffening
from simsoft.geometry.stations import Stations, cut
from simsoft.lure.parts import GRAVITY, Specimen, Strip
from simsoft.mechanics.inertia import inertia_from_point, spread_inertia
from simsoft.mechanics.rod import Paddle, Rod, no_paddle


def build_rod(specimen: Specimen) -> Rod:
    """Return the rod of a strip for unit modulus; ``with_material`` gives it its stiffness."""
    strip, values, gravity = specimen.strip, specimen.values, specimen.gravity
    part = strip.part
    stations = cut(
        part,
        specimen.cuts,
        values["thickness"],
        values.get("set_fraction", 0.0),
    )
    density = specimen.fluid_density
    fluid_inertia = density if part.loads.added_mass else 0.0
    mean_width = float(np.mean(stations.node_width))
    if part.loads.finite_span:
        fluid_inertia *= finite_span_factor(mean_width, part.length)
    solid = values["density"]
    nodes = part_sections(part, stations.node_width, stations.node_thickness, stations.node_share)
    added = fluid_inertia * np.column_stack(
        [nodes.added_mass_broad, nodes.added_mass_edge, nodes.added_roll]
    )
    gain = np.maximum(np.gradient(added[:, :2], stations.length[0], axis=0), 0.0)
    structure, fluid = _inertia(stations, nodes, solid, added)
    root_width, root_thickness = (
        np.array([stations.root_width]),
        np.array([stations.root_thickness]),
    )
    root = part_sections(part, root_width, root_thickness, np.zeros(1))
    held = 0.5 * stations.length[0]
    weight = np.zeros((len(stations.span), 3))
    root_weight = np.zeros(3)
    if gravity:
        weight[:, 2] = -_line_weight(part, nodes.area, solid - density) * stations.span
        weight[-1, 2] -= part.tip_mass * GRAVITY
        root_weight[2] = -float(_line_weight(part, root.area, solid - density)[0]) * held
    weight[-1] += np.asarray(part.tip_force)
    tip = np.array([0.0, 0.0, 0.5 * stations.length[-1]])
    structure[-1] += inertia_from_point(np.diag([0.0] * 3 + [part.tip_mass] * 3), tip)
    paddle = no_paddle()
    if part.paddle is not None:
        paddle, own, carried_6 = paddle_arrays(
            part.paddle, part.loads, values, solid, density, GRAVITY if gravity else 0.0
        )
        structure[-1] += inertia_from_point(own, tip)
        fluid[-1] += inertia_from_point(carried_6, tip)
    return Rod(
        length=stations.length,
        span=stations.span,
        stiffness=_unit_stiffness(strip, stations),
        natural=stations.turn,
        kelvin_voigt=0.0,
        structure=structure,
        fluid=fluid,
        added=added,
        added_gain=gain,
        reactive=1.0 if part.loads.reactive else 0.0,
        drag=_line_drag(part, stations.node_width, stations.node_thickness, values, 0.5 * density),
        weight=weight,
        root_drag=held * _line_drag(part, root_width, root_thickness, values, 0.5 * density)[0, :3],
        root_weight=root_weight,
        follower=np.asarray(part.follower_force, dtype=float),
        tip_moment=np.asarray(part.tip_moment, dtype=float),
        frame=_clamp_frame(part),
        root=np.asarray(part.position, dtype=float),
        paddle=paddle,
    )


def with_material(rod: Rod, modulus: float, kelvin_voigt: float) -> Rod:
    """Return a unit-modulus rod with its modulus [Pa] and damping time [s]."""
    return rod._replace(stiffness=rod.stiffness * modulus, kelvin_voigt=kelvin_voigt)


def without_fluid_load(rod: Rod) -> Rod:
    """Return the rod without convective force, drag and paddle load, for still-water modes."""
    paddle: Paddle = rod.paddle._replace(
        normal_force=0.0,
        rotary_damping=0.0,
        friction=0.0,
        rim_drag=0.0,
        rim_force=0.0,
        force_growth=0.0,
    )
    return rod._replace(reactive=0.0, drag=np.zeros_like(rod.drag), paddle=paddle)


def _inertia(stations: Stations, nodes: Section, solid: float, added: Array) -> tuple[Array, Array]:
    """Return inertia of structure and of added mass (N, 6, 6) about the links' inboard hinges."""
    soft, stiff = nodes.second_moment_soft, nodes.second_moment_stiff
    line = solid * np.column_stack([stiff, soft, stiff + soft, *(3 * [nodes.area])])
    none = np.zeros_like(soft)
    carried = np.column_stack([none, none, added[:, 2], added[:, 0], added[:, 1], none])
    inner = slice(0, -1)  # the half link at the tip has its mass at the node
    length = stations.length[inner]
    line[inner, :2] += spread_inertia(line[inner, 3], length)[:, None]
    carried[inner, 0] += spread_inertia(added[inner, 1], length)
    carried[inner, 1] += spread_inertia(added[inner, 0], length)
    reach = np.column_stack([none, none, 0.5 * stations.length])
    span = stations.span[:, None, None]
    return (
        inertia_from_point(span * line[:, :, None] * np.eye(6), reach),
        inertia_from_point(span * carried[:, :, None] * np.eye(6), reach),
    )


def _clamp_frame(part: Part) -> Array:
    tangent = np.asarray(part.direction)
    across = np.asarray(part.width_axis)
    return np.column_stack([np.cross(across, tangent), across, tangent])


def _unit_stiffness(strip: Strip, stations: Stations) -> Array:
    part = strip.part
    elements = part_sections(
        part, stations.element_width, stations.element_thickness, stations.element_share
    )
    nu = strip.poisson_ratio
    wide = plate_stiffening(part.bending, float(np.mean(stations.element_width)), part.length, nu)
    return np.column_stack(
        [
            elements.second_moment_stiff,
            wide * elements.second_moment_soft,
            elements.torsion_constant / (2.0 * (1.0 + nu)),
        ]
    ) / stations.length.reshape(-1, 1)


def _line_weight(part: Part, area: Array, excess: float) -> Array:
    """Return weight less buoyancy per length [N/m] for an excess density [kg/m^3]."""
    if part.line_weight is not None:
        return np.full_like(area, part.line_weight)
    return excess * GRAVITY * area


def _line_drag(
    part: Part, width: Array, thickness: Array, values: dict[str, float], half_density: float
) -> Array:
    """Return the drag columns of ``Rod.drag`` for sections of one part."""
    cross = half_density * values["normal_drag"]
    wetted = 2.0 * width
    if part.section == "ellipse":
        wetted = 0.5 * math.pi * (width + thickness)
    friction = half_density * values["skin_friction"] * wetted
    side = thickness + part.beads.rim_height
    return np.column_stack([cross * width, cross * side, friction, cross * width**4 / 32.0])
