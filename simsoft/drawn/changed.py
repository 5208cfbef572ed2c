"""The mesh of a bait with its thicknesses changed as its case says: to look at, not to cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from simsoft.case.model import BodyInput, Case, Part
from simsoft.case.shapes.slices import span
from simsoft.core.arrays import Array
from simsoft.drawn.case_text import case_size
from simsoft.drawn.shapes import Appendage, Trunk, Understood
from simsoft.drawn.solid import arrays

FINE = 0.8  # mm, edges of the mesh that is moved
SAME = 0.006  # share: a size that differs less was not changed
OTHER = 0.02  # share: a length or width that differs more is a change of shape
ANGLE, PLACE = 0.6, 0.06  # deg, mm: a case's rounded numbers differ by less
FADE = 0.02  # of the length, over which a change sets in at the root


@dataclass(frozen=True)
class Changed:
    """A mesh in the case's axes [mm] and what was done to it.

    Attributes
    ----------
    points, faces : arrays (n, 3), (m, 3)
    told : tuple of str, one line for each part changed, and for what cannot be
    moved : bool, whether anything was
    """

    points: Array
    faces: Any
    told: tuple[str, ...]
    moved: bool


def changed(understood: Understood, case: Case) -> Changed:
    """Return a bait's mesh with every part as thick as its case has it.

    Parameters
    ----------
    understood : Understood, of the mesh as it was drawn
    case : Case, whose parts carry the names that the mesh's have
    """
    wanted = {part.name: part for part in case.parts}
    points, faces = arrays(understood.solid.refine_to_length(FINE))
    told, moved = [], False
    if _other_trunk(understood.trunk, case.body):
        told.append("body: its sizes changed, which needs CAD")
    for part in understood.parts:
        new = wanted.get(part.name)
        if new is None:
            told.append(f"{part.name}: no such part in the case any more")
            continue
        if _other_shape(part, new):
            told.append(f"{part.name}: its length or width changed, which needs CAD")
            continue
        ratio = _ratio(part, new)
        told += [f"{part.name}: {word} changed, which needs CAD" for word in _turned(part, new)]
        if np.abs(ratio - 1.0).max() > SAME:
            points = _scaled(points, part, ratio)
            told.append(f"{part.name}: thickness times {_between(ratio)}")
            moved = True
        points, more = _plate(points, part, new, told)
        moved |= more
    return Changed(points, faces, tuple(told), moved)


def _other_trunk(trunk: Trunk, new: BodyInput | None) -> bool:
    """Tell whether the body's length, height or width are not those of the mesh any more."""
    if new is None or abs(1e3 * new.length / trunk.length - 1.0) > OTHER:
        return True
    for drawn, stated in ((trunk.height, new.height), (trunk.width, new.width)):
        now = 1e3 * np.interp(trunk.at, stated.stations, stated.values)
        if np.abs(now - drawn).max() > OTHER * drawn.max():
            return True
    return False


def _other_shape(part: Appendage, new: Part) -> bool:
    """Tell whether more than a thickness was changed."""
    if abs(1e3 * new.length / part.length - 1.0) > OTHER:
        return True
    wide = 1e3 * np.interp(part.at, new.width.stations, new.width.values)
    inner = (part.at > 0.3) & (part.at < 0.9) if part.kind == "claw" else part.at < 0.95
    return bool(np.abs(wide[inner] / part.width[inner] - 1.0).max() > 3.0 * OTHER)


def _turned(part: Appendage, new: Part) -> list[str]:
    """Return in words which angles and paddle sizes were changed: the mesh keeps its own."""
    pairs = [
        ("arc_angle", abs(part.arc_angle), abs(float(np.degrees(new.arc_angle))), ANGLE),
        ("fork_angle", part.fork_angle, float(np.degrees(new.fork_angle)), ANGLE),
    ]
    if part.plate is not None and new.paddle is not None:
        plate, paddle = part.plate, new.paddle
        wide, tall = case_size(plate)
        pairs += [
            ("paddle_angle", plate.angle, float(np.degrees(paddle.angle)), ANGLE),
            ("paddle_offset", plate.offset, 1e3 * paddle.offset, PLACE),
            ("paddle's width", wide, 1e3 * paddle.width, OTHER * wide),
            ("paddle's height", tall, 1e3 * paddle.height, OTHER * tall),
        ]
    return [word for word, drawn, now, most in pairs if abs(now - drawn) > most]


