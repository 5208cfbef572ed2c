"""The page to confirm what was read from a mesh: the mesh in grey, the case's sizes in colour."""

from __future__ import annotations

import numpy as np

from simsoft.core.arrays import Array
from simsoft.drawn.balance import BalanceRow, _shown
from simsoft.drawn.case_text import case_size, doubt_of, is_odd
from simsoft.drawn.outline import part_edges, silhouettes, trunk_edge
from simsoft.drawn.parts import neck_of
from simsoft.drawn.shapes import Appendage, Understood
from simsoft.report.html.document import document, grid, page_section
from simsoft.report.html.markup import Html, joined, tag

WIDE = 900.0  # of a picture, in its own units
MARGIN = 24.0
GREY = "#b9bdb8"
COLOURS = ("#1f5fa8", "#c8682f", "#1b6237", "#7a3f98", "#9a1b1b", "#0f7f86")
VIEWS = (("From the side", (0, 2)), ("From above", (0, 1)), ("From behind", (1, 2)))


def bait_page(understood: Understood, rows: list[BalanceRow], case_name: str) -> str:
    """Return the page as HTML.

    Parameters
    ----------
    understood : Understood
    rows : list of Row, mesh beside case
    case_name : str, of the case file
    """
    flagged = [row.name for row in rows if row.flagged]
    standing = (
        "Grey is the mesh. In colour and numbered is what was understood of it and written to "
        f"{case_name}. Confirm each number, then answer the lines with CHECK in that file."
    )
    if understood.parts:
        standing += " A dotted line stands where a part is softest."
    pictures = [_picture(understood, title, axes) for title, axes in VIEWS]
    notes = [*understood.notes, *understood.trunk.notes]
    notes += [f"{part.name}: {note}" for part in understood.parts for note in part.notes]
    said = [tag("li", note) for note in notes] or [tag("li", "nothing had to be mended")]
    sections = [
        page_section("seen", "What was understood", *pictures),
        page_section("sizes", "Sizes", _sizes(understood)),
        page_section("balance", "Mesh and case side by side", _balance(rows), _flags(flagged)),
        page_section("notes", "What was mended and assumed", tag("ul", said)),
    ]
    foot = tag("p", f"{understood.name}, SHA-256 {understood.digest}.")
    title = f"Read: {understood.name}"
    return document(title, Html(tag("span", title)), standing, sections, foot)


