"""Energy of the marched rod: kept, lost and booked as it should be."""

import math

import numpy as np
import pytest
from physics import FLAT, STILL, Flight, bare_rod, moved, observed_order, ribbon, vectors

from simsoft.bodies.rod.equilibrium import make_stream
from simsoft.bodies.rod.modes import natural_modes
from simsoft.bodies.rod.stepper import ENERGY_NAMES
from simsoft.bodies.rod.time_march import march_rod
from simsoft.solvers.time_march import TimeStep

N = 10
DRAG, DAMPING = ENERGY_NAMES.index("drag_work"), ENERGY_NAMES.index("damping_loss")


def spatial_rod(*, water=True, reactive=1.0, damping_time=0.0, drag=(0.0, 0.0, 0.0, 0.0)):
    """Return a rod soft in bending both ways and in twist, which therefore moves in space."""
    added = (1.0, 0.4, 0.02) if water else (0.0, 0.0, 0.0)
    return bare_rod(
        (3.0, 1.0, 0.8),
        (1.0, 0.02, 0.01),
        added,
        elements=N,
        reactive=reactive,
        damping_time=damping_time,
        drag=drag,
        frame=FLAT,
    )


def bent(size=0.5):
    """Return a start shape that bends both ways and twists."""
    s = (np.arange(N) + 0.5) / N
    shape = np.column_stack([0.5 * (1.0 - s), 1.0 - s, 0.4 * np.cos(0.5 * math.pi * s)])
    return size * 2.0 * shape / N


def shed_power(flight):
    """Return the power [W] that the water leaving the tip brings: slice energy times V3."""
    work = flight.state()
    rod = flight.rod
    v = work.glide[-1] + np.cross(work.spin[-1], [0.0, 0.0, 0.5 * rod.length[-1]])
    return 0.5 * (rod.added[-1, 0] * v[0] ** 2 + rod.added[-1, 1] * v[1] ** 2) * v[2]


def drift(rod, step, *, time=3.0, size=0.5, shedding=False):
    """Return the largest change of the total energy relative to the start."""
    flight = Flight(rod, STILL, bent(size))
    start, shed, power = flight.total_energy(), 0.0, 0.0
    worst = 0.0
    for _ in range(round(time / step)):
        flight.fly(step, 1)
        if shedding:
            now = shed_power(flight)
            shed += 0.5 * step * (power + now)
            power = now
        worst = max(worst, abs(flight.total_energy() - start - shed))
    return worst / start


STEPS = np.array([8e-3, 4e-3, 2e-3])


@pytest.mark.parametrize("water", [False, True])
def test_free_vibration_keeps_its_energy_with_the_square_of_the_step(water):
    """In vacuum, and with the added mass of still water without convection."""
    rod = spatial_rod(water=water, reactive=0.0)
    errors = [drift(rod, step) for step in STEPS]
    assert errors[-1] < 2e-3
    assert observed_order(STEPS, errors) > 1.7


def test_weight_is_booked_as_potential_energy():
    rod = spatial_rod(water=False)
    weight = np.outer(rod.span, [0.0, 0.0, -2.0])
    errors = [drift(rod._replace(weight=weight), step) for step in STEPS]
    assert errors[-1] < 2e-3
    assert observed_order(STEPS, errors) > 1.7


def test_small_motion_with_reactive_force_in_still_water_keeps_its_energy():
    """The energy that leaves with the water at the tip falls with amplitude squared."""
    rod = spatial_rod()
    assert drift(rod, 2e-3, size=0.02) < 2e-3


def strip_drift(elements, step, shedding):
    """Return the energy drift of a planar strip swinging in still water, reactive force on."""
    rod = ribbon(0.6, elements)
    s = (np.arange(elements) + 0.5) / elements
    angle = np.zeros((elements, 3))
    angle[:, 1] = 1.6 * (1.0 - s) / elements
    flight = Flight(rod, STILL, angle)
    start, shed, power, worst = flight.total_energy(), 0.0, 0.0, 0.0
    for _ in range(round(0.6 / step)):
        flight.fly(step, 1)
        now = shed_power(flight)
        shed += 0.5 * step * (power + now)
        power = now
        worst = max(worst, abs(flight.total_energy() - start - shedding * shed))
    return worst / start


