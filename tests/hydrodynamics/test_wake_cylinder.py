"""Wake oscillator of a circular cylinder."""

import numpy as np
import pytest

from simsoft.hydrodynamics.cylinder_wake import WakeConstants, lock_in_sweep, peak_amplitude

# Sweep of the reduced speed upward with the parameters of Facchinetti, de Langre & Biolley 2004,
# J. Fluids Struct. 19:123, section 4: xi 3.1e-3, M 2e-4, mu 250; numbers integrated separately.
# Columns: reduced speed, frequency, frequency over natural, amplitude, wake amplitude.
SWEEP = np.array(
    [
        (3.5, 0.9956, 0.6969, 0.0003818, 2.001),
        (3.75, 0.9959, 0.747, 0.0005097, 2.001),
        (4.0, 0.9965, 0.7972, 0.0007033, 2.001),
        (4.25, 0.9975, 0.8479, 0.001029, 2.001),
        (4.5, 0.9995, 0.8996, 0.0017, 2.002),
        (4.75, 1.007, 0.9568, 0.004273, 2.01),
        (5.0, 0.9994, 0.9994, 0.05745, 2.705),
        (5.25, 0.9534, 1.001, 0.0611, 2.703),
        (5.5, 0.9864, 1.085, 0.002779, 2.005),
        (5.75, 0.9891, 1.137, 0.001802, 2.002),
        (6.0, 0.9903, 1.188, 0.001399, 2.002),
        (6.25, 0.9909, 1.239, 0.00117, 2.001),
        (6.5, 0.9914, 1.289, 0.001023, 2.001),
    ]
)


@pytest.fixture(scope="module")
def sweep():
    return lock_in_sweep(SWEEP[:, 0], damping_ratio=0.0031, mass_number=2e-4, mass_ratio=250.0)


def test_lock_in_sweep_matches_the_published_case(sweep):
    assert np.all(sweep.settled)
    assert sweep.frequency == pytest.approx(SWEEP[:, 1], rel=0.02)
    assert sweep.frequency_ratio == pytest.approx(SWEEP[:, 2], rel=0.02)
    assert sweep.amplitude == pytest.approx(SWEEP[:, 3], rel=0.02)
    assert sweep.wake_amplitude == pytest.approx(SWEEP[:, 4], rel=0.02)


def test_lock_in_holds_the_natural_frequency_and_multiplies_the_amplitude(sweep):
    locked = np.isin(sweep.reduced_speed, [5.0, 5.25])
    assert sweep.frequency_ratio[locked] == pytest.approx(1.0, abs=0.01)
    assert sweep.amplitude[locked].min() > 10.0 * sweep.amplitude[~locked].max()


def test_step_of_the_sweep_is_fine_enough(sweep):
    finer = lock_in_sweep([5.0], 0.0031, 2e-4, 250.0, step=0.01)
    assert sweep.amplitude[6] == pytest.approx(finer.amplitude[0], rel=1e-3)


def test_constants_are_the_published_ones():
    # Facchinetti, de Langre & Biolley 2004.
    assert WakeConstants() == WakeConstants(12.0, 0.3, 0.3, 0.2, 0.8)


def test_uncoupled_wake_settles_at_amplitude_two():
    free = lock_in_sweep([2.0], 0.0031, 0.0, 250.0, duration=400.0)
    assert free.wake_amplitude[0] == pytest.approx(2.0, rel=5e-3)
    assert free.amplitude[0] == 0.0


def test_unsettled_motion_is_reported():
    assert not lock_in_sweep([5.0], 0.0031, 2e-4, 250.0, duration=150.0).settled[0]


def test_sweep_refuses_a_speed_of_zero():
    with pytest.raises(ValueError, match=r"`reduced_speeds`, .* must all be positive"):
        lock_in_sweep([0.0], 0.0031, 2e-4, 250.0)


def test_peak_amplitude_law():
    # Facchinetti, de Langre & Biolley 2004, evaluated.
    found = peak_amplitude([0.01, 0.1, 0.5, 1.0, 5.0, 10.0])
    assert found == pytest.approx([0.2158, 0.1968, 0.1398, 0.1011, 0.02913, 0.01499], rel=1e-3)


def test_peak_amplitude_refuses_negative_damping():
    with pytest.raises(ValueError, match="`skop_griffin` must not be negative"):
        peak_amplitude(-1.0)