def _picture(understood: Understood, title: str, axes: tuple[int, int]) -> Html:
    grey = silhouettes(understood.solid, axes)
    corners = np.concatenate(grey)
    low, high = corners.min(axis=0), corners.max(axis=0)
    size = high - low
    scale = (WIDE - 2 * MARGIN) / max(size[0], 2.2 * size[1])
    tall = size[1] * scale + 2 * MARGIN

    def placed(points: Array) -> Array:
        x = MARGIN + (points[:, 0] - low[0]) * scale
        return np.column_stack([x, tall - MARGIN - (points[:, 1] - low[1]) * scale])

    drawn = [_shape(placed(ring), fill=GREY, stroke="none") for ring in grey]
    marks = []
    edge = trunk_edge(understood.trunk, axes)
    if edge is not None:
        drawn.append(_shape(placed(edge), fill="none", stroke=COLOURS[0]))
    top = np.array([understood.trunk.length * 0.4, 0.0, 0.0])[list(axes)]
    marks.append((1, placed(top[None])[0], COLOURS[0]))
    for number, part in enumerate(understood.parts, 2):
        colour = COLOURS[(number - 1) % len(COLOURS)]
        for ring in part_edges(part, axes):
            drawn.append(_shape(placed(ring), fill="none", stroke=colour))
        if axes[0] == 0:
            line = np.array([[part.narrowest, low[1]], [part.narrowest, high[1]]])
            drawn.append(_shape(placed(line), fill="none", stroke=colour, dash="3 4"))
        middle = part.line[len(part.line) // 2][list(axes)]
        marks.append((number, placed(middle[None])[0], colour))
    labels = [_label(*mark) for mark in marks]
    picture = tag(
        "svg", drawn, labels, viewbox=f"0 0 {WIDE:.0f} {tall:.0f}", role="img",
        aria_label=f"{title}: the mesh and what was understood of it", width="100%",
    )  # fmt: skip
    return tag("figure", picture, tag("figcaption", title))


def _shape(points: Array, fill: str, stroke: str, dash: str | None = None) -> Html:
    path = " ".join(f"{'L' if k else 'M'}{x:.1f} {y:.1f}" for k, (x, y) in enumerate(points))
    closed = "" if dash else " Z"
    return tag(
        "path", d=path + closed, fill=fill, stroke=stroke, stroke_width="2", stroke_dasharray=dash,
        fill_rule="evenodd",
    )  # fmt: skip


def _label(number: int, place: Array, colour: str) -> Html:
    x, y = f"{place[0]:.1f}", f"{place[1]:.1f}"
    circle = tag("circle", cx=x, cy=y, r="11", fill="var(--card)", stroke=colour, stroke_width="3")
    word = tag(
        "text", f"{number}", x=x, y=f"{place[1] + 5:.1f}", font_size="14",
        text_anchor="middle", font_weight="700",
    )  # fmt: skip
    return joined(circle, word)


def _sizes(understood: Understood) -> Html:
    trunk, doubt = understood.trunk, doubt_of(understood)
    more = []
    if trunk.rib_depth:
        more.append(f"ribs {trunk.rib_depth:.2f} mm deep every {trunk.rib_pitch:.2f} mm")
    if trunk.slot:
        more.append("slot {:.1f} x {:.1f} mm from {:.1f} to {:.1f} mm".format(*trunk.slot))
    rows = [
        [
            "1", f"body ({trunk.family})",
            f"{trunk.length:.2f} mm long, {trunk.height.max():.2f} high, "
            f"{trunk.width.max():.2f} wide; " + ("; ".join(more) or "smooth"),
            f"+-{doubt:.2g} mm",
        ]
    ]  # fmt: skip
    for number, part in enumerate(understood.parts, 2):
        pair = ", a pair" if part.mirrored else ""
        name = f"{part.name} ({part.kind}{pair})"
        rows.append([f"{number}", name, _told(part), f"+-{doubt:.2g} mm in thickness"])
    return grid(("no.", "part", "sizes", "doubt"), rows, broken=True)


def _ends(sizes: Array) -> str:
    root, tip = f"{sizes[0]:.2f}", f"{sizes[-1]:.2f}"
    return root if root == tip else f"{root} to {tip}"


def _told(part: Appendage) -> str:
    words = [
        f"{part.length:.2f} mm long",
        f"{_ends(part.width)} wide",
        f"{_ends(part.thickness)} thick",
        f"narrowest by stiffness at x = {part.narrowest:.1f} mm",
    ]
    if part.arc_angle:
        words.append(f"turns {part.arc_angle:.0f} deg {part.curl}")
    if part.fork_angle:
        words.append(f"lobes at {part.fork_angle:.0f} deg")
    if part.kind == "claw":
        words.append("neck {:.2f} x {:.2f} x {:.2f} mm".format(*neck_of(part)))
    if part.plate is not None:
        plate = part.plate
        wide, tall = case_size(plate)
        words.append(
            f"{plate.shape} {wide:.2f} x {tall:.2f} x {plate.thickness:.2f} mm at "
            f"{plate.angle:.0f} deg, {plate.offset:.2f} mm below the stem"
        )
        if is_odd(plate):
            words.append(
                f"CHECK the mesh's plate is {plate.width:.2f} x {plate.height:.2f} mm, neither "
                "disc nor boot: the area is kept"
            )
    return "; ".join(words)


def _balance(rows: list[BalanceRow]) -> Html:
    cells = [
        [
            row.name, f"{_shown(row.mesh)} {row.unit}", f"{_shown(row.case)} {row.unit}",
            f"{100 * row.difference:+.1f} %", "CHECK" if row.flagged else "",
        ]
        for row in rows
    ]  # fmt: skip
    return grid(("", "mesh", "case", "off", ""), cells)


def _flags(flagged: list[str]) -> Html:
    if not flagged:
        return tag("p", "Nothing differs by more than 2 %.")
    return tag("p", f"More than 2 % off: {', '.join(flagged)}.", class_="warning")
