"""Added mass of ellipsoids against Lamb's and Newman's values and closed limits."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from simsoft.geometry.ellipsoid import ellipsoid_added_mass, equivalent_spheroid


def volume(a, b, c):
    return 4.0 / 3.0 * math.pi * a * b * c


def test_a_sphere_takes_half_its_water_and_turns_freely():
    found = ellipsoid_added_mass(0.02, 0.02, 0.02, 1000.0)
    half = 0.5 * 1000.0 * volume(0.02, 0.02, 0.02)
    assert found == pytest.approx([0.0, 0.0, 0.0, half, half, half], rel=1e-12, abs=1e-15)


def spheroid_shares(slenderness):
    """Return k1, k2, k' of a prolate spheroid in elementary functions.

    Newman, Marine Hydrodynamics (1977), section 4.12, after Lamb, art. 114 (from memory).
    """
    e2 = 1.0 - slenderness**-2
    e = math.sqrt(e2)
    log = math.log((1.0 + e) / (1.0 - e))
    alpha = 2.0 * (1.0 - e2) / e**3 * (0.5 * log - e)
    beta = 1.0 / e2 - (1.0 - e2) / (2.0 * e**3) * log
    turning = e2**2 * (beta - alpha) / ((2.0 - e2) * (2.0 * e2 - (2.0 - e2) * (beta - alpha)))
    return alpha / (2.0 - alpha), beta / (2.0 - beta), turning


def shares_of(slenderness):
    found = ellipsoid_added_mass(slenderness, 1.0, 1.0)
    displaced = volume(slenderness, 1.0, 1.0)
    solid = displaced * (slenderness**2 + 1.0) / 5.0
    assert found[0] == 0.0
    assert found[2] == pytest.approx(found[1], rel=1e-12)
    assert found[5] == pytest.approx(found[4], rel=1e-12)
    return found[3] / displaced, found[4] / displaced, found[1] / solid


@pytest.mark.parametrize("slenderness", [1.2, 1.5, 2.0, 5.0, 12.7, 40.0])
def test_prolate_spheroids_in_elementary_functions(slenderness):
    assert shares_of(slenderness) == pytest.approx(spheroid_shares(slenderness), rel=1e-8)


@pytest.mark.parametrize(
    ("slenderness", "shares"), [(2.0, (0.21, 0.70, 0.24)), (5.0, (0.059, 0.895, 0.701))]
)
def test_prolate_spheroids_as_tabled(slenderness, shares):
    """k1, k2, k' of the tables in Lamb, art. 115, and Newman, figure 4.8 (from memory)."""
    assert shares_of(slenderness) == pytest.approx(shares, abs=0.005)


def test_three_unequal_axes_against_lambs_integrals():
    """alpha = abc int_0^inf dl/((a^2 + l) D), D^2 = (a^2 + l)(b^2 + l)(c^2 + l)."""
    axes = np.array([3.0, 1.5, 0.7])
    square = axes**2

    def share(i):
        def integrand(t):  # l = t/(1 - t) maps the half line on 0..1
            at = square + t / (1.0 - t)
            return 1.0 / (at[i] * math.sqrt(np.prod(at)) * (1.0 - t) ** 2)

        return np.prod(axes) * quad(integrand, 0.0, 1.0, epsabs=1e-12, epsrel=1e-12)[0]

    alpha, beta, gamma = (share(i) for i in range(3))
    displaced = volume(*axes)
    found = ellipsoid_added_mass(*axes)
    moving = [displaced * k / (2.0 - k) for k in (alpha, beta, gamma)]
    assert found[3:] == pytest.approx(moving, rel=1e-7)
    a2, b2, c2 = square

    def turning(p2, q2, p, q):
        return displaced / 5.0 * (p2 - q2) ** 2 * (q - p) / (
            2.0 * (p2 - q2) + (p2 + q2) * (p - q)
        )  # fmt: skip

    rolls = [turning(b2, c2, beta, gamma), turning(c2, a2, gamma, alpha)]
    rolls.append(turning(a2, b2, alpha, beta))
    assert found[:3] == pytest.approx(rolls, rel=1e-6)


@pytest.mark.parametrize("thin", [1e-3, 1e-5, 1e-7])
def test_a_flat_ellipsoid_becomes_a_disc(thin):
    """8/3 rho a^3 square on and 16/45 rho a^5 about a diameter (Lamb, art. 108)."""
    found = ellipsoid_added_mass(2.0, 2.0, 2.0 * thin)
    assert found[5] == pytest.approx(8.0 / 3.0 * 8.0, rel=2.0 * thin + 1e-9)
    assert found[:2] == pytest.approx([16.0 / 45.0 * 32.0] * 2, rel=3.0 * thin + 1e-9)
    assert found[2:5] == pytest.approx(0.0, abs=40.0 * thin)


def test_a_long_ellipsoid_becomes_a_cylinder():
    """pi rho b^2 and pi rho c^2 per length, pi rho (b^2 - c^2)^2/8 in roll, over a slice."""
    a, b, c = 1e3, 2.0, 1.0
    found = ellipsoid_added_mass(a, b, c)
    mean = 2.0 / 3.0 * 2.0 * a  # int of the squared section size over the length
    assert found[4] == pytest.approx(math.pi * c * c * mean, rel=1e-3)
    assert found[5] == pytest.approx(math.pi * b * b * mean, rel=1e-3)
    fourth = 8.0 / 15.0 * 2.0 * a
    assert found[0] == pytest.approx(math.pi * (b * b - c * c) ** 2 / 8.0 * fourth, rel=1e-3)


def test_axes_can_be_named_in_any_order():
    found = ellipsoid_added_mass(0.05, 0.012, 0.007)
    turned = ellipsoid_added_mass(0.012, 0.007, 0.05)
    np.testing.assert_allclose(turned, found[[1, 2, 0, 4, 5, 3]], rtol=1e-12)


def test_nearly_equal_axes_turn_smoothly_into_equal_ones():
    turning = [ellipsoid_added_mass(1.0, 1.0 + d, 1.0)[0] for d in (1e-2, 1e-3, 1e-4)]
    assert turning[0] / turning[1] == pytest.approx(100.0, rel=0.02)
    assert turning[1] / turning[2] == pytest.approx(100.0, rel=0.02)


def test_equivalent_spheroid_keeps_volume_and_length():
    a, b = equivalent_spheroid(1e-5, 0.127)
    assert a == 0.0635
    assert volume(a, b, b) == pytest.approx(1e-5)
