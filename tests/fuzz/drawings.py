"""Drawn outlines (SVG, DXF, points in the case), and seeded ways to spoil them."""

from __future__ import annotations

import math
import random
import re
from functools import lru_cache
from pathlib import Path

import outcomes
from mutations import INVISIBLE, ODD_NUMBERS

from simsoft.case.read import load
from simsoft.core.errors import InputError
from simsoft.geometry.planform import cut_planform

CASE = """
title = "drawn fin"
[material]
durometer = "30 OO"
[[parts]]
name = "fin"
kind = "strip"
length = "30 mm"
thickness = "1.2 mm"
model = "plate"
{drawn}
[[scenarios]]
name = "tank"
kind = "hold"
"""
SVG = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">
<g transform="translate(0.1, 0.2) scale(1.1)">
<path d="M 0 8 L 8 8 C 12 2 30 0 36 6 L 36 14 C 30 20 12 18 8 12 L 0 12 Z"/>
<circle cx="24" cy="10" r="2.5"/>
</g>
<path id="clamp" d="M 0.1 9.1 L 0.1 13.3"/>
</svg>
"""
TAGS = (
    '<rect x="1" y="2" width="3" height="4"/>', '<use href="#a"/>', "<!-- a -->", "<g>", "</g>",
    '<ellipse cx="9" cy="9" rx="1" ry="1e9"/>', '<image href="other.png"/>', "<style>*{}</style>",
    '<path d="M0 0 A 1 1 0 0 1 1e300 5 Z"/>', '<polygon points="1,2 3,4 5,nan"/>', "&amp;", "&b;",
    '<path d="M0,0 L 1,1"/>', '<text>a</text>', '<svg viewBox="0 0 0 0">', "<![CDATA[", "]]>",
)  # fmt: skip
TURNS = (
    "scale(0)",
    "scale(1e300)",
    "rotate(nan)",
    "matrix(0 0 0 0 0 0)",
    "skewX(90)",
    "scale(-1,2)",
)
GROUP_CODES = ("0", "10", "20", "8", "70", "90", "42", "-1", "999", "1000000000000", "LINE", "a")


def _number(rng: random.Random) -> str:
    return rng.choice((rng.choice(ODD_NUMBERS), f"{10.0 ** rng.uniform(-9, 9):.4g}", "12", "-5"))


def _spoilt_svg(rng: random.Random, text: str) -> str:
    how = rng.randrange(12)
    place = rng.randrange(len(text) + 1)
    words = text.split(" ")
    which = rng.randrange(len(words))
    if how == 0:
        return text[:place] + rng.choice(INVISIBLE) + text[place:]
    if how == 1:
        return text[:place] + rng.choice("<>/\"'=&;MLCAZ0-.") + text[place + 1 :]
    if how in (2, 3, 4):
        words[which] = _number(rng)
        return " ".join(words)
    if how == 5:
        del words[which]
        return " ".join(words)
    if how == 6:
        words[which:which] = [words[which]] * rng.choice((1, 5, 3000))
        return " ".join(words)
    if how == 7:
        return text.replace("</svg>", rng.choice(TAGS) * rng.choice((1, 2, 4000)) + "</svg>")
    if how == 8:
        return text.replace("translate(0.1, 0.2)", rng.choice(TURNS))
    if how == 9:
        count = rng.choice((5, 200, 20_000))
        ends = (f"L {rng.uniform(0, 40):.3f} {rng.uniform(0, 20):.3f}" for _ in range(count))
        return text.replace("Z", " ".join(ends) + " Z", 1)
    if how == 10:
        layers = [
            f'<!ENTITY e{i} "&e{i - 1};&e{i - 1};&e{i - 1};&e{i - 1};">' for i in range(1, 30)
        ]
        head = f'<!DOCTYPE svg [<!ENTITY e0 "ha">{"".join(layers)}]>'
        return head + text.replace("</svg>", f"<text>&e{rng.choice((2, 9, 29))};</text></svg>")
    nested = rng.choice((3, 40, 3000))
    return text.replace("<path", "<g>" * nested + "<path", 1).replace("</svg>", "</g>" * nested)


def _gentle_svg(rng: random.Random) -> str:
    """Return a drawing that can be read, its numbers moved and shapes added."""
    spread = rng.choice((0.01, 0.1, 0.5))

    def moved(number: re.Match[str]) -> str:
        return f"{float(number[0]) * rng.uniform(1.0 - spread, 1.0 + spread):.5g}"

    head, path, tail = SVG.partition('<path d="M 0 8')
    path, end, tail = (path + tail).partition("/>")
    text = head + re.sub(r"\d+(\.\d+)?", moved, path) + end + tail
    if rng.randrange(4):
        text = text.replace('id="clamp"', 'id="other"')
    for _ in range(rng.choice((0, 0, 1, 5))):
        size = 10.0 ** rng.uniform(-4, 0.5)
        x, y = rng.uniform(5, 30), rng.uniform(6, 14)
        shape = f'<rect x="{x:.4g}" y="{y:.4g}" width="{size:.4g}" height="{size:.4g}"/>'
        text = text.replace("</g>", f"{shape}</g>", 1)
    return text


def svg(seed: int) -> bytes:
    """Return the bytes of a spoilt SVG drawing."""
    rng = random.Random(f"svg/{seed}")
    if rng.randrange(2):
        return _gentle_svg(rng).encode()
    text = SVG
    for _ in range(rng.choice((1, 1, 2, 3, 5))):
        text = _spoilt_svg(rng, text)
    return _cut(rng, text.encode("utf-8", "surrogatepass"))


def _cut(rng: random.Random, data: bytes) -> bytes:
    how = rng.randrange(25)
    if how == 0 and data:
        return data[: rng.randrange(len(data))]
    if how == 1 and data:
        place = rng.randrange(len(data))
        return data[:place] + bytes([rng.randrange(256)]) + data[place + 1 :]
    if how == 2:
        return rng.choice((b"", b"\x89PNG\r\n", b"\xff\xfe<", b"0\n", b"<svg/>", data + data))
    return data


@lru_cache(maxsize=1)
def _dxf_text() -> str:
    import io

    from ezdxf.filemanagement import new

    drawing = new()
    space = drawing.modelspace()
    space.add_lwpolyline([(0, -3), (20, -8), (30, -8), (30, 8), (0, 3)], close=True)
    space.add_circle((20, 0), 2)
    space.add_line((0, -2), (0, 2), dxfattribs={"layer": "clamp"})
    space.add_spline([(1, 1), (2, 3), (4, 1)])
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


def _spoilt_dxf(rng: random.Random, lines: list[str]) -> list[str]:
    """Change one line, mostly among the entities."""
    start = lines.index("ENTITIES") if "ENTITIES" in lines and rng.random() < 0.8 else 0
    end = min(len(lines), start + 160)
    if start >= end:
        return lines
    place = rng.randrange(start, end)
    how = rng.randrange(6)
    if how == 0:
        del lines[place]
    elif how in (1, 2):
        lines[place] = _number(rng)
    elif how == 3:
        lines[place] = rng.choice(GROUP_CODES)
    elif how == 4:
        lines[place:place] = lines[place : place + 2] * rng.choice((1, 4, 5000))
    else:
        lines[place] = lines[place] + rng.choice(INVISIBLE + "e9")
    return lines


def dxf(seed: int) -> bytes:
    """Return the bytes of a spoilt DXF drawing."""
    rng = random.Random(f"dxf/{seed}")
    lines = _dxf_text().split("\n")
    for _ in range(rng.choice((1, 1, 2, 3, 5))):
        lines = _spoilt_dxf(rng, lines)
    return _cut(rng, "\n".join(lines).encode("utf-8", "surrogatepass"))


def outline(seed: int) -> bytes:
    """Return the bytes of a case whose part is drawn by points, spoilt."""
    rng = random.Random(f"outline/{seed}")
    count = rng.choice((3, 4, 6, 12, 60, 400))
    kind = rng.randrange(4)
    points = []
    for i in range(count):
        turn = 2.0 * math.pi * (i + 0.5) / count
        x, y = -15.0 * math.cos(turn), -8.0 * math.sin(turn)
        if kind == 1:  # spikes and slivers, no crossing
            reach = rng.choice((1.0, 1.0, 0.9, 0.3, 0.01, 3.0))
            x, y = x * reach, y * reach
        elif kind == 2 and rng.randrange(count) == 0:
            x, y = rng.uniform(-15, 15), rng.uniform(-8, 8)
        x += 15.0
        points.append([f"{x:.4g} mm", f"{y:.4g} mm"])
    for _ in range(rng.choice((0, 0, 0, 0, 1, 3))):
        point = rng.choice(points)
        point[rng.randrange(2)] = f"{_number(rng)} {rng.choice(('mm', 'mm', 'm', 'in', ''))}"
    if rng.randrange(8) == 0:
        points[rng.randrange(count)] = points[0]
    drawn = "outline = " + str(points).replace("'", '"')
    if rng.randrange(3) == 0:
        x, y, size = rng.uniform(-2, 32), rng.uniform(-6, 6), 10.0 ** rng.uniform(-4, 1)
        hole = [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]
        drawn += "\nholes = [" + str([[f"{a:.4g} mm", f"{b:.4g} mm"] for a, b in hole]) + "]"
    if rng.randrange(4) == 0:
        begin, end = sorted((rng.uniform(-0.2, 1.2), rng.uniform(-0.2, 1.2)))
        drawn += f"\nclamp_share = [{begin:.3f}, {end:.3f}]"
    return _cut(rng, CASE.format(drawn=drawn).encode())


def of_drawing(path: Path, folder: Path) -> tuple[str, str]:
    """Return what becomes of a drawing that a case names: read and meshed."""
    case = folder / "fin.toml"
    case.write_text(CASE.format(drawn=f'outline_file = "{path.name}"'), encoding="utf-8")
    return of_outline(case, folder)


def of_outline(case: Path, _: Path) -> tuple[str, str]:
    """Return what becomes of a case with a drawn part: read and meshed."""

    def use() -> str:
        for part in load(case).parts:
            try:
                mesh = cut_planform(part, 12, 0.0, 0.0)
            except ValueError as problem:  # what the plate's model makes one line of
                raise InputError(str(problem)) from problem
            if not (math.isfinite(mesh.state.sum()) and len(mesh.quads) < 50_000):
                return "not finite"
        return "meshed"

    return outcomes.judged(use)
