"""Harmonic balance of a wake with small motions against what a van der Pol oscillator does."""

import math
from dataclasses import replace

import numpy as np
import pytest

from simsoft.mechanics.material_law import Law
from simsoft.solvers.harmonic_balance import InWake, balanced

RATE = 2.0 * math.pi * 3.0  # [rad/s]
ALONE = InWake(
    mass=np.eye(1),
    damping=0.1 * np.eye(1),
    stiffness=400.0 * np.eye(1),
    elastic=np.eye(1),
    modulus=400.0,
    material=Law(400.0, kelvin_voigt=0.0),
    push=np.array([1.0]),
    by_state=np.zeros(1),
    by_rate=np.zeros(1),
    rate=RATE,
    growth=0.3,
    mean=0.0,
)


def test_a_wake_that_nothing_moves_sheds_at_its_own_rate_with_an_amplitude_of_two():
    ((frequency, amplitude, motion),) = balanced(ALONE)
    # the rate is read between 200 samples by a straight line
    assert frequency == pytest.approx(3.0, rel=1e-4)
    assert amplitude == pytest.approx(2.0, rel=1e-12)
    omega = 2.0 * math.pi * frequency
    assert motion[0] == pytest.approx(1.0 / (400.0 - omega**2 + 0.1j * omega), rel=1e-2)


@pytest.mark.parametrize(("mean", "amplitude"), [(0.6, 1.6), (1.1, None)])
def test_a_rest_shape_to_one_side_sheds_less_and_past_one_nothing(mean, amplitude):
    found = list(balanced(replace(ALONE, mean=mean)))
    if amplitude is None:
        assert not found
    else:
        assert found[0][1] == pytest.approx(amplitude, rel=1e-12)


def test_a_balance_meets_both_its_equations():
    coupled = replace(ALONE, by_state=np.array([40.0]), by_rate=np.array([0.5]))
    beats = list(balanced(coupled))
    assert beats
    for frequency, amplitude, motion in beats:
        omega = 2.0 * math.pi * frequency
        answer = coupled.motion(omega)
        np.testing.assert_allclose(motion, answer, rtol=5e-3)
        through = answer @ coupled.by_state + 1j * omega * (answer @ coupled.by_rate)
        assert RATE**2 * (1.0 - through.real) == pytest.approx(omega**2, rel=2e-3)
        square = 4.0 * (1.0 + RATE * through.imag / (coupled.growth * omega))
        assert amplitude**2 == pytest.approx(square, rel=5e-3)
