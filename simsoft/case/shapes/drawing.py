"""Closed curves of an SVG or DXF drawing, and the line in it that is named as the clamp."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simsoft.case.model import Ring

CURVE_POINTS = 48  # of a curved piece of a drawing
FLATNESS = 1e-3  # of a curve's size, largest gap between it and its chords
CLAMP = "clamp"  # name of the SVG element, or of the DXF layer, that draws the stretch held
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
NEEDS = "reading a drawn outline needs the extra `outline`: pip install 'simsoft[outline]'"


@dataclass(frozen=True)
class Drawing:
    """What a drawing holds, in its own units: closed curves, and the clamp's line or None."""

    rings: tuple[Ring, ...]
    clamp: Ring | None = None


def read_drawing(path: Path) -> Drawing:
    """Return the closed curves of an SVG or DXF drawing and the line named ``clamp``.

    Raises
    ------
    ValueError
        If the file cannot be read, is of another kind, holds no closed curve or more than one
        line named ``clamp``.
    """
    kind = path.suffix.lower()
    if kind not in (".svg", ".dxf"):
        raise ValueError(f"`{path.name}` is neither .svg nor .dxf; one of the two is needed")
    if not path.is_file():
        raise ValueError(f"`{path.name}` does not exist beside the case")
    try:
        rings, lines = _svg(path) if kind == ".svg" else _dxf(path)
    except ImportError as problem:
        raise ValueError(NEEDS) from problem
    except Exception as problem:  # what the readers raise on a broken file is not documented
        raise ValueError(f"`{path.name}` cannot be read: {problem}") from problem
    if not rings:
        raise ValueError(f"`{path.name}` holds no closed curve; one closed path is needed")
    if len(lines) > 1:
        raise ValueError(f"`{path.name}` holds {len(lines)} lines named `{CLAMP}`; one is allowed")
    return Drawing(tuple(rings), lines[0] if lines else None)


def _svg(path: Path) -> tuple[list[Ring], list[Ring]]:
    from svgelements import SVG, Shape
    from svgelements import Path as Curve

    rings: list[Ring] = []
    lines: list[Ring] = []
    for element in SVG.parse(str(path)).elements():
        if not isinstance(element, Shape):
            continue
        names = (element.id, element.values.get(LABEL))
        named = any(isinstance(name, str) and name.lower() == CLAMP for name in names)
        for piece in Curve(element).as_subpaths():
            points = _svg_points(Curve(piece), with_start=named)
            if named and len(points) >= 2:
                lines.append(points)
            elif not named and len(points) >= 3:
                rings.append(points)
    return rings, lines


def _svg_points(curve: Any, *, with_start: bool) -> Ring:
    """Return the points of a path; the start of a closed one is its end, and so left out."""
    points: list[tuple[float, float]] = []
    for segment in curve:
        kind = type(segment).__name__
        if kind == "Move":
            places = [segment.end] if with_start else []
        else:
            count = 1 if kind in ("Line", "Close") else CURVE_POINTS
            places = [segment.point(k / count) for k in range(1, count + 1)]
        # a drawing's second axis points down
        points += [(float(p.x), -float(p.y)) for p in places if p is not None]
    return tuple(points)


def _dxf(path: Path) -> tuple[list[Ring], list[Ring]]:
    from ezdxf.filemanagement import readfile
    from ezdxf.path import make_path

    rings: list[Ring] = []
    lines: list[Ring] = []
    for entity in readfile(path).modelspace():
        try:
            curve = make_path(entity)
        except TypeError:
            continue
        named = str(entity.dxf.layer).lower() == CLAMP
        if not (named or curve.is_closed):
            continue
        points = tuple((float(v.x), float(v.y)) for v in curve.flattening(FLATNESS * _size(curve)))
        (lines if named else rings).append(points)
    return rings, lines


def _size(curve: Any) -> float:
    points = list(curve.control_vertices())
    spans = (max(p[i] for p in points) - min(p[i] for p in points) for i in range(2))
    return float(max(*spans, 1e-9))
