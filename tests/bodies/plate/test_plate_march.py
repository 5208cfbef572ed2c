"""March, rest and onset of plates: books, order of the step, growth, symmetry, controls."""

import math

import numpy as np
import pytest

from simsoft.bodies.plate.equilibrium import clamp_load_of_plate, water_force
from simsoft.bodies.plate.modes import plate_modes
from simsoft.bodies.plate.setup import prepare_plate
from simsoft.bodies.plate.stability import PlateGrowth
from simsoft.bodies.plate.time_march import _Run, march_plate
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.case.read import loads
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.scenarios.retrieve.marcher import Detail
from simsoft.scenarios.retrieve.plate import PlateInStream, _kick
from simsoft.solvers.time_march import TimeStep, march_ends

FIN = """
title = "Soft fin along the stream"
[water]
density = "998.2 kg/m^3"
viscosity = "1.002 mPa s"
[material]
youngs_modulus = "120 kPa"
poisson_ratio = 0.49
density = "1070 kg/m^3"
kelvin_voigt_time = "1 ms"
[[parts]]
name = "fin"
kind = "strip"
model = "plate"
length = "40 mm"
width = "16 mm"
thickness = "0.5 mm"
{part}
[parts.loads]
{loads}
[[scenarios]]
name = "stream"
kind = "retrieve"
gravity = {gravity}
speed = ["0.4 m/s"]
[numerics]
elements = 8
"""
ALONG = np.array([1.0, 0.0, 0.0])


def fin(part="", loads_="", gravity="false"):
    case = loads(FIN.format(part=part, loads=loads_, gravity=gravity), "fin.toml")
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare_plate(Specimen(strip, lure.water, values_of(strip), gravity=gravity == "true"))
    return PlateInStream(ready, case.scenarios[0], Detail())


@pytest.fixture(scope="module")
def marcher():
    return fin()


def marched(solver, speed, longest, step, kick=0.004):
    ready = solver.ready
    rest = solver.rests(np.array([speed]))[0]
    modulus, time = ready.material(5.0)
    plate = ready.moving_plate(rest.state, modulus)
    modes = plate_modes(ready.model, plate, modulus, rest.state, 3)
    return march_plate(
        ready.model,
        plate,
        modulus,
        time,
        make_stream(speed, ALONG),
        rest.state,
        _kick(modes.shape, rest.state.shape, kick * 0.04),
        frequency=8.0,
        ends=march_ends(longest, extend=False),
        step=TimeStep(stated=step),
    )


def growth(solver, speed):
    return PlateGrowth(solver.ready, ALONG, 0.0).at(speed, solver.rests(np.array([speed]))[0])


def test_march_grows_as_the_eigenvalues_say(marcher):
    speed = 0.45
    lead = growth(marcher, speed)
    assert lead.growth > 0.0
    found = marched(marcher, speed, 3.0, 1e-3, kick=1e-3)
    signal = found.shapes[:, -1, 1] + 0.5 * 0.016 * found.width_axes[:, -1, 1]
    late = [(found.time > t) & (found.time < t + 0.5) for t in (0.8, 1.8)]
    first, second = (np.sqrt(np.mean(signal[rows] ** 2)) for rows in late)
    rate = math.log(second / first)
    assert rate == pytest.approx(lead.growth, abs=0.15 * abs(lead.growth) + 0.3)


def test_books_close_and_the_step_is_of_second_order(marcher):
    tips = {}
    for step in (2e-3, 1e-3, 5e-4):
        found = marched(marcher, 0.3, 0.5, step, kick=0.01)
        tips[step] = np.interp(0.2, found.time, found.tip[:, 1])
        assert abs(found.energy["residual"]) < 0.02
    ratio = (tips[2e-3] - tips[1e-3]) / (tips[1e-3] - tips[5e-4])
    assert 2.5 < ratio < 6.0


def test_drag_alone_never_makes_an_aligned_plate_flutter():
    solver = fin(loads_="reactive = false")
    for speed in (0.3, 1.0, 2.0):
        assert growth(solver, speed).growth < 0.0


def test_clamp_carries_the_water_and_the_weight():
    solver = fin(part="direction = [0, 0, -1]\nwidth_axis = [0, 1, 0]", gravity="true")
    rest = solver.rests(np.array([0.2]))[0]
    assert rest.found
    model, stream = solver.ready.model, make_stream(0.2, ALONG)
    force, _ = clamp_load_of_plate(model, solver.ready.resting_modulus, stream, rest.state)
    carried = (water_force(model, stream, rest.state) + model.dead)[:, :3].sum(axis=0)
    assert np.allclose(force, carried, atol=1e-8 * np.abs(carried).max() + 1e-12)
    assert force[0] > 0.0


def test_mirror_image_folds_to_the_mirror_image():
    sides = []
    for lean in (0.5, -0.5):
        solver = fin(part=f"direction = [0.6, {lean}, 0.0]\nwidth_axis = [0, 0, 1]")
        sides.append(solver.rests(np.array([0.3]))[0].state[solver.ready.model.planform.centre, :3])
    assert np.allclose(sides[0], sides[1] * [1.0, -1.0, 1.0], atol=1e-9)


@pytest.mark.slow
def test_steps_of_a_large_beat_converge_undivided(monkeypatch):
    # the matrix of a step is that of the shape half a step on: nodes turn by degrees in one step
    text = FIN.format(part="", loads="", gravity="false")
    for old, new in (("40 mm", "60 mm"), ("16 mm", "24 mm"), ("0.5 mm", "0.8 mm"), ("= 8", "= 12")):
        text = text.replace(old, new)
    case = loads(text, "fin.toml", ["scenarios.stream.duration=1.5 s"])
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare_plate(Specimen(strip, lure.water, values_of(strip), gravity=False))
    march = PlateInStream(ready, case.scenarios[0], Detail())
    divided = []
    monkeypatch.setattr(_Run, "_divided", lambda self, motion, time: divided.append(time))
    beat = march._march(0.7, march.rests(np.array([0.7]))[0], 9.0)
    assert not divided
    assert np.ptp(beat.march.tip[:, 1:], axis=0).max() > 0.05 * 0.06
