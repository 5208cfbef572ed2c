"""Start of flutter against the stability of a slender ribbon in axial flow, and a null case."""

import math

import numpy as np
import pytest
from physics import X, case_of, observed_order, ribbon, strip_part

import simsoft.solve.onset as onset_room
from simsoft.case.model import LoadsInput
from simsoft.lure import (
    assemble,
    build_rod,
    damping_time,
    dynamic_modulus,
    values_of,
    with_material,
)
from simsoft.solve.march import march
from simsoft.solve.onset import GROWTH_NOISE, find_onset, relaxed, small_motions
from simsoft.solve.rest import make_stream

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
    found = find_onset(rod, 1.0, lambda f: (1.0, damping_time * scale), speeds, X)
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


def test_start_speed_converges_with_the_square_of_the_element_length_or_faster():
    """Waves travel right to fourth order, what happens at the ends is of second."""
    sizes = np.array([24, 36, 54])
    speeds = np.linspace(8.6, 10.6, 4)
    errors = [crossings(0.5, int(n), speeds)[0][0] - 9.3224 for n in sizes]
    assert observed_order(1.0 / sizes, errors) > 1.9
    assert abs(errors[0]) < 0.01 * 9.3224


@pytest.mark.parametrize(("basis", "within"), [(12, 0.02), (20, 0.005)])
@pytest.mark.parametrize("beta", [0.2, 0.5, 0.8])
def test_error_of_the_modal_basis(beta, basis, within, monkeypatch):
    """Against all hinge angles of the same rod, so that nothing but the basis differs."""
    speeds = np.linspace(0.85, 1.15, 3) * REACTIVE[beta][0]
    found = {}
    for size in (basis, 3 * 20):
        monkeypatch.setattr(onset_room, "BASIS", size)
        found[size] = crossings(beta, 20, speeds)[0]
    whole = found[3 * 20]
    assert found[basis][0] == pytest.approx(whole[0], rel=within)
    assert found[basis][1] == pytest.approx(whole[1], rel=2.0 * within)


# --- the null case ---------------------------------------------------------------------------


def aligned(**loads):
    """Return strip, values and rod of a 50 mm ribbon trailing in the stream."""
    part = strip_part(kind="ribbon", loads=LoadsInput(finite_span=False, **loads))
    lure = assemble(case_of(part, modulus=120e3, loss_factor=0.1))
    strip = lure.strips[0]
    values = values_of(strip)
    return strip, values, build_rod(strip, lure.water, values, gravity=False, elements=20)


def growth_against_speed(strip, values, rod, speeds):
    def material(frequency):
        return dynamic_modulus(strip, values, frequency), damping_time(strip, values, frequency)

    return find_onset(rod, values["modulus"], material, speeds, X)


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
    found = march(
        rod, make_stream(1.0, X), rod.natural, frequency=1.0, longest=40.0, step=4e-3, kick=5.0
    )
    sway = np.abs(found.tip[:, 1])
    third = len(sway) // 3
    assert sway[:third].max() > 1e-3
    assert sway[-third:].max() < 0.2 * sway[:third].max()


# --- parts of the search ---------------------------------------------------------------------


def test_small_motions_of_two_known_oscillators():
    """Growth 0.3 at 2 Hz, decay 0.7 at 3 Hz, one of each pair of eigenvalues."""
    growth, omega = np.array([0.3, -0.7]), 2.0 * math.pi * np.array([2.0, 3.0])
    masses = np.array([2.0, 5.0])
    mix = np.array([[1.0, 0.4], [-0.3, 1.2]])
    mass, damping, stiffness = (
        mix.T @ np.diag(masses * row) @ mix
        for row in (np.ones(2), -2.0 * growth, omega**2 + growth**2)
    )
    found = small_motions(mass, damping, stiffness)
    found = found[np.argsort(-found.real)]
    assert found.real == pytest.approx(growth)
    assert found.imag == pytest.approx(omega)


def test_overdamped_motions_are_there_as_well():
    found = small_motions(np.eye(1), np.array([[5.0]]), np.array([[6.0]]))
    assert sorted(found.real) == pytest.approx([-3.0, -2.0])


def test_relaxed_rod_keeps_its_moment_in_the_rest_shape():
    rod = ribbon(0.5, 6)
    angle = np.random.default_rng(1).normal(0.0, 0.1, (6, 3))
    fast = relaxed(rod, angle, make_stream(1.0, X), 80.0, 130.0, 0.02)
    resting = 80.0 * rod.stiffness * (angle - rod.natural)
    assert fast.stiffness * (angle - fast.natural) == pytest.approx(resting)
    assert fast.kelvin_voigt == 0.02
    assert fast.stiffness == pytest.approx(130.0 * rod.stiffness)


def test_growth_already_at_the_lowest_speed_is_a_crossing_below_it():
    found = crossings(0.2, 20, np.array([6.5, 7.0]))
    assert found[0][2]
    assert found[0][0] == pytest.approx(REACTIVE[0.2][0], rel=3e-2)
