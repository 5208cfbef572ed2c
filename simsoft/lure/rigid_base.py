"""The rigid part of a free lure: its pieces summed about the eye, and its drag elements."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.case.model import BodyInput, HookInput, RigInput, WeightInput
from simsoft.core.arrays import Array
from simsoft.core.band import Band, exact
from simsoft.geometry import hook as wire
from simsoft.geometry.body import BodyStations
from simsoft.hydrodynamics.correlations.drag import cylinder_end_factor, plate_drag
from simsoft.hydrodynamics.rigid_base import CONSTANT, CYLINDER, SPHERE
from simsoft.lure.components import EXPOSED, Component, centre_of
from simsoft.lure.parts import GRAVITY
from simsoft.mechanics.inertia import inertia_from_point
from simsoft.mechanics.multibody import Base
from simsoft.mechanics.rod import Rod
from simsoft.properties.coefficients import SKIN_FRICTION
from simsoft.properties.water import Water

STATIONS = 12  # along a body, two drag elements each
ROLL_LEVER = 32.0 ** (-1.0 / 3.0)  # of the width, where half the drag resists roll as all of it
# Drag across an elliptic cylinder over that of a round one of the same cross size: first row the
# size along the flow over the size across it (White, Fluid Mechanics, Table 7.3, laminar, and the
# flat plate of check G07, 1.98 over the 1.02 of a round bar at Re 1e4, both from memory).
ELLIPSE_TABLE = ((0.0, 0.5, 1.0, 2.0, 4.0, 8.0), (1.94, 1.35, 1.0, 0.5, 0.3, 0.2))
# The same for a rectangle, C_d of sharp edges (White, Fluid Mechanics, Table 7.3, from memory).
RECTANGLE_TABLE = ((0.0, 0.1, 0.5, 0.7, 1.0, 2.0, 4.0), (1.95, 1.95, 2.3, 2.5, 2.1, 1.6, 1.3))

CROSS_DRAG = Band(
    1.0, 0.8, 1.5, "share of the tabled coefficients of bars across the flow; resolved falls find "
    "1.2 level and 1.2 to 1.6 where the body slips ahead (validation/resolved/fit_falls.py)",
)  # fmt: skip
AXIAL_DRAG = Band(0.35, 0.2, 0.8, "rounded nose to blunt end, Hoerner 1965 (from memory)")
BODY_ADDED = Band(
    1.0, 0.5, 1.0, "share of the potential-flow added mass and turning moment (Munk) that is left "
    "where the flow leaves a body: open resolved falls 0.9 to 1.2 near level, 0.65 in a glide; 0.2 "
    "in a dive, outside the band (validation/resolved/fit_falls.py)",
)  # fmt: skip
RIG_DRAG = Band(1.0, 0.85, 1.25, "share of the standard curves of spheres and wires")
WEIGHT_MASS = Band(1.0, 0.96, 1.04, "cast weights scatter by 3 to 6 % (common practice, no source)")


@dataclass(frozen=True)
class Elements:
    """Drag elements in the lure's axes; columns as in ``structure.tree.Base``."""

    at: Array
    axes: Array
    drag: Array
    size: Array
    law: npt.NDArray[np.int64]


def base_inputs(body: BodyInput | None, rig: RigInput) -> dict[str, Band]:
    """Return the uncertain inputs of the rigid part by name; stated coefficients have no band."""
    inputs: dict[str, Band] = {}
    if body is not None:
        across, ahead, rub = body.cross_drag, body.axial_drag, body.skin_friction
        inputs["cross_drag"] = _drag(across, body.drag_factor, CROSS_DRAG)
        inputs["axial_drag"] = _drag(ahead, body.drag_factor, AXIAL_DRAG)
        inputs["body_friction"] = SKIN_FRICTION if rub is None else exact(rub)
        inputs["body_added"] = BODY_ADDED
    if rig.hook is not None or rig.weights:
        inputs["rig_drag"] = RIG_DRAG
    if rig.weights:
        inputs["weight_mass"] = WEIGHT_MASS
    return inputs


def _drag(stated: float | None, factor: float | None, default: Band) -> Band:
    if stated is None and factor is None:
        return default
    return exact((default.value if stated is None else stated) * (factor or 1.0))