def test_reactive_force_exchanges_energy_only_with_the_wake():
    """Lighthill 1971: the slice energy times V3 at the trailing edge is all that leaves."""
    unbooked = strip_drift(20, 5e-4, 0.0)
    assert unbooked > 0.02
    for elements in (10, 20, 40):
        assert strip_drift(elements, 5e-4, 1.0) < 0.02 * unbooked


def test_damping_loss_equals_the_books():
    rod = spatial_rod(water=False, damping_time=0.02)
    errors = []
    for step in STEPS:
        flight = Flight(rod, STILL, bent())
        start = flight.total_energy()
        flight.fly(step, round(3.0 / step))
        lost = start - flight.total_energy()
        assert lost > 0.2 * start
        errors.append((lost - flight.energy[0, DAMPING]) / lost)
    assert abs(errors[-1]) < 5e-3
    assert observed_order(STEPS, errors) > 0.9


@pytest.mark.parametrize("mode", [0, 1])
@pytest.mark.parametrize("ratio", [0.01, 0.05])
def test_small_vibration_decays_at_the_kelvin_voigt_rate(mode, ratio):
    """zeta_n = tau omega_n/2 for every mode, log decrement 2 pi zeta/sqrt(1 - zeta^2)."""
    bare = ribbon(0.5, 12, reactive=0.0)
    modes = natural_modes(bare, bare.natural, 2)
    omega = 2.0 * math.pi * modes.frequency[mode]
    rod = bare._replace(kelvin_voigt=2.0 * ratio / omega)
    shape = modes.shape[:, mode].reshape(12, 3)
    flight = Flight(rod, STILL, 1e-3 * shape / np.abs(shape).max())
    step = 2.0 * math.pi / omega / 400
    history = flight.fly(step, 400 * 4)
    y = history[:, 1]
    peaks = np.nonzero((y[1:-1] > y[:-2]) & (y[1:-1] >= y[2:]))[0] + 1
    decrement = np.log(y[peaks[0]] / y[peaks[-1]]) / (len(peaks) - 1)
    expected = 2.0 * math.pi * ratio / math.sqrt(1.0 - ratio**2)
    assert decrement == pytest.approx(expected, rel=2e-2)


def test_with_drag_in_still_water_the_energy_only_falls():
    rod = spatial_rod(reactive=0.0, drag=(3.0, 1.0, 0.2, 0.02))
    flight = Flight(rod, STILL, bent(0.8))
    levels = [flight.total_energy()]
    for _ in range(1500):
        flight.fly(2e-3, 1)
        levels.append(flight.total_energy())
    assert np.diff(levels).max() < 1e-5 * levels[0]
    assert levels[-1] < 0.3 * levels[0]
    assert levels[0] - levels[-1] == pytest.approx(-flight.energy[0, DRAG], rel=5e-3)


def test_books_hold_kinetic_and_stored_energy_of_the_solid():
    rod = spatial_rod(water=False)
    flight = Flight(rod, STILL, bent())
    flight.fly(5e-4, 400)
    work = moved(rod, flight.quaternion, flight.motion[0, :, :3])
    twist = np.hstack([work.spin, work.glide])
    kinetic = 0.5 * np.einsum("ki,kij,kj", twist, rod.structure, twist)
    stored = 0.5 * np.sum(rod.stiffness * vectors(flight.quaternion) ** 2)
    assert flight.energy[1, 0] == pytest.approx(kinetic, rel=1e-2)
    assert flight.energy[1, 1] == pytest.approx(stored, rel=1e-2)


def test_energy_balance_of_a_march_closes_with_the_step():
    """Fluttering ribbon, beta 0.2, u 6.5, C_d 1.8: work of the stream against what it loses."""
    rod = ribbon(0.2, 16, span=0.5, normal_drag=1.8, damping_time=0.01)
    stream = make_stream(6.5, np.array([1.0, 0.0, 0.0]))
    steps = np.array([5e-3, 2.5e-3, 1.25e-3])
    residuals = []
    for step in steps:
        found = march_rod(
            rod, stream, rod.natural, frequency=1.13, longest=18.0, step=TimeStep(stated=step)
        )
        moved_to = found.tip[:, 1]
        assert np.ptp(moved_to[len(moved_to) // 2 :]) > 0.2
        residuals.append(found.energy["residual"])
    assert abs(residuals[0]) < 1e-3
    assert observed_order(steps, residuals) == pytest.approx(2.0, abs=0.3)
