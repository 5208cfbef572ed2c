"""A drawn part: outline scaled to its length, width read off it, the stretch that is held."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from simsoft.case.model import Part, Ring, Taper
from simsoft.case.rules.drawn import CLAMPS, HELD_ROD
from simsoft.case.schema import PartTable
from simsoft.case.shapes.drawing import NEEDS, Drawing
from simsoft.case.shapes.stretch import by_points, by_shares, stretch

STATIONS = 25  # of the width read off an outline
CLAMP_SHARE = 0.02  # of the length: points as near the root are held


def with_outline(
    part: Part,
    rings: tuple[Ring, ...],
    clamp: Ring | None = None,
    shares: tuple[float, float] | None = None,
    *,
    placed: bool = False,
) -> Part:
    """Return the part with an outline scaled to its length, and its width read off it.

    Parameters
    ----------
    part : Part
    rings : tuple of closed curves in any one unit; the largest is the outline, the others holes.
        The first axis runs from the clamp to the tip.
    clamp : points on the outline, in the same unit, between which the part is held; None for
        the side at the smallest first coordinate
    shares : begin and end of the stretch held in shares of the outline's length, counter-clockwise
        from the middle of the side at the smallest first coordinate
    placed : bool, ``clamp`` is in [m] along the part and across it, as the outline is placed

    Raises
    ------
    ValueError
        If a curve crosses itself or another one, a hole lies outside, or the clamp leaves the
        outline.
    """
    try:
        from shapely import LineString
        from shapely.affinity import affine_transform
        from shapely.geometry.polygon import orient
    except ImportError as problem:
        raise ValueError(NEEDS) from problem
    whole = _checked(rings)
    low, _, high, _ = whole.bounds
    scale = part.length / (high - low)
    root = [y for x, y in whole.exterior.coords if x - low < CLAMP_SHARE * (high - low)]
    middle = 0.5 * (min(root) + max(root))
    whole = affine_transform(whole, [scale, 0.0, 0.0, scale, -scale * low, -scale * middle])
    if clamp is None and shares is None and max(root) - min(root) <= 0.0:
        raise ValueError(
            "meets the clamp in a point; a side at the smallest x is needed to hold it"
        )
    stations = [k / (STATIONS - 1) for k in range(STATIONS)]
    reach = 10.0 * part.length
    width = []
    for share in stations:
        x = part.length * min(max(share, 1e-3), 1.0 - 1e-3)
        width.append(whole.intersection(LineString([(x, -reach), (x, reach)])).length)
    least = 1e-3 * max(width)
    taper = Taper(tuple(stations), tuple(max(w, least) for w in width))
    outer, *holes = (
        tuple((float(x), float(y)) for x, y in list(curve.coords)[:-1])
        for curve in (orient(whole).exterior, *whole.interiors)
    )
    held = None
    if clamp is not None:
        if not placed:
            clamp = tuple((scale * (x - low), scale * (y - middle)) for x, y in clamp)
        outer, held = stretch(outer, *by_points(outer, clamp, part.length))
    elif shares is not None:
        outer, held = stretch(outer, *by_shares(outer, (0.0, 0.0), shares))
    return replace(part, outline=(outer, *holes), width=taper, clamp=held)


def _checked(rings: tuple[Ring, ...]) -> Any:
    """Return the polygon of an outline and its holes; ValueError where they cross."""
    from shapely import Polygon
    from shapely.validation import explain_validity

    shapes = sorted((Polygon(ring) for ring in rings), key=lambda p: p.area, reverse=True)
    for shape in shapes:
        if not shape.is_valid or shape.area <= 0.0:
            raise ValueError(
                f"crosses itself or is flat ({explain_validity(shape)}); a simple closed curve is "
                "needed"
            )
    outer, holes = shapes[0], shapes[1:]
    whole = Polygon(outer.exterior.coords, [hole.exterior.coords for hole in holes])
    if not whole.is_valid:
        raise ValueError(
            f"a hole crosses the outline or lies outside ({explain_validity(whole)}); holes must "
            "lie inside"
        )
    return whole


def check_drawn_clamp(drawing: Drawing, table: PartTable) -> None:
    """Raise ValueError where the line of a drawing that names the clamp cannot be met."""
    if drawing.clamp is None:
        return
    for key in CLAMPS:
        if getattr(table, key) is not None:
            raise ValueError(
                f"draws a line named `clamp`, which contradicts `{key}`; only one is allowed"
            )
    if table.model != "plate":
        raise ValueError(f"draws a line named `clamp`: {HELD_ROD}")
