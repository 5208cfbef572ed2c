"""Start of flutter of plates: the rate is that of the motion that grows, rest shapes come cheap."""

from pathlib import Path

import numpy as np
import pytest

from simsoft.bodies.plate import equilibrium as plate_rest
from simsoft.bodies.plate.setup import prepare_plate
from simsoft.bodies.plate.stability import (
    SHORTEST_WAVE,
    PlateGrowth,
    fed_nothing,
    follow_rest,
    steps_of,
)
from simsoft.case.read import load, loads
from simsoft.engine.run import run
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.results.record import select
from simsoft.validate import plate_checks

CASE = Path(__file__).parents[3] / "validation" / "D18" / "case.toml"


@pytest.mark.slow
def test_rate_at_the_start_is_that_of_the_motion_that_grows():
    # without damping the motion in the plane stands at zero growth at every speed
    rates = []
    for time in ("1 ms", "0 s"):
        case = load(CASE, ["numerics.elements=20", f'material.kelvin_voigt_time="{time}"'])
        rates.append(select(run(case, bands=False).records, "start_frequency")[0].value)
    assert rates[1] == pytest.approx(rates[0], rel=0.05)


def test_a_plate_along_the_stream_needs_no_tangent_of_the_water(monkeypatch):
    case = load(CASE, ["numerics.elements=8"])
    lure = assemble(case)
    strip = lure.strips[0]
    ready = prepare_plate(Specimen(strip, lure.water, values_of(strip), gravity=False))

    def none(*arguments):
        raise AssertionError("the water's tangent was asked for")

    monkeypatch.setattr(plate_rest, "flow_slopes", none)
    rest = follow_rest(
        ready, np.array([0.1, 0.2]), np.array([1.0, 0.0, 0.0]), 0.0, ready.still.state, 0.0
    )
    assert all(r.found for r in rest)
    assert np.array_equal(rest[-1].state, ready.still.state)


def test_starts_are_carried_to_zero_width_by_the_polynomial_through_them(monkeypatch):
    def known(case, shares, elements):
        return [(2.0 + 3.0 * x - 5.0 * x**2, 1.0 - x) for x in shares]

    monkeypatch.setattr(plate_checks, "onset_by_width", known)
    found = plate_checks.onset_without_width(None, (0.1, 0.05, 0.02), (1, 1, 1))
    assert found == pytest.approx((2.0, 1.0))


UNDAMPED = """
title = "undamped fin along the stream"
[material]
youngs_modulus = "120 kPa"
density = "1030 kg/m^3"
loss_factor = 0.0
[[parts]]
name = "fin"
kind = "strip"
length = "30 mm"
width = "12 mm"
thickness = "1 mm"
model = "plate"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = "0.3 m/s"
gravity = false
"""


@pytest.mark.parametrize("elements", [4, 6, 9])
def test_waves_that_a_mesh_does_not_show_start_no_beat(elements):
    # 1.105 m/s with 14 elements; a mode of two panels to a half wave took energy in at any speed
    lure = assemble(loads(UNDAMPED))
    strip = lure.strips[0]
    ready = prepare_plate(
        Specimen(strip, lure.water, values_of(strip), gravity=False, elements=elements)
    )
    growth = PlateGrowth(ready, np.array([1.0, 0.0, 0.0]), 0.0)
    step = steps_of(ready.model.flow, ready.still.state, growth.basis)
    seen = step < SHORTEST_WAVE
    assert seen.sum() >= 3
    for speed in (0.05, 0.3, 0.55):
        rest = growth.follow(np.array([speed]), None, 0.0)[0]
        assert growth.at(speed, rest).growth < 0.0
        damping = growth.matrices(speed, rest.state)[1]
        assert np.all(np.diag(damping)[seen] > 0.0)
        short = np.flatnonzero(~seen)
        freed = fed_nothing(damping, short)[np.ix_(short, short)]
        assert np.linalg.eigvalsh(freed + freed.T).min() > -1e-9 * np.abs(damping).max()


def test_the_step_of_a_mode_tells_the_panels_of_its_wave():
    lure = assemble(loads(UNDAMPED))
    strip = lure.strips[0]
    ready = prepare_plate(Specimen(strip, lure.water, values_of(strip), gravity=False, elements=40))
    flow, plan = ready.model.flow, ready.model.planform.plan
    wave = np.zeros((*ready.still.state.shape, 1))
    normal = ready.still.state[:, 3:]
    wave[:, :3, 0] = normal * np.sin(2.0 * np.pi * plan[:, 0] / 0.03)[:, None]
    (step,) = steps_of(flow, ready.still.state, wave.reshape(-1, 1))
    # 40 panels to a wave along, none across
    assert step == pytest.approx(2.0 * np.pi / 40.0, rel=0.05)
