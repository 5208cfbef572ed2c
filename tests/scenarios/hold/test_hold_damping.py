"""Damping of the first mode in still water: told where its fit holds, left out beyond."""

import math

from simsoft.case.read import loads
from simsoft.engine.run import run
from simsoft.results.record import select

PAD = """title = "Quarry pad"
[material]
youngs_modulus = "{modulus} kPa"
[[parts]]
name = "pad"
kind = "strip"
model = "rod"
length = "40 mm"
width = "30 mm"
thickness = "6 mm"
[[scenarios]]
name = "tank"
kind = "hold"
gravity = false
modes = 1
"""


def answers(modulus):
    return run(loads(PAD.format(modulus=modulus)), bands=False).records


def oscillatory_reynolds(records):
    rate = select(records, "natural_frequency", medium="water")[0].value
    return 2.0 * math.pi * rate * 0.030**2 / (4.0 * 1.0e-6)


def test_a_soft_pad_has_a_damping_ratio():
    records = answers(300)
    assert oscillatory_reynolds(records) < 1.0e4
    assert 0.0 < select(records, "damping_ratio")[0].value < 1.0


def test_past_the_fit_the_frequency_stands_without_a_damping_ratio():
    records = answers(3000)
    assert oscillatory_reynolds(records) > 1.0e4
    assert not select(records, "damping_ratio")
