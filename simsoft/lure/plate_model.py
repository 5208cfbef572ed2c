"""A strip that bends as a plate -> arrays for the solver: mesh, mass, water, weight."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.sparse import csr_matrix

from simsoft.core.arrays import Array, Integers
from simsoft.core.errors import InputError
from simsoft.geometry.planform import Planform, axes_of, cut_planform
from simsoft.hydrodynamics.plate.flow import Flow, make_flow
from simsoft.hydrodynamics.plate.panels import Panels, make_panels
from simsoft.hydrodynamics.plate.wake import Wake, make_wake
from simsoft.lure.parts import GRAVITY, Specimen, Strip
from simsoft.mechanics.plate import (
    POINTS,
    Plate,
    make_plate,
    mass_matrix,
    moulded_plate,
    nodal_volume,
    shape_functions,
)

CACHED_OUTLINES = 16


@dataclass(frozen=True)
class PlateModel:
    """A plate part at one set of input values.

    Attributes
    ----------
    planform : Planform
    plate : Plate, unit modulus, stress-free as moulded
    mass : sparse (6 n, 6 n), of the solid
    flow : Flow or None in air
    wake : Wake or None in air; of no effect where nothing is shed
    dead : array (n, 6) [N], weight less buoyancy and the loads of the tip, lab axes
    state : array (n, 6), moulded places [m] and directors in lab axes, clamp at the origin
    free : int array, unknowns that are not clamped
    root : array (3,) [m], clamp in the lab
    """

    planform: Planform
    plate: Plate
    mass: csr_matrix
    flow: Flow | None
    wake: Wake | None
    dead: Array
    state: Array
    free: Integers
    root: Array


def build_plate(specimen: Specimen) -> PlateModel:
    """Return the plate of a strip for unit modulus.

    Raises
    ------
    InputError
        If a drawn outline cannot be meshed.
    """
    strip, values = specimen.strip, specimen.values
    part = strip.part
    try:
        planform = cut_planform(
            part, specimen.cuts, values["thickness"], values.get("set_fraction", 0.0)
        )
    except ValueError as problem:
        raise InputError(f"parts.{part.name}: cannot be meshed: {problem}") from None
    nodes = len(planform.plan)
    density = specimen.fluid_density
    flat = make_plate(
        planform.plan, planform.quads, planform.thickness, strip.poisson_ratio, planform.stepped
    )
    axes = axes_of(part)
    state = np.hstack([planform.state[:, :3] @ axes.T, planform.state[:, 3:] @ axes.T])
    mass = mass_matrix(flat, nodes, values["density"])
    tip = planform.tip
    dead = np.zeros((nodes, 6))
    dead[tip, :3] += np.asarray(part.tip_force) / len(tip)
    if specimen.gravity:
        dead[:, 2] -= _weight(strip, flat, nodes, values["density"] - density)
        dead[tip, 2] -= part.tip_mass * GRAVITY / len(tip)
    if part.tip_mass > 0.0:
        mass = mass + _lumped(tip, nodes, part.tip_mass)
    flow = None if specimen.air else _flow(strip, planform, values, density)
    return PlateModel(
        planform=planform,
        plate=moulded_plate(flat, state),
        mass=mass,
        flow=flow,
        wake=None if flow is None else make_wake(planform.plan, flow, density, values),
        dead=dead,
        state=state,
        free=np.flatnonzero(np.repeat(~planform.clamped, 6)),
        root=np.asarray(part.position, dtype=float),
    )


def _weight(strip: Strip, plate: Plate, nodes: int, excess: float) -> Array:
    """Return the weight less buoyancy [N] of each node for an excess density [kg/m^3]."""
    volume = nodal_volume(plate, nodes)
    if strip.part.line_weight is not None:
        return np.asarray(strip.part.line_weight * strip.part.length * volume / volume.sum())
    return excess * GRAVITY * volume


def _lumped(tip: Integers, nodes: int, mass: float) -> csr_matrix:
    diagonal = np.zeros((nodes, 6))
    diagonal[tip, :3] = mass / len(tip)
    size = 6 * nodes
    where = np.arange(size)
    return csr_matrix((diagonal.ravel(), (where, where)), shape=(size, size))


def _flow(strip: Strip, planform: Planform, values: dict[str, float], density: float) -> Flow:
    panels = cached_panels(planform.plan, planform.quads)
    loads = strip.part.loads
    return make_flow(
        planform.plan,
        planform.quads,
        panels,
        interpolation_at(planform, panels.middle),
        density,
        drag=values["normal_drag"],
        friction=values["skin_friction"],
        stall=math.sin(values["stall_angle"]),
        attached=loads.reactive,
        added_mass=loads.added_mass,
    )


def cached_panels(plan: Array, quads: Integers) -> Panels:
    """Return the panels of a planform, kept for the next call with the same outline."""
    return _panels(plan.tobytes(), quads.tobytes(), len(plan))


@lru_cache(maxsize=CACHED_OUTLINES)
def _panels(plan: bytes, quads: bytes, nodes: int) -> Panels:
    return make_panels(
        np.frombuffer(plan).reshape(nodes, 2), np.frombuffer(quads, dtype=np.int64).reshape(-1, 4)
    )


def interpolation_at(planform: Planform, point: Array) -> tuple[Array, Array, Array]:
    """Return shape functions (E, 4) at points (E, 2) near the element middles, and at them.

    The third array holds their slopes [1/m] along the planform at the middles.

    Linear about the middle, so that a field linear on the planform is met exactly.
    """
    value, slope = shape_functions(POINTS[4:])
    corner = planform.plan[planform.quads]
    jacobian = np.einsum("ai,eax->eix", slope[0], corner)
    local = np.einsum("exi,ai->eax", np.linalg.inv(jacobian), slope[0])
    middle = np.broadcast_to(value[0], (len(corner), 4)).copy()
    shift = point - corner.mean(axis=1)
    near = middle + np.einsum("eax,ex->ea", local, shift)
    return near, middle, np.ascontiguousarray(local[:, :, 0])