def _between(ratio: Array) -> str:
    low, high = float(ratio.min()), float(ratio.max())
    return f"{low:.3f}" if high - low < SAME else f"{low:.3f} to {high:.3f}"


def _ratio(part: Appendage, new: Part) -> Array:
    """Return new over drawn thickness at the part's stations."""
    thick = 1e3 * np.interp(part.at, new.thickness.stations, new.thickness.values)
    return np.asarray(thick / part.thickness)


def _frames(part: Appendage) -> tuple[Array, Array, Array, Array]:
    """Return middle line (n, 3), tangents, axes of width and of thickness along it."""
    line = part.line
    if len(line) < 3:
        line = np.linspace(line[0], line[-1], 41)
    tangent = np.gradient(line, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    if part.curl == "in-plane":
        deep = np.tile(np.cross(part.width_axis, part.direction), (len(line), 1))
    else:
        deep = np.cross(part.width_axis, tangent)
    deep = deep / np.linalg.norm(deep, axis=1)[:, None]
    return line, tangent, np.cross(tangent, deep), deep


def _scaled(points: Array, part: Appendage, ratio: Array) -> Array:
    """Return points with those of a part moved along its thickness."""
    result = _along(points, part, ratio)
    image = np.array([1.0, -1.0, 1.0])
    if part.mirrored:
        result = _along(result * image, part, ratio) * image
    if part.fork_angle:
        image, shift = np.array([1.0, 1.0, -1.0]), np.array([0.0, 0.0, 2.0 * part.position[2]])
        result = (_along(result * image + shift, part, ratio) - shift) * image
    return result


def _along(points: Array, part: Appendage, ratio: Array) -> Array:
    from scipy.spatial import cKDTree

    line, tangent, wide, deep = _frames(part)
    near = cKDTree(line).query(points)[1]
    off = points - line[near]
    share = (near + np.einsum("ij,ij->i", off, tangent[near]) * (len(line) - 1) / part.length) / (
        len(line) - 1
    )
    width, thick = (np.interp(share, part.at, v) for v in (part.width, part.thickness))
    height = np.einsum("ij,ij->i", off, deep[near])
    aside = np.abs(np.einsum("ij,ij->i", off, wide[near]))
    inside = (share > 0.0) & (aside < 0.55 * width + 0.2) & (np.abs(height) < 0.6 * thick + 0.2)
    if part.plate is not None:
        front = (points - part.plate.centre) @ part.plate.normal
        inside &= front < -0.45 * part.plate.thickness
    else:
        inside &= share < 1.02
    fade = np.clip(share / FADE, 0.0, 1.0)
    grown = (np.interp(share, part.at, ratio) - 1.0) * fade * height * inside
    return np.asarray(points + grown[:, None] * deep[near])


def _plate(points: Array, part: Appendage, new: Part, told: list[str]) -> tuple[Array, bool]:
    """Return points with a paddle as thick as its case has it, its front face in place."""
    if part.plate is None or new.paddle is None:
        return points, False
    ratio = 1e3 * new.paddle.thickness / part.plate.thickness
    if abs(ratio - 1.0) < SAME:
        return points, False
    height = (points - part.plate.centre) @ part.plate.normal + 0.5 * part.plate.thickness
    on_plate = (height > 0.0) & (points[:, 0] > span_start(part))
    told.append(f"{part.name}: paddle's thickness times {ratio:.3f}")
    moved = (ratio - 1.0) * height * on_plate
    return points + moved[:, None] * part.plate.normal, True


def span_start(part: Appendage) -> float:
    """Return where a part begins along x [mm]."""
    return span(part.solid)[0]
