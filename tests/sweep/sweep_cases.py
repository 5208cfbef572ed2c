"""Cases of the sweep tests: cheap to run."""

STRIP = """
title = "Test strip"
[water]
temperature = "20 degC"
[material]
durometer = "50 OO"
[[parts]]
name = "strip"
kind = "strip"
length = "40 mm"
width = "6 mm"
thickness = "2 mm"
[numerics]
elements = 6
[[scenarios]]
name = "tank"
kind = "hold"
"""

PADDLE = """
title = "Test kicker"
[water]
temperature = "16 degC"
[material]
durometer = "46 OO"
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
[numerics]
elements = 6
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.4 m/s"]
"""