def body_elements(
    body: BodyInput, stations: BodyStations, values: dict[str, float], half_density: float
) -> Elements:
    """Return the drag of a body's slices.

    Cross-flow strip by strip, C_d = (1 + 10 Re^(-2/3)) times shape and finite length; friction
    on the wetted area; pressure drag of the ends on the largest section, at the middle. Friction
    is that of a laminar layer over the body's length; where the water comes across, the layer's
    way is half the girth and its friction larger by the root of the two (resolved falls bear it
    out: ``validation/RESOLVED.md``). A stated
    ``cross_drag`` is the coefficient on the side area, constant, for both directions.
    """
    groups = np.array_split(np.arange(stations.x.size), min(STATIONS, stations.x.size))
    ends = [finite_shares(body.length / max(size.values)) for size in (body.height, body.width)]
    rows = [_slice(body, stations, group, values, ends) for group in groups]
    end = np.zeros(5)
    end[3] = values["axial_drag"] * float(np.max(stations.outline))
    halves = np.repeat(np.array([row[0] for row in rows]), 2, axis=0) / 2.0
    drag = half_density * np.vstack([halves, end])
    at = np.zeros((len(drag), 3))
    for number, (_, x, _, side, up) in enumerate(rows):
        at[2 * number], at[2 * number + 1] = (x, side, up), (x, -side, -up)
    at[-1, 0] = float(np.mean(stations.x))
    axes = np.column_stack([[0, 1, 0], [0, 0, 1], [1, 0, 0]]).astype(float)
    stated = body.cross_drag is not None or body.section == "rectangle"
    law = np.full(len(drag), CONSTANT if stated else CYLINDER)
    size = np.append(np.repeat([row[2] for row in rows], 2), 0.0)
    return Elements(at, np.tile(axes, (len(drag), 1, 1)), drag, size, law)


def _slice(
    body: BodyInput,
    stations: BodyStations,
    group: npt.NDArray[np.int64],
    values: dict[str, float],
    ends: Sequence[tuple[float, float]],
) -> tuple[Array, float, float, float, float]:
    """Return areas times coefficients [m^2], then x, cross size and levers y and z [m] of slices.

    ``ends`` are the ``finite_shares`` of the body across its height and across its width.
    Half of the drag stands at each lever: turned about its own axis a section of unlike sizes
    resists as the strip that it is longer than a round one, int s^3 ds over the half width.
    """
    height = float(np.mean(stations.height[group]))
    width = float(np.mean(stations.width[group]))
    length = stations.step * len(group)
    friction = values["body_friction"] * float(np.mean(stations.perimeter[group])) * length
    half_girth = 0.5 * float(np.mean(stations.perimeter[group]))
    shorter = max(math.sqrt(body.length / half_girth) - 1.0, 0.0)
    coefficients = [values["cross_drag"]] * 2
    if body.cross_drag is None:
        for i, (along, across) in enumerate(((width, height), (height, width))):
            coefficients[i] *= shape_factor(body.section, along / across)
            coefficients[i] *= end_share(ends[i], along / across)
    areas = np.array([coefficients[0] * height, coefficients[1] * width])
    return (
        np.array([areas[0] * length, areas[1] * length, friction, 0.0, shorter * friction]),
        float(np.mean(stations.x[group])),
        max(height, width),
        ROLL_LEVER * math.sqrt(max(width**2 - height**2, 0.0)),
        ROLL_LEVER * math.sqrt(max(height**2 - width**2, 0.0)),
    )


def shape_factor(section: str, along_over_across: float) -> float:
    """Return the drag coefficient of a section over that of a round bar (of a bar of its own
    for a rectangle, whose corners fix where the flow leaves at any Reynolds number)."""
    table = RECTANGLE_TABLE if section == "rectangle" else ELLIPSE_TABLE
    return float(np.interp(along_over_across, *table))


def finite_shares(slenderness: float) -> tuple[float, float]:
    """Return the drag of a flat plate and of a bar of finite length over that of endless ones.

    ``slenderness`` is the length over the size across the flow. Tables of plates and of cylinders
    (checks G07 and G08).
    """
    plate = float(plate_drag(slenderness) / plate_drag(math.inf))
    return plate, float(cylinder_end_factor(max(1.0, slenderness)))


