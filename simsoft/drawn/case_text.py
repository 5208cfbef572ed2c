"""A case file from what was understood of a mesh: every size with its doubt, and what to CHECK."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simsoft.core.arrays import Array
from simsoft.drawn.parts import TRANSITION, neck_of
from simsoft.drawn.shapes import Appendage, EndPlate, Trunk, Understood
from simsoft.drawn.simplify import few

COLUMN = 34  # where comments begin
LEAST_DOUBT = 0.01  # mm, of a size on a smooth mesh
BELOW_FACETS = 0.02  # deg and mm: what is nearer to a round number is meant so
SLOW = ("claw", "leg", "strip")  # kinds asked at the speeds of a fall or a crawl


def case_text(understood: Understood, page: str, body_mesh: str) -> str:
    """Return the text of a case that runs as it is.

    Parameters
    ----------
    understood : Understood
    page : str, name of the page to confirm by
    body_mesh : str, name of the mesh of the trunk alone
    """
    lines = [*_head(understood, page), *_givens(), *_body(understood, body_mesh)]
    for number, part in enumerate(understood.parts, 2):
        lines += _part(part, number, doubt_of(understood))
    lines += _questions(understood)
    return "\n".join(lines) + "\n"


def doubt_of(understood: Understood) -> float:
    """Return the doubt [mm] of a size read from a mesh: its roughness, at least a hundredth."""
    return max(LEAST_DOUBT, round(understood.noise, 2))


def _line(key: str, value: str, comment: str = "") -> str:
    text = f"{key} = {value}"
    return f"{text:<{COLUMN - 1}} # {comment}" if comment else text


def _mm(value: float) -> str:
    return f'"{value:.2f} mm"'


def _deg(value: float) -> str:
    nearest = round(value)
    shown = f"{nearest}" if abs(value - nearest) < BELOW_FACETS else f"{value:.1f}"
    return f'"{shown} deg"'


def _axis(vector: Array) -> str:
    return "[" + ", ".join(f"{0.0 + round(float(v), 4):g}" for v in vector) + "]"


def _place(vector: Array) -> str:
    return "[" + ", ".join(_mm(0.0 + round(float(v), 2)) for v in vector) + "]"


def _quoted(text: str) -> str:
    kept = "".join(c if c.isprintable() and c not in '"\\' else " " for c in text)
    return f'"{kept.strip()[:180] or "bait"}"'


def _head(understood: Understood, page: str) -> Iterator[str]:
    stem = understood.name.rpartition(".")[0] or understood.name
    yield f"# Read from {understood.name} by simsoft. A line with CHECK wants an answer from you."
    yield f"# The sizes on a picture, by the numbers (1), (2), ...: {page}"
    for note in (*understood.notes, *understood.trunk.notes):
        yield f"# {note}"
    yield _line("title", _quoted(stem))
    yield _line("length_unit", '"mm"')
    yield ""
    yield "[drawn]"
    yield _line("mesh", _quoted(understood.name), "simsoft cad goes back to this file")
    yield _line("digest", f'"{understood.digest}"')
    yield _line("unit", f'"{understood.unit}"', "of the file's numbers")
    for key, value in (("nose", understood.nose), ("up", understood.up)):
        if value:
            yield _line(key, f'"{value}"', "as asked")
    yield ""


def _givens() -> Iterator[str]:
    yield "[water]"
    yield _line("temperature", '"20 degC"', "CHECK no mesh knows it: the coldest you fish")
    yield _line("salinity", '"0 g/kg"', 'CHECK "35 g/kg" for the sea')
    yield ""
    yield "[material]"
    yield _line("durometer", '"50 OO"', "CHECK of the finished compound")
    yield '# density = "1025 kg/m^3"        # weigh a bait dry and in water'
    yield ""


def _table(at: Array, values: Array, unit: str, digits: int) -> str:
    """Return one value, [root, tip] or a table along the length."""
    kept = list(values)
    shown = [f'"{v:.{digits}f} {unit}"' if unit else f"{v:.{digits}f}" for v in kept]
    if len(kept) == 1:
        return shown[0]
    if len(kept) == 2:
        return f"[{', '.join(shown)}]"
    stations = ", ".join(f"{a:.4g}" for a in at)
    return f"{{ at = [{stations}], value = [{', '.join(shown)}] }}"


def _body(understood: Understood, body_mesh: str) -> Iterator[str]:
    trunk, doubt = understood.trunk, doubt_of(understood)
    yield "[body]                            # (1) 400 sections from nose to tail"
    yield _line("family", f'"{trunk.family}"', "CHECK by its proportions: how it bends, drag")
    yield _line("length", _mm(trunk.length), f"+-{max(doubt, 0.02):.2g} mm, to the tail's root")
    yield f"# outer sizes, +-{doubt:.2g} mm"
    yield _line("height", _whole_table(trunk, trunk.height, "mm"))
    yield _line("width", _whole_table(trunk, trunk.width, "mm"))
    yield "# area over height times width: 0.785 an ellipse, 1 a box; keeps the mesh's volume"
    yield _line("fullness", _whole_table(trunk, trunk.fullness, ""))
    if trunk.rib_depth:
        yield _line("rib_depth", _mm(trunk.rib_depth), "ring grooves noticed, middle of all")
        yield _line("rib_pitch", _mm(trunk.rib_pitch))
    if trunk.slot:
        wide, tall, start, end = trunk.slot
        yield _line("slot_width", _mm(wide), "hook slot noticed, open to the belly")
        yield _line("slot_height", _mm(tall))
        yield _line("slot_from", _mm(start))
        yield _line("slot_to", _mm(end))
    yield f'# mesh = "{body_mesh}"  # takes mass, buoyancy and areas from the mesh itself'
    yield ""
    yield "# [rig.hook]                      # CHECK no mesh holds your hook: measure it"
    yield '# wire_diameter = "1.1 mm"'
    yield '# gap = "12 mm"'
    yield '# shank = "30 mm"'
    yield ""


def _whole_table(trunk: Trunk, values: Array, unit: str) -> str:
    digits = 2 if unit else 4
    shown = [f'"{v:.{digits}f} {unit}"' if unit else f"{v:.{digits}f}" for v in values]
    stations = ", ".join(f"{a:.4g}" for a in trunk.at)
    return f"{{ at = [{stations}], value = [{', '.join(shown)}] }}"


def _part(part: Appendage, number: int, doubt: float) -> Iterator[str]:
    pair = ", one of a pair" if part.mirrored else ""
    yield f"[[parts]]                         # ({number}) {part.kind}{pair}"
    for note in part.notes:
        yield f"# {note}"
    yield _line("name", f'"{part.name}"')
    yield _line("kind", f'"{part.kind}"')
    if part.mirrored:
        yield _line("mirrored", "true", "its mirror image was found on the other side")
    if part.section == "ellipse" and part.kind != "leg":
        yield _line("section", '"ellipse"', "the narrowest section is round")
    long = f"+-{max(4 * doubt, 0.05, part.root_doubt):.2g} mm, {_LENGTH[part.kind]}"
    yield _line("length", _mm(part.length), long)
    yield from _sizes(part, doubt)
    yield _line("position", _place(part.position), "where it leaves the trunk")
    yield _line("direction", _axis(part.direction))
    yield _line("width_axis", _axis(part.width_axis))
    if part.arc_angle:
        yield _line("arc_angle", _deg(part.arc_angle), "+-2 deg, moulded turning")
        yield _line("curl", f'"{part.curl}"')
    if part.fork_angle:
        yield _line("fork_angle", _deg(part.fork_angle), "of each lobe from the middle")
    if part.plate is not None:
        yield from _plate(part.plate, doubt)
    yield ""


_LENGTH = {
    "paddle-tail": "stem, last full body section to paddle",
    "curl-tail": "developed, along its middle",
    "ribbon": "root to tip",
    "fork-tail": "of one lobe",
    "claw": "neck and pad",
    "leg": "root to tip",
    "strip": "root to tip",
}


def _sizes(part: Appendage, doubt: float) -> Iterator[str]:
    soft = f"narrowest by stiffness at x = {part.narrowest:.1f} mm"
    if part.kind == "leg":
        yield _line("diameter", _table(*few(part.at, part.width), "mm", 2), f"+-{doubt:.2g} mm")
        return
    if part.kind == "claw":
        yield from _claw(part, doubt)
        return
    yield _line("width", _table(*few(part.at, part.width), "mm", 2), f"+-{2 * doubt:.2g} mm")
    thick = _table(*few(part.at, part.thickness), "mm", 3)
    yield _line("thickness", thick, f"+-{doubt:.2g} mm, {soft}")


def _claw(part: Appendage, doubt: float) -> Iterator[str]:
    """Write neck and pad apart, as a case has them."""
    neck, narrow, thin = neck_of(part)
    start = min(neck / part.length + TRANSITION, 0.9)
    share = np.linspace(0.0, 1.0, 25)
    width, thickness = (
        np.interp(start + share * (1.0 - start), part.at, values)
        for values in (part.width, part.thickness)
    )
    at, pad = few(share, width)
    if len(pad) == 1:  # a case narrows the tip of an even pad; this one was measured
        at, pad = np.array([0.0, 1.0]), np.array([pad[0], pad[0] - 0.01])
    yield _line("width", _table(at, pad, "mm", 2), f"of the pad, +-{2 * doubt:.2g} mm")
    yield _line(
        "thickness", _table(*few(share, thickness), "mm", 3), f"of the pad, +-{doubt:.2g} mm"
    )
    yield _line("neck_length", _mm(neck), "to where the pad begins to widen")
    yield _line("neck_width", _mm(narrow))
    yield _line("neck_thickness", f'"{thin:.3f} mm"', f"+-{doubt:.2g} mm, the hinge")


def _plate(plate: EndPlate, doubt: float) -> Iterator[str]:
    yield _line("paddle_shape", f'"{plate.shape}"', f"fills {plate.fullness:.0%} of its box")
    odd = "; CHECK neither disc nor boot, the area is kept" if is_odd(plate) else ""
    width, height = case_size(plate)
    if plate.shape == "disc":
        yield _line("paddle_diameter", _mm(width), f"+-{2 * doubt:.2g} mm, by its area{odd}")
    else:
        yield _line("paddle_width", _mm(width), f"+-{2 * doubt:.2g} mm, by its area{odd}")
        yield _line("paddle_height", _mm(height))
    low, high = (plate.map[:, 2].min(), plate.map[:, 2].max()) if len(plate.map) else (0, 0)
    spread = f", from {low:.2f} to {high:.2f}" if high - low > 0.1 * plate.thickness else ""
    yield _line("paddle_thickness", f'"{plate.thickness:.3f} mm"', f"mean{spread}")
    yield _line("paddle_angle", _deg(plate.angle), "between plate and stem")
    yield _line("paddle_offset", _mm(plate.offset), "its centre below the stem's axis")


def case_size(plate: EndPlate) -> tuple[float, float]:
    """Return the width and height [mm] of the disc or boot of a plate's area."""
    if plate.shape == "disc":
        size = float(np.sqrt(4.0 * plate.area / np.pi))
        return size, size
    scale = float(np.sqrt(plate.area / (plate.width * plate.height)))
    return scale * plate.width, scale * plate.height


def is_odd(plate: EndPlate) -> bool:
    """Tell whether a plate is neither a disc nor a rectangle, so that a case keeps its area."""
    round_ = plate.shape == "disc"
    wanted = 0.25 * np.pi if round_ else 1.0
    uneven = round_ and abs(plate.width - plate.height) > 0.04 * plate.height
    return bool(abs(plate.fullness - wanted) > 0.03 or uneven)


def _questions(understood: Understood) -> Iterator[str]:
    if not understood.parts:
        yield "[[scenarios]]"
        yield _line("name", '"drop"')
        yield _line("kind", '"sink"', "free fall: sink rate and attitude")
        return
    yield "[[scenarios]]"
    yield _line("name", '"tank"')
    yield _line("kind", '"hold"', "still water: natural frequencies")
    yield ""
    slow = all(part.kind in SLOW for part in understood.parts)
    speeds = ("0.1 m/s", "0.25 m/s", "0.4 m/s") if slow else ("0.2 m/s", "0.4 m/s", "0.6 m/s")
    yield "[[scenarios]]"
    yield _line("name", '"retrieve"')
    yield _line("kind", '"retrieve"')
    yield _line("speed", "[" + ", ".join(f'"{s}"' for s in speeds) + "]", "CHECK your retrieve")
