"""Numbers of published checks on plates that no single record holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simsoft.case.model import Case, Taper
from simsoft.core.errors import SolveError
from simsoft.engine.run import run
from simsoft.geometry.meshing import quads_on
from simsoft.hydrodynamics.plate.panels import make_panels, panel_added_mass
from simsoft.results.record import select

PANELS = 500  # of a rectangle
ACROSS = 20  # panels across an ellipse
OUTLINE_POINTS = 180


def wet_over_dry(case: Case) -> list[float]:
    """Return the ratio of the wet to the dry natural frequencies [-], mode by mode, in order.

    Modes in the plane of the plate, which thin-plate series leave out, are left out.

    Raises
    ------
    SolveError
        If a frequency has no value.
    """
    records = run(case, bands=False).records
    found = {
        medium: [
            r.value
            for r in select(records, "natural_frequency", medium=medium)
            if r.at["motion"] != "in-plane"
        ]
        for medium in ("water", "air")
    }
    ratios = []
    for wet, dry in zip(found["water"], found["air"], strict=False):
        if not isinstance(wet, float) or not isinstance(dry, float):
            raise SolveError("a natural frequency has no value")
        ratios.append(wet / dry)
    return ratios


def onset_by_width(
    case: Case, shares: Sequence[float], elements: Sequence[int]
) -> list[tuple[float, float]]:
    """Return start speed [m/s] and rate [Hz] of the case's one part at several widths.

    The water is made lighter as the part is made wider, so that its carried mass over its own
    and over its stiffness, all of strip theory, stays that of the case.

    Parameters
    ----------
    case : Case, one part, scenario 'retrieve' with ``onset``
    shares : sequence of float, widths over the length
    elements : sequence of int, along the length, for each

    Raises
    ------
    SolveError
        If a start is not found.
    """
    part, water = case.parts[0], case.water
    if water.density is None:
        raise SolveError("the case states no density of the water")
    base = part.width.values[0]
    found = []
    for share, count in zip(shares, elements, strict=True):
        width = share * part.length
        narrow = replace(part, width=Taper((0.0,), (width,)))
        moved = replace(
            case,
            parts=(narrow,),
            water=replace(water, density=water.density * base / width),
            numerics=replace(case.numerics, elements=count),
        )
        records = run(moved, bands=False).records
        speed, rate = (select(records, f"start_{name}")[0] for name in ("speed", "frequency"))
        if not isinstance(speed.value, float) or not isinstance(rate.value, float):
            raise SolveError(speed.reason or "no start is found")
        found.append((speed.value, rate.value))
    return found


def onset_without_width(
    case: Case, shares: Sequence[float], elements: Sequence[int]
) -> tuple[float, float]:
    """Return start speed [m/s] and rate [Hz] as the width goes to nothing.

    Carried on from ``onset_by_width`` by ``onset_limit``.
    """
    found = onset_by_width(case, shares, elements)
    speed, rate = (
        onset_limit([(share, pair[i]) for share, pair in zip(shares, found, strict=True)])
        for i in range(2)
    )
    return speed, rate


def onset_limit(points: Sequence[tuple[float, float]]) -> float:
    """Return the polynomial through points (x, y) at x = 0 (Neville's scheme)."""
    shares = [x for x, _ in points]
    values = [y for _, y in points]
    for order in range(1, len(values)):
        values = [
            (shares[i] * values[i + 1] - shares[i + order] * values[i])
            / (shares[i] - shares[i + order])
            for i in range(len(values) - 1)
        ]
    return values[0]


def rectangle_coefficient(aspect_ratio: float, panels: int = PANELS) -> float:
    """Return C_A [-] of a rectangle moving square on: m_a = C_A rho (pi/4) a^2 b.

    Parameters
    ----------
    aspect_ratio : float, longer side b over shorter side a
    panels : int, about how many
    """
    across = max(6, round(math.sqrt(panels / aspect_ratio)))
    along = max(across, round(panels / across))
    plan, quads = rectangle(aspect_ratio, 1.0, along, across)
    carried = float(panel_added_mass(make_panels(plan, quads)).sum())
    return carried / (0.25 * math.pi * aspect_ratio)


def ellipse_coefficients(ratio: float, across: int = ACROSS) -> tuple[float, float]:
    """Return added mass over rho a b^2 and, for turning about the long axis, over rho a b^4.

    Parameters
    ----------
    ratio : float, semi-axes a/b, at least 1
    across : int, panels across the shorter axis, about
    """
    turn = np.linspace(0.0, 2.0 * math.pi, OUTLINE_POINTS + 1)[:-1]
    ring = tuple((float(ratio * math.cos(t)), float(math.sin(t))) for t in turn)
    panels = make_panels(*quads_on((ring,), 2.0 / across))
    mass = panel_added_mass(panels)
    y = panels.middle[:, 1]
    return float(mass.sum()) / ratio, float(y @ mass @ y) / ratio


def rectangle(
    length: float, width: float, along: int, across: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return nodes (n, 2) [m] and quadrilaterals (E, 4) of an even grid on a rectangle."""
    x, y = np.linspace(0.0, length, along + 1), np.linspace(-0.5 * width, 0.5 * width, across + 1)
    plan = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    row = np.arange(along)[:, None] * (across + 1) + np.arange(across)
    quads = np.stack([row, row + across + 1, row + across + 2, row + 1], axis=2).reshape(-1, 4)
    return plan, quads
