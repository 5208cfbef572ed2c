"""What kernels are given they let go: a sweep of many designs does not grow."""

import sys
from pathlib import Path

import numpy as np

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.tangents import at_rest
from simsoft.case.read import load
from simsoft.lure.parts import Specimen, assemble, values_of

CASE = Path(__file__).parents[3] / "cases" / "paddle_100.toml"


def test_a_kernel_keeps_no_array_of_a_rod():
    lure = assemble(load(CASE))
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=True))
    stream = make_stream(0.4, np.array([1.0, 0.0, 0.0]))
    at_rest(ready.rod, stream, ready.still.angle)
    before = sys.getrefcount(ready.rod.length)
    for _ in range(50):
        at_rest(ready.rod, stream, ready.still.angle)
    assert sys.getrefcount(ready.rod.length) - before <= 1  # the last call may hold one
