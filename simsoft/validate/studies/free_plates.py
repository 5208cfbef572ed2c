"""Study of plates on a free lure: the rod's answer as they grow slender, and its steps."""

from __future__ import annotations

import math
from typing import Literal

from simsoft.bodies.free.course import in_lure_axes
from simsoft.case.read import loads
from simsoft.lure.assembly import assemble_whole
from simsoft.lure.free_lure import build_free
from simsoft.lure.parts import assemble
from simsoft.scenarios.free.fall import Fall, fall
from simsoft.scenarios.free.ride import fold_back
from simsoft.validate.studies.tools import table, table_number

LENGTH = 40.0  # [mm], of the strip
WIDTHS = (1.0, 2.0, 4.0, 8.0, 16.0)  # [mm]
STEPS = (8e-3, 4e-3, 2e-3)  # [s]
LONGEST = 2.8  # [s]
MEAN = 10  # last samples whose mean fold-back is told
CASE = """\
title = "Strip on a stiff body"
[material]
durometer = "55 OO"
density = "1100 kg/m^3"
[body]
family = "creature"
length = "55 mm"
height = "13 mm"
[[rig.weights]]
name = "keel"
kind = "belly"
material = "lead"
mass = "1 g"
position = ["25 mm", "0 mm", "-5 mm"]
[[parts]]
name = "strip"
kind = "strip"
model = "{model}"
length = "{length} mm"
width = "{width} mm"
thickness = "1 mm"
position = ["54 mm", "0 mm", "0 mm"]
width_axis = [0, 1, 0]
[parts.loads]
normal_drag = 1.8
"""
TEXT = (
    f"A stiff body with a keel and a strip of {LENGTH:g} mm, 1 mm thick, let go from rest; the "
    "strip trails upward as it falls. Cross-flow drag has one coefficient for rod and plate here; "
    "what is left of the difference is the plate's lift and its own bending across, and it falls "
    "with the width."
)
BOOKS = (
    "The plate is iterated with the lure at every step, whose own part stays linear; what energy "
    "and momentum books lack falls with the square of the step, down to what the iteration leaves:"
)


def _dropped(
    model: Literal["rod", "plate"], width: float, step: float = 1e-3
) -> tuple[Fall, float]:
    """Return the fall of the lure with a strip of a width [mm], and its fold-back [deg]."""
    shed = "shedding = false\n" if model == "plate" else ""
    case = loads(CASE.format(model=model, length=LENGTH, width=width) + shed)
    lure = build_free(assemble_whole(case, assemble(case)))
    found = fall(lure, longest=LONGEST, step=step)
    return found, fold_back(lure, in_lure_axes(found)[-MEAN:], "strip")


def section() -> str:
    """Return the study as Markdown."""
    rows = []
    for width in WIDTHS:
        (rod, rod_fold), (plate, plate_fold) = _dropped("rod", width), _dropped("plate", width)
        rows.append(
            [
                f"{width / LENGTH:.3g}",
                *(table_number(x.sink_rate, 4) for x in (rod, plate)),
                f"{100.0 * (plate.sink_rate / rod.sink_rate - 1.0):+.1f} %",
                *(f"{math.degrees(x.final_attitude):.1f}" for x in (rod, plate)),
                *(f"{fold:.1f}" for fold in (rod_fold, plate_fold)),
                f"{100.0 * (plate_fold / rod_fold - 1.0):+.1f} %",
            ]
        )
    head = [
        "width/length",
        "rate as rod [m/s]",
        "as plate",
        "differs",
        "nose down [deg]",
        "as plate",
    ]
    head += ["fold-back [deg]", "as plate", "differs"]
    text = f"## Plates on a free lure\n\n{TEXT}\n\n" + table(head, rows)
    falls = [_dropped("plate", WIDTHS[1], step)[0] for step in STEPS]
    books = [
        ["energy", *(f"{abs(x.energy['residual']):.1e}" for x in falls)],
        ["momentum", *(f"{x.momentum_residual:.1e}" for x in falls)],
    ]
    head = ["missing, of the largest entry; step [ms]", *(f"{1e3 * step:g}" for step in STEPS)]
    return f"{text}\n{BOOKS}\n\n" + table(head, books)
