"""Planform of a part that bends as a plate: mapped grid, thickness, moulded shape, clamp."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from simsoft.case.model import Part
from simsoft.core.arrays import Array, Integers
from simsoft.geometry.beads import stepped
from simsoft.geometry.meshing import quads_on
from simsoft.geometry.stations import along
from simsoft.mechanics.plate import Stepped

# Past this width over length strip theory misses the first wet frequency by more than a tenth
# (boundary elements against strips, checks B04 to B06): a plate is asked for.
WIDE = 0.35
SQUARE = 1.0  # length over width of an element aimed at
FEWEST_ACROSS = 4
MOST_ACROSS = 32
ABREAST = 8.0  # what a chord across may gain for each length it leans
CLAMP_SHARE = 0.02  # of the length: the rim of a drawn outline as near the root is held
SMALLEST_WIDTH = 0.05  # of the largest: a pointed tip is cut off there


@dataclass(frozen=True)
class Planform:
    """A planform cut into quadrilaterals.

    Attributes
    ----------
    plan : array (n, 2) [m], nodes: along the part from the clamp, across it
    quads : int array (E, 4), counter-clockwise
    thickness : array (n,) [m], of the web
    state : array (n, 6), moulded places [m] and directors in the part's axes: along, across,
        normal
    clamped : bool array (n,)
    centre : int array (rows,), nodes nearest the middle line, from the clamp to the tip
    edges : int array (rows, 2), nodes of the two edges abreast of them
    tip : int array, nodes that carry what hangs on the tip
    outline : int array, nodes around the planform
    stepped : Stepped, where there is a bead or rib; None elsewhere
    leans : bool, the nodes of ``edges`` are not just abreast of each other
    """

    plan: Array
    quads: Integers
    thickness: Array
    state: Array
    clamped: npt.NDArray[np.bool_]
    centre: Integers
    edges: Integers
    tip: Integers
    outline: Integers
    stepped: Stepped | None = None
    leans: bool = False


def bends_as(part: Part, near_hook: bool = False) -> tuple[Literal["rod", "plate"], str]:
    """Return whether a part is modelled as a rod or a plate, and why in a few words.

    ``near_hook`` says that the part's clearance to a hook is asked for: at rest, on the beat, the
    fall and from every side on the cast, by one model, which as a plate takes some thirty times
    as long.
    """
    share = max(part.width.values) / part.length
    if part.paddle is not None and part.model != "auto":
        carried = "bends" if part.model == "plate" else "is stiff"
        return part.model, f"asked for by the case: the paddle {carried} on a stem that is a rod"
    if part.model != "auto":
        return part.model, f"asked for by the case; width is {share:.2g} of the length"
    if part.paddle is not None:
        return "rod", "a stem is a rod, its paddle stiff unless the case asks for a plate"
    if part.kind in ("leg", "curl-tail") or part.section == "ellipse":
        return "rod", f"a {part.kind} is a rod unless the case asks for a plate"
    if near_hook:
        return "rod", "near a hook for speed: its clearance takes many marches; plate if asked for"
    if share > WIDE:
        return "plate", f"width is {share:.2g} of the length, more than {WIDE:g}"
    return "rod", f"width is {share:.2g} of the length, not more than {WIDE:g}"


def mapped(part: Part, elements: int, thickness_shift: float, set_fraction: float) -> Planform:
    """Return the mapped grid of a part given by its width along its length.

    Parameters
    ----------
    part : Part
    elements : int, along the length; across it the elements come out about square
    thickness_shift : float [m], added to the thickness everywhere
    set_fraction : float [-], share of the packaging bend that the part keeps
    """
    share = np.linspace(0.0, 1.0, elements + 1)
    width = np.maximum(along(part.width, share), SMALLEST_WIDTH * max(part.width.values))
    pitch = SQUARE * part.length / elements
    wanted = float(np.median(width)) / pitch
    across = int(np.clip(2 * round(0.5 * wanted), FEWEST_ACROSS, MOST_ACROSS))
    side = np.linspace(-0.5, 0.5, across + 1)
    line, heading = _centreline(part, share)
    normal = np.column_stack([-np.sin(heading), np.cos(heading)])
    plan = line[:, None] + (width[:, None] * side)[..., None] * normal[:, None]
    row = np.arange(elements)[:, None] * (across + 1) + np.arange(across)
    quads = np.stack([row, row + across + 1, row + across + 2, row + 1], axis=2).reshape(-1, 4)
    nodes = np.arange((elements + 1) * (across + 1)).reshape(elements + 1, across + 1)
    thickness = np.repeat(along(part.thickness, share) + thickness_shift, across + 1)
    flat = plan.reshape(-1, 2)
    clamped = np.zeros(len(flat), dtype=bool)
    clamped[nodes[0]] = True
    return Planform(
        plan=flat,
        quads=quads,
        thickness=thickness,
        state=rolled(flat, _turn(part, set_fraction), part.length),
        clamped=clamped,
        centre=nodes[:, across // 2],
        edges=nodes[:, [0, -1]],
        tip=nodes[-1],
        outline=np.concatenate([nodes[:, 0], nodes[-1, 1:], nodes[-2::-1, -1]]),
    )


def cut_planform(
    part: Part, elements: int, thickness_shift: float, set_fraction: float
) -> Planform:
    """Return the planform of a part, mapped from its width or meshed from its outline.

    Parameters are those of ``mapped``.

    Raises
    ------
    ValueError
        If a drawn outline cannot be meshed, or is held nowhere.
    """
    cut = _drawn if part.outline is not None else mapped
    planform = cut(part, elements, thickness_shift, set_fraction)
    return _with_beads(part, planform) if part.beads else planform


def _with_beads(part: Part, planform: Planform) -> Planform:
    """Return a planform with the thickness that bead and rib give its elements."""
    sides = np.column_stack([planform.outline, np.roll(planform.outline, -1)])
    free = ~planform.clamped[sides].all(axis=1)
    plan = planform.plan
    line = plan[planform.centre]
    if planform.leans:  # nodes of a drawn mesh lie about the axis, not on it
        line = np.column_stack([line[:, 0], np.zeros(len(line))])
    found = stepped(part, plan, planform.quads, planform.thickness, plan[sides[free]], line)
    return replace(planform, stepped=found)


def _filled(edges: list[tuple[int, int] | None]) -> list[tuple[int, int]]:
    """Return the chords across with those of points, which have none, taken from the nearest."""
    there = [k for k, chord in enumerate(edges) if chord is not None]
    nearest = [min(there, key=lambda j: abs(j - k)) for k in range(len(edges))]
    return [chord for chord in (edges[k] for k in nearest) if chord is not None]


def _drawn(part: Part, elements: int, thickness_shift: float, set_fraction: float) -> Planform:
    """Return the planform of a part meshed from its outline; parameters of ``mapped``."""
    if part.outline is None:
        raise ValueError("the part has no outline")
    ends = () if part.clamp is None else (part.clamp[0], part.clamp[-1])
    plan, quads = quads_on(part.outline, part.length / elements, ends)
    outline = _around(plan, quads)
    clamped = _held(part, plan, outline)
    if clamped.sum() < 2:
        raise ValueError("the outline is held in less than one side of an element; widen its root")
    thickness = along(part.thickness, plan[:, 0] / part.length) + thickness_shift
    rows = np.linspace(0.0, part.length, elements + 1)
    reach = part.length / elements
    centre, edges = [], []
    for x in rows:
        near = np.flatnonzero(np.abs(plan[:, 0] - x) <= 0.75 * reach)
        offset = np.abs(plan[near, 0] - x)
        if len(near) == 0:
            raise ValueError(f"the outline has a gap {1e3 * x:.3g} mm from its root")
        y = plan[near, 1]
        middle = 0.5 * (y.min() + y.max())
        centre.append(near[np.argmin(np.hypot(y - middle, offset))])
        # two nodes far apart and abreast, so that their chord tells the direction across
        gap = y[None, :] - y[:, None]
        skew = np.abs(plan[near, 0][None, :] - plan[near, 0][:, None])
        left, right = np.unravel_index(np.argmax(gap - ABREAST * skew), gap.shape)
        edges.append((near[left], near[right]) if gap[left, right] > 0.0 else None)
    tip = np.flatnonzero(plan[:, 0] > plan[:, 0].max() - CLAMP_SHARE * part.length)
    return Planform(
        plan=plan,
        quads=quads,
        thickness=thickness,
        state=rolled(plan, _turn(part, set_fraction), part.length),
        clamped=clamped,
        centre=np.asarray(centre),
        edges=np.asarray(_filled(edges)),
        tip=tip,
        outline=outline,
        leans=True,
    )


def _held(part: Part, plan: Array, outline: Integers) -> npt.NDArray[np.bool_]:
    """Return which nodes (n, 2) [m] of a drawn part are held: at the root, or along its clamp."""
    held = np.zeros(len(plan), dtype=bool)
    if part.clamp is None:
        # sides of the rim that run across, there: a fine mesh has more nodes as near the root
        side = np.roll(plan[outline], -1, axis=0) - plan[outline]
        near = plan[outline, 0] < CLAMP_SHARE * part.length
        across = near & np.roll(near, -1) & (np.abs(side[:, 1]) >= np.abs(side[:, 0]))
        held[outline[across]] = held[np.roll(outline, -1)[across]] = True
        return held
    ends = np.asarray([part.clamp[0], part.clamp[-1]])
    gap = np.linalg.norm(plan[outline][:, None] - ends, axis=2)
    first, last = np.argmin(gap, axis=0)
    count = (last - first) % len(outline) if part.clamp[0] != part.clamp[-1] else len(outline) - 1
    held[outline[(first + np.arange(count + 1)) % len(outline)]] = True
    return held


def _around(plan: Array, quads: Integers) -> Integers:
    """Return the nodes of the outer outline in order, int array."""
    first, last = quads.ravel(), np.roll(quads, -1, axis=1).ravel()
    pairs = set(zip(first.tolist(), last.tolist(), strict=True))
    onward = {a: b for a, b in pairs if (b, a) not in pairs}
    start = min(onward, key=lambda node: plan[node, 0])
    ring = [start]
    while (node := onward[ring[-1]]) != start:
        if len(ring) >= len(onward):
            raise ValueError("the outline is not one closed line")
        ring.append(node)
    return np.asarray(ring)


def _centreline(part: Part, share: Array) -> tuple[Array, Array]:
    """Return places (rows, 2) [m] and headings (rows,) [rad] of the middle line on the plan."""
    total = part.arc_angle if part.curl == "in-plane" else 0.0
    heading = total * share
    if total == 0.0:
        return np.column_stack([part.length * share, np.zeros_like(share)]), heading
    radius = part.length / total
    return radius * np.column_stack([np.sin(heading), 1.0 - np.cos(heading)]), heading


def _turn(part: Part, set_fraction: float) -> float:
    """Return the moulded turning [rad] across the flat, toward the normal's far side."""
    curl = part.arc_angle if part.curl == "across" else 0.0
    return part.handedness * (curl + set_fraction * part.set_angle)


def rolled(plan: Array, turn: float, length: float) -> Array:
    """Return places and directors (n, 6) of a planform rolled evenly along its first axis.

    ``turn`` [rad] is the turning over ``length`` [m], against the director for a positive one.
    """
    state = np.zeros((len(plan), 6))
    angle = turn * plan[:, 0] / length
    if abs(turn) < 1e-12:
        state[:, 0] = plan[:, 0]
    else:
        radius = length / turn
        state[:, 0] = radius * np.sin(angle)
        state[:, 2] = -radius * (1.0 - np.cos(angle))
    state[:, 1] = plan[:, 1]
    state[:, 3] = np.sin(angle)
    state[:, 5] = np.cos(angle)
    return state


def axes_of(part: Part) -> Array:
    """Return the part's axes as columns in lab axes: along, across, normal."""
    tangent, across = np.asarray(part.direction), np.asarray(part.width_axis)
    return np.column_stack([tangent, across, np.cross(tangent, across)])
