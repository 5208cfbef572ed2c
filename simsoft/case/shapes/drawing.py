"""Closed curves of an SVG or DXF drawing, and the line in it that is named as the clamp."""

from __future__ import annotations

import logging
import math
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.parsers import expat

import numpy as np

from simsoft.case.model import Ring
from simsoft.case.wording import printable

CURVE_POINTS = 48  # of a curved piece of a drawing
FLATNESS = 1e-3  # of a curve's size, largest gap between it and its chords
CLAMP = "clamp"  # name of the SVG element, or of the DXF layer, that draws the stretch held
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
LARGEST = 2_000_000  # bytes
MOST_SHAPES = 1_000  # elements of a drawing
MOST_TEXT = 250_000  # characters of its numbers and names
MOST_COPIES = 10  # `use` elements: each may show what holds others, and doubles the time taken
MOST_POINTS = 20_000
FARTHEST = 1e9  # coordinate, in the drawing's own unit
LONGEST_REASON = 200  # characters
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
        If the file cannot be read, is of another kind, is larger than any outline, holds no
        closed curve or more than one line named ``clamp``.
    """
    kind = path.suffix.lower()
    name = printable(path.name)
    if kind not in (".svg", ".dxf"):
        raise ValueError(f"`{name}` is neither .svg nor .dxf; one of the two is needed")
    if not path.is_file():
        raise ValueError(f"`{name}` does not exist beside the case")
    if path.stat().st_size > LARGEST:
        raise ValueError(
            f"`{name}` has {path.stat().st_size} bytes; a drawing of at most {LARGEST} is allowed"
        )
    try:
        rings, lines = _svg(path) if kind == ".svg" else _dxf(path)
    except ImportError as problem:
        raise ValueError(NEEDS) from problem
    except TooMuchError as problem:
        raise ValueError(f"`{name}` {problem}") from problem
    except Exception as problem:  # what the readers raise on a broken file is not documented
        reason = printable(" ".join(str(problem).split()))[:LONGEST_REASON]
        raise ValueError(f"`{name}` cannot be read: {reason or 'it is damaged'}") from problem
    if not rings:
        raise ValueError(f"`{name}` holds no closed curve; one closed path is needed")
    if len(lines) > 1:
        raise ValueError(f"`{name}` holds {len(lines)} lines named `{CLAMP}`; one is allowed")
    for point in (point for ring in (*rings, *lines) for point in ring):
        if not all(abs(number) <= FARTHEST for number in point):
            x, y = point
            raise ValueError(
                f"`{name}` draws a point at {x:g}, {y:g}; up to {FARTHEST:g} is allowed"
            )
    return Drawing(tuple(rings), lines[0] if lines else None)


class TooMuchError(Exception):
    """A drawing holds more than any outline; says what and how much is allowed."""


def _kept(found: Iterable[Ring], before: int) -> tuple[list[Ring], int]:
    """Return curves and the number of their points and those before; TooMuchError past the most."""
    kept = []
    for points in found:
        before += len(points)
        if before > MOST_POINTS:
            raise TooMuchError(
                f"draws more than {MOST_POINTS} points; simplify it, an outline needs a few hundred"
            )
        kept.append(points)
    return kept, before


def _look_over(path: Path) -> None:
    """Raise TooMuchError where an SVG file holds more than its reader gets through in a second."""
    shapes = copies = size = 0

    def element(name: str, attributes: dict[str, str]) -> None:
        nonlocal shapes, copies
        shapes += 1
        copies += name.rpartition(":")[2] == "use"
        if shapes > MOST_SHAPES:
            raise TooMuchError(f"holds more than {MOST_SHAPES} elements; leave only the outline")
        if copies > MOST_COPIES:
            raise TooMuchError(
                f"holds more than {MOST_COPIES} copies (`use`); draw them out, or leave only the "
                "outline"
            )
        text("".join(attributes.values()))

    def text(more: str) -> None:
        nonlocal size
        size += len(more)
        if size > MOST_TEXT:
            raise TooMuchError(
                f"holds more than {MOST_TEXT} characters of numbers and names; simplify it"
            )

    parser = expat.ParserCreate()
    parser.StartElementHandler = element
    parser.CharacterDataHandler = text
    parser.Parse(path.read_bytes(), True)


def _svg(path: Path) -> tuple[list[Ring], list[Ring]]:
    from svgelements import SVG, Shape
    from svgelements import Path as Curve

    _look_over(path)
    rings: list[Ring] = []
    lines: list[Ring] = []
    count = 0
    for element in SVG.parse(str(path)).elements():
        if not isinstance(element, Shape):
            continue
        names = (element.id, element.values.get(LABEL))
        named = any(isinstance(name, str) and name.lower() == CLAMP for name in names)
        pieces = (Curve(piece) for piece in Curve(element).as_subpaths())
        found, count = _kept((_svg_points(piece, with_start=named) for piece in pieces), count)
        least = 2 if named else 3
        (lines if named else rings).extend(points for points in found if len(points) >= least)
    return rings, lines


def _svg_points(curve: Any, *, with_start: bool) -> Ring:
    """Return the points of a path; the start of a closed one is its end, and so left out."""
    points: list[tuple[float, float]] = []
    for segment in curve:
        kind = type(segment).__name__
        if kind in ("Line", "Close") or (kind == "Move" and with_start):
            places = [] if segment.end is None else [(segment.end.x, segment.end.y)]
        elif kind == "Move":
            continue
        else:
            places = segment.npoint(np.arange(1, CURVE_POINTS + 1) / CURVE_POINTS)
        # a drawing's second axis points down
        points += [(float(x), -float(y)) for x, y in places]
        if len(points) > MOST_POINTS:
            break
    return tuple(points)


def _dxf(path: Path) -> tuple[list[Ring], list[Ring]]:
    from ezdxf.filemanagement import readfile
    from ezdxf.path import make_path

    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)  # it would write on the user's screen
    rings: list[Ring] = []
    lines: list[Ring] = []
    count = 0
    for number, entity in enumerate(readfile(path).modelspace()):
        if number >= MOST_SHAPES:
            raise TooMuchError(f"holds more than {MOST_SHAPES} elements; leave only the outline")
        try:
            curve = make_path(entity)
        except TypeError:
            continue
        named = str(entity.dxf.layer).lower() == CLAMP
        if not (named or curve.is_closed):
            continue
        found, count = _kept([_dxf_points(curve)], count)
        (lines if named else rings).extend(found)
    return rings, lines


def _dxf_points(curve: Any) -> Ring:
    """Return the points of a path as far as they are finite and few; the rest is refused later."""
    points: list[tuple[float, float]] = []
    size = _size(curve)
    if not math.isfinite(size):
        return ((math.inf, math.inf),)
    for place in curve.flattening(FLATNESS * size):
        points.append((float(place.x), float(place.y)))
        if len(points) > MOST_POINTS:
            break
    return tuple(points)


def _size(curve: Any) -> float:
    points = list(curve.control_vertices())
    spans = (max(p[i] for p in points) - min(p[i] for p in points) for i in range(2))
    return float(max(*spans, 1e-9))
