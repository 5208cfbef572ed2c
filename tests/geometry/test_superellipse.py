"""Sections by fullness: limits and numbers against quadrature."""

import numpy as np
import pytest
from scipy.integrate import quad

from simsoft.case.model import BodyInput, Taper
from simsoft.geometry.body import body_stations, volume
from simsoft.geometry.superellipse import perimeter, second_share


def test_ellipse_box_and_diamond_are_exact():
    found = second_share(np.array([0.25 * np.pi, 1.0, 0.5]))
    assert found == pytest.approx([np.pi / 64, 1 / 12, 1 / 48], rel=1e-4)


@pytest.mark.parametrize("power", [0.7, 1.3, 2.0, 3.0, 6.0])
def test_second_moment_meets_quadrature(power):
    def half(y):
        return 0.5 * (1.0 - (2.0 * y) ** power) ** (1.0 / power)

    area = 4.0 * quad(half, 0.0, 0.5)[0]
    second = 4.0 * quad(lambda y: half(y) ** 3 / 3.0, 0.0, 0.5)[0]
    assert second_share(np.array([area])) == pytest.approx([second], rel=1e-3)


@pytest.mark.parametrize("ratio", [1.0, 2.0, 4.0])
@pytest.mark.parametrize("power", [1.2, 2.0, 3.0, 5.0])
def test_perimeter_is_within_its_stated_error(ratio, power):
    turn = np.linspace(0.0, 2.0 * np.pi, 20001)
    c, s = np.cos(turn), np.sin(turn)
    y = 0.5 * np.sign(c) * np.abs(c) ** (2 / power)
    z = 0.5 * ratio * np.sign(s) * np.abs(s) ** (2 / power)
    area = abs(np.sum(y[:-1] * z[1:] - y[1:] * z[:-1])) / 2.0
    long = np.hypot(np.diff(y), np.diff(z)).sum()
    found = perimeter(np.array([area / ratio]), np.array([ratio]), np.array([1.0]))
    assert found == pytest.approx([long], rel=0.03)


def test_a_body_of_an_ellipses_fullness_is_the_ellipse():
    even = Taper((0.0, 1.0), (0.012, 0.006))
    plain = BodyInput("grub", 0.05, even, even)
    full = BodyInput("grub", 0.05, even, even, fullness=Taper((0.0, 1.0), (np.pi / 4, np.pi / 4)))
    boxed = BodyInput("grub", 0.05, even, even, fullness=Taper((0.0, 1.0), (1.0, 1.0)))
    a, b = body_stations(plain), body_stations(full)
    for name in ("area", "second_y", "second_z", "perimeter", "outline"):
        assert getattr(b, name) == pytest.approx(getattr(a, name), rel=1e-4), name
    assert volume(body_stations(boxed)) == pytest.approx(4 / np.pi * volume(a), rel=1e-9)