def end_share(ends: tuple[float, float], along_over_across: float) -> float:
    """Return the drag of a section of finite length over that of an endless one.

    Parameters
    ----------
    ends : the same of a plate and of a bar, see ``finite_shares``
    along_over_across : float, of the section; 0 a flat plate, from 1 on a bar

    Notes
    -----
    Mixed straight in between (judgement).
    """
    plate, bar = ends
    return plate + min(along_over_across, 1.0) * (bar - plate)


def hook_elements(
    hook: HookInput, body: BodyInput | None, stations: BodyStations | None, half_density: float
) -> Elements:
    """Return the drag of the wire that stands in the water: round bars across the flow."""
    bar = wire.wire_along(np.asarray(hook.path), hook.wire_diameter)
    bare = np.array([not _inside(middle, body, stations) for middle in bar.middle])
    count = int(bare.sum())
    drag = np.zeros((count, 5))
    drag[:, 0] = drag[:, 1] = half_density * hook.wire_diameter * bar.length[bare]
    axes = np.array([_axes_of(tangent) for tangent in bar.tangent[bare]]).reshape(count, 3, 3)
    size = np.full(count, hook.wire_diameter)
    return Elements(bar.middle[bare], axes, drag, size, np.full(count, CYLINDER))


def _inside(point: Array, body: BodyInput | None, stations: BodyStations | None) -> bool:
    if body is None or stations is None or not 0.0 < point[0] < body.length:
        return False
    k = int(np.argmin(np.abs(stations.x - point[0])))
    y, z = 2.0 * point[1] / stations.width[k], 2.0 * point[2] / stations.height[k]
    if body.section == "rectangle":
        return bool(max(abs(y), abs(z)) < 1.0)
    return bool(y * y + z * z < 1.0)


def _axes_of(tangent: Array) -> Array:
    """Return axes (3, 3) whose third column is ``tangent``."""
    helper = np.eye(3)[int(np.argmin(np.abs(tangent)))]
    first = np.cross(helper, tangent)
    first /= np.linalg.norm(first)
    return np.column_stack([first, np.cross(tangent, first), tangent])


def weight_elements(
    weights: Sequence[WeightInput], pieces: dict[str, Component], half_density: float
) -> Elements:
    """Return the drag of the weights that stand in the water: spheres."""
    bare = [weight for weight in weights if weight.kind in EXPOSED]
    count = len(bare)
    radius = np.array([wire.sphere_radius(pieces[w.name].displaced[3, 3]) for w in bare])
    drag = np.zeros((count, 5))
    drag[:, 0] = half_density * np.pi * radius**2
    at = np.array([weight.position for weight in bare]).reshape(count, 3)
    return Elements(
        at, np.tile(np.eye(3), (count, 1, 1)), drag, 2.0 * radius, np.full(count, SPHERE)
    )


def root_element(rod: Rod) -> Elements:
    """Return the drag of the half element that a strip's clamp holds."""
    drag = np.array([[*rod.root_drag, 0.0, 0.0]])
    return Elements(rod.root[None], rod.frame[None], drag, np.zeros(1), np.array([CONSTANT]))


def base_arrays(
    pieces: Sequence[Component], elements: Sequence[Elements], origin: Array, water: Water
) -> Base:
    """Return the rigid part about ``origin`` (3,) [m] from pieces and elements about the nose."""
    solid: Array = np.sum([piece.solid for piece in pieces], axis=0)
    displaced: Array = np.sum([piece.displaced for piece in pieces], axis=0)
    added: Array = np.sum([piece.added for piece in pieces], axis=0)
    kinematic = water.viscosity / water.density if water.viscosity > 0.0 else 1.0e-12
    return Base(
        structure=inertia_from_point(solid, -origin),
        fluid=inertia_from_point(added, -origin),
        weight=float(solid[3, 3]) * GRAVITY,
        buoyancy=float(displaced[3, 3]) * water.density * GRAVITY,
        weight_at=centre_of(solid) - origin,
        buoyancy_at=(centre_of(displaced) if displaced[3, 3] > 0.0 else np.zeros(3)) - origin,
        drag_at=np.ascontiguousarray(np.concatenate([e.at for e in elements]) - origin),
        drag_axes=np.ascontiguousarray(np.concatenate([e.axes for e in elements])),
        drag=np.ascontiguousarray(np.concatenate([e.drag for e in elements])),
        drag_scale=np.concatenate([e.size for e in elements]) / kinematic,
        drag_law=np.concatenate([e.law for e in elements]).astype(np.int64),
    )
