"""Plates that beat in the wake they shed: balance against march, start, what stays as it was."""

from dataclasses import replace

import numpy as np
import pytest

from simsoft.bodies.plate.setup import prepare_plate
from simsoft.case.read import loads
from simsoft.core.band import Band
from simsoft.engine.run import run
from simsoft.engine.uncertainty import OF_WAKE, felt
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.results.outcome import Outcome
from simsoft.results.record import select
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.retrieve.plate import PlateInStream
from simsoft.solvers.start_speed import START_FRACTION

FIN = """
title = "fin across the stream"
[material]
youngs_modulus = "{modulus} kPa"
density = "1030 kg/m^3"
loss_factor = 0.16
[[parts]]
name = "fin"
kind = "strip"
length = "30 mm"
width = "12 mm"
thickness = "3 mm"
model = "plate"
direction = {direction}
width_axis = [0, 1, 0]
[parts.loads]
wake_moment = 0.15
shedding = {shedding}
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = "0.3 m/s"
gravity = false
max_speed = "0.8 m/s"
[numerics]
elements = 8
"""


def case_of(modulus=120, direction="[0, 0, 1]", shedding="true"):
    return loads(FIN.format(modulus=modulus, direction=direction, shedding=shedding))


def marcher(case, duration=None):
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare_plate(Specimen(strip, lure.water, values_of(strip), gravity=False))
    return PlateInStream(ready, replace(case.scenarios[0], duration=duration), Detail())


def test_a_stiff_plate_sheds_at_the_strouhal_number():
    solver = marcher(case_of(modulus=1e5), duration=6.0)
    rest = solver.rests(np.array([0.3]))[0]
    assert solver.shedding(0.3, rest) is None  # nothing moves it
    # sampled at the rate at which it sheds
    shed = 0.135 * 0.3 / 0.012
    found = solver._march(0.3, rest, shed).march
    late = found.time > 3.0
    wake, time = found.wake[late], found.time[late]
    rising = np.flatnonzero((wake[:-1] < 0.0) & (wake[1:] >= 0.0))
    # van der Pol: amplitude 2, rate less by eps^2/16 (Nayfeh & Mook 1979, from memory)
    assert (len(rising) - 1) / np.ptp(time[rising]) == pytest.approx(
        shed * (1.0 - 0.3**2 / 16.0), rel=0.02
    )
    assert 0.5 * np.ptp(wake) == pytest.approx(2.0, rel=0.03)
    # moment on the clamp across the fin: rho/2 V^2 A D C_M0 q/2 twists it
    moment = 0.5 * 998.2 * 0.3**2 * 0.030 * 0.012 * 0.012 * 0.15 * 0.5 * wake
    assert 0.5 * np.ptp(found.moment[late, 2]) == pytest.approx(0.5 * np.ptp(moment), rel=0.05)


@pytest.mark.parametrize("speed", [0.2, 0.3])
def test_the_balance_meets_the_march(speed):
    solver = marcher(case_of())
    rest = solver.rests(np.array([speed]))[0]
    shed = solver.shedding(speed, rest)
    beat = solver.at(speed, rest)
    assert beat.march.settled
    assert beat.frequency == pytest.approx(shed.frequency, rel=0.01)
    assert beat.stroke == pytest.approx(shed.stroke, rel=0.05)
    assert abs(beat.march.energy["residual"]) < 0.02


def test_a_wake_starts_a_plate_and_leaves_its_rest_shape_as_it_was():
    found = {on: run(case_of(shedding=on), bands=False).records for on in ("true", "false")}
    (start,) = select(found["true"], "start_speed")
    assert "wake it sheds" in start.basis
    solver = marcher(case_of())
    rest = solver.rests(np.array([start.value]))[0]
    assert solver.shedding(start.value, rest).share == pytest.approx(START_FRACTION, rel=0.15)
    (quiet,) = select(found["false"], "start_speed")
    assert quiet.value is None
    for quantity in ("tip_angle", "drag"):
        both = [
            select(found[on], quantity, **({"state": "rest"} if quantity == "drag" else {}))
            for on in found
        ]
        assert [r.value for r in both[0]] == [r.value for r in both[1]]
    (rate,) = [r for r in select(found["true"], "shedding_rate") if r.at.get("speed") == 0.3]
    (beat,) = select(found["true"], "flap_frequency")
    assert rate.value == pytest.approx(beat.value, rel=0.01)
    assert select(found["true"], "verdict")[0].value == "shivers"
    assert select(found["false"], "verdict")[0].value == "still"


def test_a_plate_along_the_stream_sheds_nothing():
    solver = marcher(case_of(direction="[1, 0, 0]"))
    rest = solver.rests(np.array([0.3]))[0]
    assert solver.shedding(0.3, rest) is None


def test_by_default_a_plate_across_the_stream_feels_no_wake():
    text = FIN.format(modulus=120, direction="[0, 0, 1]", shedding="true")
    case = loads(text.replace("wake_moment = 0.15\n", ""))
    solver = marcher(case)
    assert solver.shedding(0.3, solver.rests(np.array([0.3]))[0]) is None
    records = run(case, bands=False).records
    assert select(records, "start_speed")[0].value is None
    assert select(records, "verdict")[0].value == "still"
    assert not set(OF_WAKE) & set(assemble(case).strips[0].inputs)


def test_bands_leave_out_a_wake_that_is_not_shed():
    strip = assemble(case_of()).strips[0]
    moment = {"wake_moment": Band(0.15, 0.05, 0.30, "a test")}
    strip = replace(strip, inputs=strip.inputs | moment)
    outcome = Outcome()
    assert not {v.name for v in felt(strip, outcome)} & set(OF_WAKE)
    outcome.add("shedding_rate", 4.0, "Hz", "balance", speed=0.3)
    assert {v.name for v in felt(strip, outcome)} >= set(OF_WAKE)
