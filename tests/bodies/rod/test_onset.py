"""Start of flutter against the stability of a slender ribbon in axial flow, and a null case."""

import math

import numpy as np
import pytest
from physics import X, case_of, ribbon, strip_part

import simsoft.bodies.rod.stability as onset_room
from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.stability import find_onset, relaxed_rod
from simsoft.bodies.rod.time_march import march_rod
from simsoft.case.model import LoadsInput
from simsoft.lure.parts import Specimen, assemble, damping_time, law_of, values_of
from simsoft.lure.rod_model import build_rod, with_material
from simsoft.mechanics.material_law import Law
from simsoft.solvers.stability import GROWTH_NOISE, missing_sentence
from simsoft.solvers.time_march import TimeStep

# Onset u = U L sqrt(Ma/EI) and omega in sqrt(EI/((m + Ma) L^4)) of a clamped ribbon under the
# reactive force alone, recomputed by Galerkin; the same equation as the pipe conveying fluid
# (Gregory & Paidoussis 1966, Proc. R. Soc. A 293:512). Keys: beta = Ma/(Ma + m).
REACTIVE = {0.2: (5.5914, 13.715), 0.5: (9.3224, 26.497), 0.8: (13.493, 44.83)}
# The S-shaped boundary at beta = 0.295: unstable, stable again, unstable.
S_SHAPE = (7.27, 7.86, 8.19)
ELEMENTS = 60  # start speeds below are within 1 % at this number


def crossings(beta, elements, speeds, damping_time=0.0, **more):
    """Return crossings with frequency in the units of the table."""
    rod = ribbon(beta, elements, **more)
    scale = math.sqrt(1.0 / beta)  # (m + Ma)/Ma
    found = find_onset(rod, 1.0, Law(1.0, kelvin_voigt=damping_time * scale), speeds, X)
    return [(c.speed, 2.0 * math.pi * c.frequency * scale, c.starts) for c in found.crossings]


@pytest.mark.parametrize("beta", REACTIVE)
def test_start_of_flutter_under_the_reactive_force(beta):
    speed, omega = REACTIVE[beta]
    found = crossings(beta, ELEMENTS, np.linspace(0.7, 1.15, 5) * speed)
    assert found[0] == (pytest.approx(speed, rel=1e-2), pytest.approx(omega, rel=1e-2), True)


def test_s_shaped_boundary_has_three_crossings():
    found = crossings(0.295, ELEMENTS, np.linspace(6.5, 9.0, 11))
    assert [c[0] for c in found] == pytest.approx(S_SHAPE, rel=1e-2)
    assert [c[2] for c in found] == [True, False, True]
    assert found[0][1] == pytest.approx(14.9, rel=1e-2)
    assert found[2][1] == pytest.approx(20.8, rel=1e-2)


@pytest.mark.parametrize(
    ("damping", "speed", "omega"), [(1e-3, 13.745, 40.999), (3e-2, 9.3917, 11.47)]
)
def test_material_damping_lowers_the_start_of_a_light_ribbon(damping, speed, omega):
    """beta = 0.9; recomputed (mechanism in Singh, Michelin & de Langre 2012)."""
    speeds = np.linspace(0.8, 1.15, 5) * speed
    found = crossings(0.9, ELEMENTS, speeds, damping_time=damping)
    assert found[0][:2] == pytest.approx((speed, omega), rel=1.5e-2)


@pytest.mark.parametrize(("elements", "within"), [(16, 5e-4), (32, 4e-4), (64, 2e-4)])
def test_start_speed_is_right_on_a_coarse_mesh(elements, within):
    """Waves travel right to fourth order; what is left is of the ends and of second order."""
    speed, omega, _ = crossings(0.5, elements, np.linspace(8.6, 10.6, 4))[0]
    assert speed == pytest.approx(9.3224, rel=within)
    assert omega == pytest.approx(26.497, rel=10.0 * within)


@pytest.mark.parametrize("basis", [8, 12])
@pytest.mark.parametrize("beta", [0.2, 0.5, 0.8])
def test_start_does_not_hang_on_the_basis_of_the_search(beta, basis, monkeypatch):
    """A start found in a few modes is put right in many."""
    speeds = np.linspace(0.85, 1.15, 3) * REACTIVE[beta][0]
    whole = crossings(beta, 20, speeds)[0]
    monkeypatch.setattr(onset_room, "BASIS", basis)
    found = crossings(beta, 20, speeds)[0]
    assert found[:2] == pytest.approx(whole[:2], rel=1e-4)


