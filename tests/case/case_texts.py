"""Valid case texts that the case tests start from."""

from __future__ import annotations

STRIP = """\
title = "Test strip"
[water]
temperature = "20 degC"
salinity = "0 g/kg"
[material]
durometer = "50 OO"
density = "1020 kg/m^3"
[[parts]]
name = "strip"
kind = "strip"
length = "30 mm"
width = "6 mm"
thickness = "1 mm"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.1 m/s", "0.2 m/s"]
"""

NO_PARTS = (
    STRIP[: STRIP.index("[[parts]]")].replace("[water]", "parts = []\n[water]")
    + STRIP[STRIP.index("[[scenarios]]") :]
)

HEAD = """\
title = "Test"
[material]
durometer = "50 OO"
[[scenarios]]
name = "still"
kind = "hold"
"""


BODY = """\
title = "Test body"
[material]
durometer = "50 OO"
[body]
family = "stick-worm"
length = "127 mm"
height = "10 mm"
"""
RIG = (
    BODY
    + """\
slot_width = "2 mm"
slot_height = "5 mm"
slot_from = "12 mm"
slot_to = "60 mm"
rib_depth = "1 mm"
rib_pitch = "4 mm"
[rig.hook]
wire_diameter = "1.1 mm"
gap = "12 mm"
shank = "40 mm"
offset = "4 mm"
[[rig.weights]]
name = "head"
kind = "jig-head"
material = "lead"
mass = "1/4 oz"
position = ["-5 mm", "0 mm", "-2 mm"]
"""
)


def with_part(body: str) -> str:
    """Return a case with one part named ``p`` that holds the given lines."""
    return f'{HEAD}[[parts]]\nname = "p"\n{body}'


PADDLE = with_part(
    """\
kind = "paddle-tail"
length = "12 mm"
width = "5 mm"
thickness = "3 mm"
paddle_diameter = "14 mm"
paddle_thickness = "3 mm"
"""
)
CLAW = with_part('kind = "claw"\nlength = "30 mm"\nwidth = "12 mm"\nthickness = "1.5 mm"\n')
LEG = with_part('kind = "leg"\nlength = "20 mm"\ndiameter = ["2 mm", "1 mm"]\n')
CURL = with_part(
    'kind = "curl-tail"\nlength = "40 mm"\nwidth = "8 mm"\nthickness = "1 mm"\n'
    'arc_angle = "200 deg"\n'
)
FORK = with_part('kind = "fork-tail"\nlength = "25 mm"\nwidth = "6 mm"\nthickness = "1.5 mm"\n')
