"""Leading small motion against a dense search over the frequency the material is taken at."""

import math
from pathlib import Path

import numpy as np
import pytest
from physics import X

from simsoft.bodies.rod.equilibrium import rest_branch
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.stability import Growth
from simsoft.case.read import load
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.mechanics.material_law import Law
from simsoft.solvers.spectrum import complex_spectrum, creeping, follow, leading, make_pencil

CASES = Path(__file__).parents[2] / "cases"
APART = 1.1  # ratio of neighbouring frequencies of the dense search


def linear(pencil, law, frequency):
    """Return the eigenvalues with modulus and damping time of one frequency [Hz]."""
    modulus, time = law(frequency)
    m = len(pencil.damping)
    stiffness = pencil.stiffness + (modulus - pencil.base) * pencil.elastic
    damping = pencil.damping + modulus * time * pencil.elastic
    system = np.zeros((2 * m, 2 * m))
    system[:m, m:] = np.eye(m)
    system[m:] = -np.hstack([stiffness, damping])
    return np.linalg.eigvals(system)


def fixed_points(pencil, law, highest):
    """Return every eigenvalue that meets the material of its own frequency, by plain iteration."""
    found = []
    count = math.ceil(math.log(highest / 0.02) / math.log(APART))
    for frequency in [0.0, *np.geomspace(0.02, highest, count)]:
        for value in linear(pencil, law, frequency):
            own = abs(value.imag) / (2.0 * math.pi)
            if value.imag < 0.0 or abs(own - frequency) > 0.2 * frequency + 1e-3:
                continue
            for _ in range(30):
                every = linear(pencil, law, abs(value.imag) / (2.0 * math.pi))
                nearest = every[np.argmin(np.abs(every - value))]
                change, value = abs(nearest - value), nearest
                if change < 1e-9 * abs(value):
                    found.append(complex(value.real, abs(value.imag)))
                    break
    return sorted(set(np.round(found, 6)), key=lambda value: -value.real)


@pytest.mark.parametrize(
    ("name", "elements", "speed"),
    [("ribbon_150", 64, 0.52), ("ribbon_150", 48, 0.285), ("curl_grub_75", 24, 0.12)],
)
def test_no_leading_mode_is_missed(name, elements, speed):
    """The ribbon at 0.52 m/s has two modes that grow nearly alike at 6.8 and 9.2 Hz."""
    lure = assemble(load(CASES / f"{name}.toml"))
    strip = lure.strips[0]
    ready = prepare_rod(
        Specimen(strip, lure.water, values_of(strip), gravity=True, elements=elements)
    )
    search = Growth(ready.rod, ready.resting_modulus, ready.material, X, 0.0)
    speeds = np.linspace(0.05, speed, 4)
    for u, rest in zip(
        speeds, rest_branch(search.resting, speeds, X, 0.0, search.still), strict=True
    ):
        truth = fixed_points(search.pencil(u, rest, search.basis), ready.material, 60.0)[0]
        found, slow = search.eigenvalue(u, rest)
        assert found.real == pytest.approx(truth.real, abs=1e-4)
        assert found.imag == pytest.approx(truth.imag, abs=1e-3)
        assert slow == pytest.approx(truth.real, abs=1e-4)


def test_a_distant_start_leads_to_the_same_eigenvalue_whatever_the_signs_of_the_basis():
    """The leading beat at 0.1 m/s lies far below the frequency that the linear problem takes."""
    lure = assemble(load(CASES / "ribbon_150.toml"))
    strip = lure.strips[0]
    ready = prepare_rod(Specimen(strip, lure.water, values_of(strip), gravity=False, elements=40))
    search = Growth(ready.rod, ready.resting_modulus, ready.material, X, 0.0)
    rest = search.follow(np.array([0.1]), None, 0.0)[0]
    random = np.random.default_rng(0)
    count = search.basis.shape[1]
    found = []
    for signs in [np.ones(count), *random.choice([-1.0, 1.0], (12, count))]:
        search.basis = np.ascontiguousarray(search.basis * signs)
        found.append(search.eigenvalue(0.1, rest)[0])
    truth = fixed_points(search.pencil(0.1, rest, search.basis), ready.material, 60.0)[0]
    assert truth.imag > 0.0
    assert found == pytest.approx([truth] * len(found), abs=1e-4)


def oscillators():
    """Return the matrices of two mixed oscillators: growth 0.3 at 2 Hz, decay 0.7 at 3 Hz."""
    growth, omega = np.array([0.3, -0.7]), 2.0 * math.pi * np.array([2.0, 3.0])
    mix = np.array([[1.0, 0.4], [-0.3, 1.2]])
    mass, damping, stiffness = (
        mix.T @ np.diag(np.array([2.0, 5.0]) * row) @ mix
        for row in (np.ones(2), -2.0 * growth, omega**2 + growth**2)
    )
    return make_pencil(mass, damping, stiffness, np.zeros((2, 2)), 1.0)


def test_known_oscillators():
    value, slow = leading(oscillators(), Law(1.0), 1.0, 2.5)
    assert value == pytest.approx(0.3 + 4.0j * math.pi)
    assert slow == pytest.approx(0.3)
    every = complex_spectrum(oscillators(), Law(1.0), 1.0)
    assert sorted(every[every.imag > 0.0].real) == pytest.approx([-0.7, 0.3])


@pytest.mark.parametrize("loss", [0.05, 0.4])
def test_a_loss_factor_damps_every_beat_by_half_of_itself(loss):
    """s = (-xi + i sqrt(1 - xi^2)) w0 with 2 xi w0 = tan(delta) w0^2/w, w the beat itself."""
    unit = np.eye(1)
    pencil = make_pencil(unit, 0.0 * unit, 900.0 * unit, 900.0 * unit, 1.0)
    value, found = follow(pencil, Law(1.0, loss_factor=loss), 30.0j, 1.0)
    assert found
    assert abs(value) == pytest.approx(30.0)
    assert value.real == pytest.approx(-0.5 * loss * 900.0 / value.imag)


def test_what_turns_aside_without_a_beat_is_found():
    """Stiffness below zero: s^2 + c s - k = 0 with the slowest damping."""
    unit = np.eye(1)
    law = Law(2.0, exponent=0.1, loss_factor=0.2)
    pencil = make_pencil(unit, 0.5 * unit, -1.0 * unit, 1.0 * unit, 2.0)
    c = 0.5 + 2.0 * law(0.0)[1]
    assert creeping(pencil, law) == pytest.approx(0.5 * (math.sqrt(c * c + 4.0) - c))
