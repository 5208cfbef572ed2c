"""Outline of a part that is drawn: points of the case, or an SVG or DXF file; holes inside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from simsoft.case.model import Part, Ring, Taper

STATIONS = 25  # of the width read off an outline
CURVE_POINTS = 48  # of a curved piece of a drawing
CLAMP_SHARE = 0.02  # of the length: points as near the root are held
NEEDS = "reading a drawn outline needs the extra `outline`: pip install 'simsoft[outline]'"


def read_outline(path: Path) -> tuple[Ring, ...]:
    """Return the closed curves of an SVG or DXF drawing, in its own units.

    Raises
    ------
    ValueError
        If the file cannot be read, is of another kind or holds no closed curve.
    """
    kind = path.suffix.lower()
    if kind not in (".svg", ".dxf"):
        raise ValueError(f"`{path.name}` is neither .svg nor .dxf; one of the two is needed")
    if not path.is_file():
        raise ValueError(f"`{path.name}` does not exist beside the case")
    try:
        rings = _svg(path) if kind == ".svg" else _dxf(path)
    except ImportError as problem:
        raise ValueError(NEEDS) from problem
    except Exception as problem:  # what the readers raise on a broken file is not documented
        raise ValueError(f"`{path.name}` cannot be read: {problem}") from problem
    if not rings:
        raise ValueError(f"`{path.name}` holds no closed curve; one closed path is needed")
    return tuple(rings)


def _svg(path: Path) -> list[Ring]:
    from svgelements import SVG, Move, Shape
    from svgelements import Path as Curve

    rings = []
    for element in SVG.parse(str(path)).elements():
        if not isinstance(element, Shape):
            continue
        for piece in Curve(element).as_subpaths():
            points: list[tuple[float, float]] = []
            for segment in Curve(piece):
                if isinstance(segment, Move):
                    continue
                straight = type(segment).__name__ in ("Line", "Close")
                count = 1 if straight else CURVE_POINTS
                places = [segment.point(k / count) for k in range(1, count + 1)]
                # a drawing's second axis points down
                points += [(float(p.x), -float(p.y)) for p in places if p is not None]
            if len(points) >= 3:
                rings.append(tuple(points))
    return rings


def _dxf(path: Path) -> list[Ring]:
    from ezdxf.filemanagement import readfile
    from ezdxf.path import make_path

    rings = []
    for entity in readfile(path).modelspace():
        try:
            curve = make_path(entity)
        except TypeError:
            continue
        if curve.is_closed:
            flat = [(float(v.x), float(v.y)) for v in curve.flattening(0.001 * _size(curve))]
            rings.append(tuple(flat))
    return rings


def _size(curve: Any) -> float:
    points = list(curve.control_vertices())
    return float(max(max(p.x for p in points) - min(p.x for p in points), 1e-9))


def with_outline(part: Part, rings: tuple[Ring, ...], clamp: Ring | None = None) -> Part:
    """Return the part with an outline scaled to its length, and its width read off it.

    Parameters
    ----------
    part : Part
    rings : tuple of closed curves in any one unit; the largest is the outline, the others holes.
        The first axis runs from the clamp to the tip.
    clamp : line of points along the outline, in the same unit, where the part is held; None for
        the side at the smallest first coordinate

    Raises
    ------
    ValueError
        If a curve crosses itself or another one, a hole lies outside, or the clamp leaves the
        outline.
    """
    try:
        from shapely import LineString, Polygon
        from shapely.affinity import affine_transform
        from shapely.validation import explain_validity
    except ImportError as problem:
        raise ValueError(NEEDS) from problem
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
    low, _, high, _ = whole.bounds
    scale = part.length / (high - low)
    root = [y for x, y in whole.exterior.coords if x - low < CLAMP_SHARE * (high - low)]
    middle = 0.5 * (min(root) + max(root))
    placed = affine_transform(whole, [scale, 0.0, 0.0, scale, -scale * low, -scale * middle])
    if clamp is None and max(root) - min(root) <= 0.0:
        raise ValueError(
            "meets the clamp in a point; a side at the smallest x is needed to hold it"
        )
    stations = [k / (STATIONS - 1) for k in range(STATIONS)]
    reach = 10.0 * part.length
    width = []
    for share in stations:
        x = part.length * min(max(share, 1e-3), 1.0 - 1e-3)
        width.append(placed.intersection(LineString([(x, -reach), (x, reach)])).length)
    curves = [placed.exterior, *placed.interiors]
    outline = tuple(tuple((float(x), float(y)) for x, y in list(c.coords)[:-1]) for c in curves)
    least = 1e-3 * max(width)
    taper = Taper(tuple(stations), tuple(max(w, least) for w in width))
    held = None
    if clamp is not None:
        held = tuple((scale * (x - low), scale * (y - middle)) for x, y in clamp)
        edge = placed.exterior.buffer(CLAMP_SHARE * part.length)
        if LineString(held).length <= 0.0 or not edge.covers(LineString(held)):
            raise ValueError("has a `clamp` that does not run along it; points on it are needed")
    return replace(part, outline=outline, width=taper, clamp=held)
