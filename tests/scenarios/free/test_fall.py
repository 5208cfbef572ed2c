"""Falls against closed forms: release with added mass, terminal speed, trim, books, symmetry."""

import math

import numpy as np
import pytest
from free_bodies import CREATURE, STICK, WORM, alone, bare_base, free

from simsoft.case.model import LineInput
from simsoft.lure.rigid_base import end_share, finite_shares
from simsoft.scenarios.free.fall import fall

RHO = 1000.0
GRAVITY = 9.81  # of the published numbers; weights are forces here


def tanh_fall(mass, added, net, drag, time):
    """Return speed and depth of a release from rest with constant drag and added mass."""
    terminal = math.sqrt(net / drag)
    tau = (mass + added) * terminal / net
    return terminal * np.tanh(time / tau), terminal * tau * np.log(np.cosh(time / tau))


@pytest.mark.parametrize(
    ("mass", "volume", "added", "area", "drag"),
    [
        (5.9376e-3, 5.2360e-7, 0.5 * RHO * 5.236e-7, 7.854e-5, 0.44),  # lead sphere 10 mm
        (3.4558e-4, 3.1416e-7, 8.0 / 3.0 * RHO * 1e-6, 3.1416e-4, 1.17),  # light disc 20 x 1 mm
    ],
)
def test_release_from_rest_follows_the_closed_form(mass, volume, added, area, drag):
    weight, buoyancy = mass * GRAVITY, RHO * volume * GRAVITY
    lure = alone(
        bare_base(
            mass,
            (1e-7,) * 3,
            added=(0.0, 0.0, 0.0, added, added, added),
            drag=0.5 * RHO * area * drag,
            weight=weight,
            buoyancy=buoyancy,
        )
    )
    found = fall(lure, longest=4.0)
    speed, depth = tanh_fall(mass, added, weight - buoyancy, 0.5 * RHO * area * drag, found.time)
    assert -found.centre[:, 2] == pytest.approx(depth, rel=2e-3, abs=2e-6)
    assert found.sink_rate == pytest.approx(speed[-1], rel=5e-3)
    assert found.kind == "steady"
    assert found.release == pytest.approx((weight - buoyancy) / (mass + added), rel=1e-9)
    tau = (mass + added) * speed[-1] / (weight - buoyancy)
    assert found.settled_time == pytest.approx(tau * math.atanh(0.95), rel=0.01)


def test_a_light_disc_starts_with_its_added_mass():
    """0.102 m/s^2 where the disc alone would give 0.89."""
    mass, volume = 1100.0 * math.pi * 1e-4 * 1e-3, math.pi * 1e-4 * 1e-3
    added = 8.0 / 3.0 * RHO * 0.01**3
    lure = alone(
        bare_base(
            mass,
            (1e-8,) * 3,
            added=(0, 0, 0, added, added, added),
            drag=0.5 * RHO * 1.17 * math.pi * 1e-4,
            weight=mass * GRAVITY,
            buoyancy=RHO * volume * GRAVITY,
        )
    )
    found = fall(lure, longest=0.8)
    early = found.time < 0.05
    fitted = np.polyfit(found.time[early], -found.centre[early, 2], 2)
    assert 2.0 * fitted[0] == pytest.approx(0.102, rel=0.01)


def test_books_close_and_better_with_half_the_step():
    lure = free(CREATURE, elements=8)
    residual = []
    for step in (2e-3, 1e-3):
        found = fall(lure, step=step, longest=2.0)
        residual.append((abs(found.energy["residual"]), found.momentum_residual))
    assert max(residual[1]) < 2e-3
    assert residual[1][0] < residual[0][0] or residual[1][0] < 1e-5


def test_a_stick_worm_falls_at_the_published_rate():
    """20 % salt and a 1 g hook, level: 0.22 m/s by force balance with cross-flow drag."""
    found = fall(free(STICK, elements=8))
    assert found.sink_rate == pytest.approx(0.22, rel=0.25)
    assert found.settled


def test_floating_lure_rises_and_the_sign_says_so():
    light = STICK.replace('salt_fraction = "20 %"', 'density = "850 kg/m^3"')
    found = fall(free(light, elements=6))
    assert found.sink_rate < -0.02


def test_a_line_that_follows_slows_the_fall_and_one_that_pulls_lifts_the_nose():
    lure = free(STICK, elements=6)
    slack = fall(lure)
    net = (lure.mass - lure.displaced) * GRAVITY
    pulled = fall(lure, line=LineInput(direction=(0.0, 0.0, 1.0), tension=0.3 * net))
    rubbed = fall(lure, line=LineInput(length=20.0, diameter=0.4e-3))
    assert pulled.final_attitude < slack.final_attitude - math.radians(10.0)
    assert rubbed.sink_rate < 0.98 * slack.sink_rate


def test_soft_body_bends_up_behind_the_hook():
    """The free length of a salted worm trails above the hooked one as it falls."""
    lure = free(WORM, elements=8)
    assert lure.names == ("body/back", "tail")
    found = fall(lure)
    tip = found.nodes[-1, lure.tree.first[1] - 1] - found.position[-1]
    off_the_axis = found.frames[-1][:, 2] @ tip
    assert off_the_axis * np.sign(found.frames[-1][2, 2]) > 0.5e-3


HEADED = """
title = "headed"
[material]
youngs_modulus = "150 kPa"
density = "1030 kg/m^3"
[body]
family = "swim-bait"
length = "70 mm"
height = "15 mm"
flexible = false
density = "1030 kg/m^3"
[[rig.weights]]
name = "head"
kind = "jig-head"
material = "tungsten"
mass = "1/8 oz"
position = ["-2 mm", "0 mm", "0 mm"]
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "10 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_diameter = "13 mm"
paddle_thickness = "2.5 mm"
position = ["70 mm", "0 mm", "0 mm"]
"""


def test_a_headed_body_higher_than_wide_spins_whatever_the_step():
    """A wing without dihedral is unstable in a spiral; neither step nor elements make it so."""
    spins = [fall(free(HEADED, elements=n), step=s).turn_rate for n, s in ((8, 2e-3), (16, 1e-3))]
    assert abs(spins[1]) > math.radians(200.0)
    assert abs(spins[0]) == pytest.approx(abs(spins[1]), rel=0.03)


def test_a_weight_well_below_does_not_spin_and_a_round_headed_body_turns_slowly():
    round_body = HEADED.replace('height = "15 mm"', 'height = "15 mm"\nwidth = "15 mm"')
    low = HEADED.replace('["-2 mm", "0 mm", "0 mm"]', '["-2 mm", "0 mm", "-8 mm"]')
    assert abs(fall(free(low, elements=8), step=2e-3).turn_rate) < math.radians(45.0)
    # how slowly hangs on the tail: what a paddle's coefficients are turns its sign
    spin = abs(fall(free(HEADED, elements=8), step=2e-3).turn_rate)
    assert abs(fall(free(round_body, elements=8), step=2e-3).turn_rate) < 0.2 * spin


def test_ends_of_plates_and_bars_take_off_what_the_tables_say():
    """White, Table 7.3: a square plate 1.18 of 1.98, a cylinder of ten diameters 0.82 of 1.2."""
    long = finite_shares(10.0)
    assert end_share(finite_shares(1.0), 0.0) == pytest.approx(1.18 / 1.98)
    assert end_share(long, 1.0) == end_share(long, 4.0) == pytest.approx(0.82 / 1.2)
    assert end_share(long, 0.5) == pytest.approx(0.5 * (1.3 / 1.98 + 0.82 / 1.2))
