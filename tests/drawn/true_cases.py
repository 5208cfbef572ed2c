"""Cases written from the sizes that a bait was made from, body and all, to set beside those read.

A curve's sizes are written as they were modelled; a claw, which is cut free of the trunk, by what
stands free of it.
"""

import numpy as np
from baits import all_baits

from simsoft.case.read import loads

HEAD = (
    'title = "true"\n[water]\ntemperature = "20 degC"\nsalinity = "0 g/kg"\n[material]\n'
    'durometer = "50 OO"\n'
)
SLOW, FAST = ("0.1 m/s", "0.25 m/s", "0.4 m/s"), ("0.2 m/s", "0.4 m/s", "0.6 m/s")
BEATING = tuple(bait.name for bait in all_baits() if bait.truth["kind"] is not None)


def true_case(bait):
    """Return the case of the true sizes of a bait with a soft part."""
    t = bait.truth
    kind = t["kind"]
    part = {"paddle-tail": _paddle, "claw": _claw}.get(kind, _strip)(t)
    speeds = SLOW if kind == "claw" else FAST
    asked = ", ".join(f'"{speed}"' for speed in speeds)
    return loads(
        f"{HEAD}{_body(t)}{part}"
        '[[scenarios]]\nname = "tank"\nkind = "hold"\n'
        f'[[scenarios]]\nname = "retrieve"\nkind = "retrieve"\nspeed = [{asked}]\n',
        "true.toml",
    )


def _mm(values):
    return "[" + ", ".join(f'"{v} mm"' for v in values) + "]"


def _body(t):
    lines = [f'family = "{t["family"]}"', f'length = "{t["body_length"]} mm"',
             f'height = "{t["body_height"]} mm"']  # fmt: skip
    if t["body_width"] is not None:
        lines.append(f'width = "{t["body_width"]} mm"')
    if t.get("ribs"):
        lines += [f'rib_depth = "{t["ribs"][0]} mm"', f'rib_pitch = "{t["ribs"][1]} mm"']
    return "[body]\n" + "\n".join(lines) + "\n"


def _part(t, root, lines):
    place = ", ".join(f'"{x:.4f} mm"' for x in root)
    return "[[parts]]\n" + "\n".join(
        [f'name = "tail"\nkind = "{t["kind"]}"\nposition = [{place}]', *lines, ""]
    )


def _behind(t):
    return t["body_length"], 0.0, 0.0


def _paddle(t):
    if t["shape"] == "disc":
        plate = f'paddle_diameter = "{t["paddle_width"]} mm"'
    else:
        plate = (f'paddle_width = "{t["paddle_width"]} mm"\n'
                 f'paddle_height = "{t["paddle_height"]} mm"')  # fmt: skip
    return _part(t, _behind(t), [
        "direction = [1, 0, 0]\nwidth_axis = [0, 0, 1]", f'section = "{t["section"]}"',
        f'length = "{t["length"]} mm"\nwidth = "{t["width"]} mm"',
        f'thickness = "{t["thickness"]} mm"\npaddle_shape = "{t["shape"]}"', plate,
        f'paddle_thickness = "{t["paddle_thickness"]} mm"\npaddle_angle = "{t["angle"]} deg"',
        f'paddle_offset = "{t["offset"]} mm"',
    ])  # fmt: skip


def _strip(t):
    width = _mm(t["width"])
    if t.get("at"):
        width = f"{{ at = {list(t['at'])}, value = {width} }}"
    lines = ["direction = [1, 0, 0]\nwidth_axis = [0, 0, 1]", f'length = "{t["length"]} mm"',
             f"width = {width}", f"thickness = {_mm(t['thickness'])}"]  # fmt: skip
    lines += [f'{key} = "{t[key]} deg"' for key in ("arc_angle", "fork_angle") if key in t]
    if "arc_angle" in t:
        lines.append('curl = "in-plane"')
    return _part(t, _behind(t), lines)


def _claw(t):
    """Write neck and pad of what stands free of the trunk, splayed to the side."""
    splay = np.radians(t["splay"])
    away = np.array([np.cos(splay), np.sin(splay), 0.0])
    hidden = 1.0 / np.cos(splay)  # the modelled root lies 1 mm within the trunk's end
    length, neck = t["length"] - hidden, t["neck"] * t["length"] - hidden
    start = neck + 0.1 * length  # a case widens over a tenth of the length
    pad = t["length"] - hidden - start
    full = (0.9 * t["length"] - hidden - start) / pad
    width = _mm([t["width"], t["width"], 0.6 * t["width"]])
    lines = [
        f"direction = [{away[0]:.6f}, {away[1]:.6f}, 0]\nwidth_axis = [0, 0, 1]\nmirrored = true",
        f'length = "{length:.4f} mm"',
        f"width = {{ at = [0, {full:.4f}, 1], value = {width} }}",
        f'thickness = "{t["thickness"]} mm"\nneck_length = "{neck:.4f} mm"',
        f'neck_width = "{t["neck_width"]} mm"\nneck_thickness = "{t["neck_thickness"]} mm"',
    ]
    return _part(t, t["root"] + hidden * away, lines)