@pytest.mark.parametrize("beta", [0.2, 0.5, 0.8])
def test_error_of_the_basis_of_the_search(beta, monkeypatch):
    """Against all hinge angles of the same rod, so that nothing but the basis differs."""
    speeds = np.linspace(0.85, 1.15, 3) * REACTIVE[beta][0]
    whole = crossings(beta, 20, speeds)[0]
    monkeypatch.setattr(onset_room.Growth, "put_right", lambda *_: None)
    found = crossings(beta, 20, speeds)[0]
    assert found[:2] == pytest.approx(whole[:2], rel=1e-2)


# --- the null case ---------------------------------------------------------------------------


def aligned(**loads):
    """Return strip, values and rod of a 50 mm ribbon trailing in the stream."""
    part = strip_part(kind="ribbon", loads=LoadsInput(finite_span=False, **loads))
    lure = assemble(case_of(part, modulus=120e3, loss_factor=0.1))
    strip = lure.strips[0]
    values = values_of(strip)
    return strip, values, build_rod(Specimen(strip, lure.water, values, gravity=False, elements=20))


def growth_against_speed(strip, values, rod, speeds):
    return find_onset(rod, values["modulus"], law_of(strip, values), speeds, X)


FIRST_WET = 2.0 * math.pi * 0.24  # [rad/s] of this ribbon, for the size of the noise


@pytest.mark.parametrize("damped", [True, False])
def test_drag_alone_never_starts_an_aligned_ribbon(damped):
    strip, values, rod = aligned(reactive=False, normal_drag=1.95, skin_friction=0.0)
    if not damped:
        values |= {"loss_factor": 0.0}
    found = growth_against_speed(strip, values, rod, np.geomspace(0.05, 5.0, 25))
    assert found.crossings == ()
    assert found.lost == ""
    assert np.all(found.growth <= GROWTH_NOISE * FIRST_WET)


def test_lost_rest_shapes_are_told_in_one_sentence():
    assert missing_sentence({}) == ""
    assert missing_sentence(
        {0.09101: "lost at 0.09101 m/s", 0.09102: "lost at 0.09102 m/s"}
    ).endswith("0.09101 m/s")
    many = missing_sentence(
        {0.3: "lost at 0.3 m/s", 0.09: "lost at 0.09 m/s", 0.2: "lost at 0.2 m/s"}
    )
    assert many == "no rest shape at 3 speeds from 0.09 to 0.3 m/s, the first: lost at 0.09 m/s"


def test_the_same_ribbon_does_start_with_the_reactive_force():
    """So that the null case above is one of the physics and not of a dead search."""
    strip, values, rod = aligned(normal_drag=1.95, skin_friction=0.0)
    found = growth_against_speed(strip, values, rod, np.geomspace(0.05, 2.0, 14))
    assert found.crossings[0].starts
    assert found.crossings[0].frequency > 0.1


def test_disturbed_ribbon_with_drag_alone_comes_to_rest():
    strip, values, bare = aligned(reactive=False, normal_drag=1.95)
    time = damping_time(strip, values, 1.0)
    rod = with_material(bare, values["modulus"], time)
    found = march_rod(
        rod,
        make_stream(1.0, X),
        rod.natural,
        frequency=1.0,
        longest=40.0,
        step=TimeStep(stated=4e-3),
        kick=5.0,
    )
    sway = np.abs(found.tip[:, 1])
    third = len(sway) // 3
    assert sway[:third].max() > 1e-3
    assert sway[-third:].max() < 0.2 * sway[:third].max()


# --- parts of the search ---------------------------------------------------------------------


def test_relaxed_rod_keeps_its_moment_in_the_rest_shape():
    rod = ribbon(0.5, 6)
    angle = np.random.default_rng(1).normal(0.0, 0.1, (6, 3))
    fast = relaxed_rod(rod, angle, make_stream(1.0, X), 80.0, 130.0, 0.02)
    resting = 80.0 * rod.stiffness * (angle - rod.natural)
    assert fast.stiffness * (angle - fast.natural) == pytest.approx(resting)
    assert fast.kelvin_voigt == 0.02
    assert fast.stiffness == pytest.approx(130.0 * rod.stiffness)


def test_growth_already_at_the_lowest_speed_is_a_crossing_below_it():
    found = crossings(0.2, 20, np.array([6.5, 7.0]))
    assert found[0][2]
    assert found[0][0] == pytest.approx(REACTIVE[0.2][0], rel=3e-2)
