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
width = "4 mm"
thickness = "2 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_offset = "5 mm"
[numerics]
elements = 6
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = ["0.5 m/s"]
"""

RIGGED = """
title = "Test jig"
[water]
temperature = "16 degC"
[material]
durometer = "46 OO"
density = "1030 kg/m^3"
[body]
family = "grub"
length = "40 mm"
height = "10 mm"
[rig.hook]
wire_diameter = "1 mm"
gap = "10 mm"
shank = "32 mm"
[[rig.weights]]
name = "head"
kind = "jig-head"
material = "lead"
mass = "3.5 g"
position = ["-2 mm", "0 mm", "0 mm"]
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "10 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "12 mm"
paddle_thickness = "3 mm"
position = ["40 mm", "0 mm", "0 mm"]
[numerics]
elements = 6
[[scenarios]]
name = "swim"
kind = "retrieve"
speed = ["0.3 m/s"]
onset = false
[[scenarios]]
name = "fall"
kind = "sink"
[[scenarios]]
name = "throw"
kind = "cast"
launch_speed = "26 m/s"
wind = ["0 m/s", "6 m/s"]
wind_from = ["0 deg"]
"""
