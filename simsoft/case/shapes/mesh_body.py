"""A mesh that serves as the body itself: its sections, in the case's axes and in mm."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np

from simsoft.case.model import BodyInput
from simsoft.case.sections import MeshSections
from simsoft.case.shapes.mesh_file import NEEDS, read_mesh
from simsoft.case.shapes.mesh_repair import repaired
from simsoft.case.shapes.slices import loops, middles, moments, slices, span
from simsoft.core.arrays import Array

CUTS = 400
NEAR = 0.06  # of the largest size: stated tables and mesh are one body


def with_mesh(body: BodyInput, path: Path) -> BodyInput:
    """Return a body whose sections are those of a mesh.

    Parameters
    ----------
    body : BodyInput
    path : Path, mesh of the trunk alone in mm, nose at the origin, x to the tail, z up

    Raises
    ------
    InputError
        The file cannot be read.
    ValueError
        It is no closed solid, or not the body that the case states.
    """
    raw = read_mesh(path)
    try:
        solid = repaired(raw.points, raw.faces).solid
    except ImportError:
        raise ValueError(NEEDS) from None
    low, high = span(solid)
    long = 1e3 * body.length
    if abs(low) > NEAR * long or abs(high - long) > NEAR * long:
        raise ValueError(
            f"the mesh runs from {low:.4g} to {high:.4g} mm along x, the body from 0 to "
            f"{long:.4g} mm; `simsoft new --from` writes a mesh that fits"
        )
    x = middles(0.0, long, CUTS)
    rows = np.array([_row(section) for section in slices(solid, np.clip(x, low, high))])
    for name, stated, found in (
        ("height", body.height, rows[:, 0]),
        ("width", body.width, rows[:, 1]),
    ):
        wanted = 1e3 * np.interp(x / long, stated.stations, stated.values)
        off = np.abs(wanted - found)
        # a groove of a ribbed body is no error
        worst = float(np.percentile(off, 90.0 if not body.rib_depth else 30.0))
        if worst > NEAR * float(found.max()):
            raise ValueError(
                f"the mesh's {name} is {worst:.3g} mm off the body's; leave `mesh` out to change "
                "the body's sizes"
            )
    scale = np.array([1e-3, 1e-3, 1e-6, 1e-3, 1e-12, 1e-12, 1e-6, 1e-3])
    columns = (tuple(map(float, column)) for column in (rows * scale).T)
    return dataclasses.replace(body, measured=MeshSections(*columns))


def _row(section: object) -> Array:
    """Return height, width, area, centre, both second moments, hull area and perimeter."""
    area, y, z, yy, zz, _ = moments(section)
    if area <= 0.0:
        return np.full(8, 1e-9)
    box = section.bounds()  # type: ignore[attr-defined]
    hull = section.hull()  # type: ignore[attr-defined]
    rim = loops(hull)[0]
    around = float(np.linalg.norm(rim - np.roll(rim, 1, axis=0), axis=1).sum())
    return np.array(
        [
            box[3] - box[1], box[2] - box[0], area, z,
            zz + area * z**2, yy + area * y**2, hull.area(), around,
        ]
    )  # fmt: skip
