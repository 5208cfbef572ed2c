"""What the golden numbers are the numbers of: the demo cases and a small case of each kind."""

from typing import NamedTuple


class Golden(NamedTuple):
    """A case whose records are kept.

    ``text`` is a case's text or the name of a demo case, ``mode`` as in ``records_of``; ``slow``
    ones take more than a few seconds.
    """

    text: str
    overrides: tuple[str, ...] = ()
    mode: str = "plain"
    slow: bool = False

    @property
    def asked(self):
        """The arguments of ``records_of``."""
        return self.text, self.overrides, self.mode


HEAD = """
title = "Golden {kind}"
[water]
temperature = "18 degC"
[material]
durometer = "46 OO"
density = "1030 kg/m^3"
"""
STILL_AND_STREAM = """
[[scenarios]]
name = "tank"
kind = "hold"
[[scenarios]]
name = "retrieve"
kind = "retrieve"
speed = [{speeds}]
"""
HOOKED = """
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
"""
WORM = """
[body]
family = "worm"
length = "80 mm"
height = "6 mm"
[rig.hook]
wire_diameter = "0.9 mm"
gap = "9 mm"
shank = "20 mm"
"""
RIBBON = """
[[parts]]
name = "ribbon"
kind = "ribbon"
length = "60 mm"
width = "7 mm"
thickness = ["0.9 mm", "0.6 mm"]
"""
CURL = """
[[parts]]
name = "curl"
kind = "curl-tail"
length = "40 mm"
width = ["7 mm", "5 mm"]
thickness = ["1.4 mm", "0.9 mm"]
arc_angle = "120 deg"
"""
PADDLE = """
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
"""
FIN = """
[[parts]]
name = "fin"
kind = "strip"
length = "30 mm"
width = "14 mm"
thickness = "0.8 mm"
model = "plate"
{more}
"""
AT_THE_BACK = 'position = ["40 mm", "{side}", "0 mm"]\n'
FALL = '[[scenarios]]\nname = "fall"\nkind = "sink"\n'
HOP = """
[[scenarios]]
name = "hop"
kind = "hop"
motion = "lift-drop"
amplitude = "0.2 m"
cadence = "0.6 Hz"
"""
TOW = """
[[scenarios]]
name = "tow"
kind = "retrieve"
speed = ["0.4 m/s"]
free = true
duration = "2 s"
"""
THROW = """
[[scenarios]]
name = "throw"
kind = "cast"
launch_speed = "26 m/s"
wind = ["0 m/s", "6 m/s"]
wind_from = ["0 deg", "90 deg"]
"""


def few(elements):
    """Return the table that sets the number of elements."""
    return f"\n[numerics]\nelements = {elements}\n"


def stream(*speeds):
    """Return the scenarios 'hold' and 'retrieve' at speeds [m/s]."""
    return STILL_AND_STREAM.format(speeds=", ".join(f'"{speed} m/s"' for speed in speeds))


GOLDEN = {
    "paddle_100": Golden("paddle_100.toml"),
    "swim_97": Golden("swim_97.toml"),
    "curl_grub_75": Golden("curl_grub_75.toml", slow=True),
    "ribbon_150": Golden("ribbon_150.toml", slow=True),
    "claw_95": Golden("claw_95.toml", slow=True),
    "winter_80": Golden("winter_80.toml"),
    "flatside_60": Golden("flatside_60.toml"),
    "stick_127": Golden("stick_127.toml"),
    "finesse_90": Golden("finesse_90.toml"),
    "creature_95": Golden("creature_95.toml"),
    "paddle_100_fast": Golden("paddle_100.toml", mode="fast"),
    "ribbon": Golden(HEAD + RIBBON + stream(0.2, 0.6) + few(10)),
    "curl": Golden(HEAD + CURL + stream(0.25) + few(8)),
    "paddle": Golden(HEAD + PADDLE + stream(0.3, 0.6) + few(6)),
    "bending_paddle": Golden(
        HEAD + PADDLE + stream(0.6) + few(4), ("parts.tail.model=plate",)
    ),
    "fin_across": Golden(
        HEAD + FIN.format(more="direction = [0.6, 0, 0.8]\nwidth_axis = [0, 1, 0]")
        + stream(0.3) + few(4)
    ),
    "fin_along": Golden(HEAD + FIN.format(more="") + stream(0.5) + few(4)),
    "paddle_with_bands": Golden(HEAD + PADDLE + stream(0.5) + few(4), mode="bands"),
    "rigged": Golden(
        HEAD + HOOKED + PADDLE + AT_THE_BACK.format(side="0 mm")
        + FALL + HOP + TOW + THROW + few(4)
    ),
    "rigged_fin": Golden(
        HEAD + HOOKED + FIN.format(more=AT_THE_BACK.format(side="0 mm")) + FALL + few(4)
    ),
    "worm": Golden(HEAD + WORM + FALL + HOP + TOW + THROW + few(5)),
    "worm_with_bands": Golden(HEAD + WORM + FALL + THROW + few(4), mode="bands"),
}  # fmt: skip
