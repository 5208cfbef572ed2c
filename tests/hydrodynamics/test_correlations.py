"""Drag and shedding correlations against their published tables."""

import numpy as np
import pytest

from simsoft.hydrodynamics.correlations import drag as c

# Clift, Grace & Weber 1978, Table 5.2, evaluated.
CLIFT_SPHERE = {
    0.1: 244.3,
    1: 27.16,
    10: 4.258,
    20: 2.715,
    100: 1.087,
    200: 0.7756,
    260: 0.6874,
    500: 0.5549,
    1000: 0.4711,
    1500: 0.4411,
    5000: 0.3873,
    1.0e4: 0.4052,
    4.0e4: 0.4639,
    1.0e5: 0.5018,
}
# Pruppacher & Klett, Microphysics of Clouds and Precipitation, Table 10.1.
PRUPPACHER_KLETT = {10: 4.29, 30: 2.11, 57: 1.51, 100: 1.1, 300: 0.63}


@pytest.mark.parametrize(("reynolds", "expected"), CLIFT_SPHERE.items())
def test_sphere_drag_is_the_standard_curve(reynolds, expected):
    assert c.sphere_drag(reynolds) == pytest.approx(expected, rel=0.03 if reynolds <= 1e3 else 0.05)


@pytest.mark.parametrize(("reynolds", "expected"), PRUPPACHER_KLETT.items())
def test_sphere_drag_agrees_with_an_independent_table(reynolds, expected):
    assert c.sphere_drag(reynolds) == pytest.approx(expected, rel=0.05)


@pytest.mark.parametrize("joint", [0.01, 20.0, 260.0, 1500.0, 1.2e4, 4.4e4, 3.38e5])
def test_sphere_drag_joins_within_two_per_cent(joint):
    below, above = c.sphere_drag(np.array([joint * (1 - 1e-9), joint * (1 + 1e-9)]))
    assert above == pytest.approx(below, rel=0.02)


@pytest.mark.parametrize(("joint", "jump"), [(4.0e5, -0.0189), (1.0e6, 0.0)])
def test_sphere_drag_steps_past_the_drag_crisis_as_the_published_pieces_do(joint, jump):
    below, above = c.sphere_drag(np.array([joint * (1 - 1e-9), joint * (1 + 1e-9)]))
    assert above - below == pytest.approx(jump, abs=1e-4)


def test_plate_drag_is_the_hoerner_white_table():
    # White, Fluid Mechanics, Table 7.3, after Hoerner 1965.
    found = c.plate_drag([1, 5, 10, 20, np.inf])
    assert found == pytest.approx([1.18, 1.2, 1.3, 1.5, 1.98], rel=1e-12)


def test_plate_drag_does_not_care_which_side_is_called_breadth():
    assert c.plate_drag(0.1) == c.plate_drag(10.0)


def test_plate_drag_refuses_zero():
    with pytest.raises(ValueError, match="`aspect_ratio` must lie between"):
        c.plate_drag(0.0)


def test_cylinder_drag():
    # White, Viscous Fluid Flow: 1 + 10 Re^(-2/3).
    found = c.cylinder_drag([1, 10, 100, 1e3, 1e4, 1e5])
    assert found == pytest.approx([11.0, 3.154, 1.464, 1.1, 1.022, 1.005], rel=1e-3)


def test_cylinder_end_factor():
    # White, Fluid Mechanics, Table 7.3: C_D of finite cylinders against 1.2 for the infinite one.
    found = c.cylinder_end_factor([1, 2, 3, 5, 10, 20, 40, np.inf])
    expected = np.array([0.64, 0.68, 0.74, 0.74, 0.82, 0.91, 0.98, 1.2]) / 1.2
    assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("kc", "drag", "inertia"),
    [
        # Luhar & Nepf 2016, J. Fluids Struct. 61:20, the fit worked by hand.
        (1.0, 10.0, 1.35),
        (8.0, 5.0, 2.4),
        (18.0, 3.81571, 1.0),
        (27.0, 3.33333, 2.35),
        (1000.0, 1.95, 16.0),
    ],
)
def test_oscillating_strip(kc, drag, inertia):
    found = c.strip_oscillatory_coefficients(kc)
    assert found == pytest.approx((drag, inertia), rel=1e-5)


@pytest.mark.parametrize(
    ("reynolds", "expected"),
    [
        # Fey, Konig & Eckelmann 1998, Phys. Fluids 10:1547, evaluated.
        (60, 0.1347),
        (100, 0.1648),
        (150, 0.1838),
        (200, 0.1828),
        (500, 0.206),
        (1000, 0.2118),
        (3000, 0.2101),
        (5000, 0.2087),
        (1.0e4, 0.1996),
        (1.0e5, 0.1846),
    ],
)
def test_cylinder_strouhal(reynolds, expected):
    assert c.cylinder_strouhal(reynolds) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("reynolds", "expected"), [(60, 0.1358), (100, 0.1643), (150, 0.1834)])
def test_cylinder_strouhal_agrees_with_an_independent_fit(reynolds, expected):
    # Williamson 1988, Phys. Fluids 31:2742.
    assert c.cylinder_strouhal(reynolds) == pytest.approx(expected, rel=0.05)


def test_cylinder_strouhal_is_zero_before_shedding_and_bridges_the_gap():
    found = c.cylinder_strouhal([0.0, 46.9, 240.0, 300.0, 360.0])
    assert found[:2] == pytest.approx([0.0, 0.0], abs=0.0)
    assert found[2] < found[3] < found[4]


def test_cylinder_strouhal_refuses_the_drag_crisis():
    with pytest.raises(ValueError, match="`reynolds` must lie between 0 and 200000"):
        c.cylinder_strouhal(3e5)


@pytest.mark.parametrize(
    ("shape", "low", "high"),
    [
        # Fage & Johansen 1927; Fuchs et al. 1979; Berger et al. 1990; Achenbach 1974;
        # Okajima 1982; Johnson & Patel 1999. Single values have 10 % either way.
        ("flat plate", 0.14, 0.15),
        ("inclined plate", 0.145, 0.155),
        ("disc", 0.135 * 0.9, 0.135 * 1.1),
        ("disc pumping", 0.05 * 0.9, 0.05 * 1.1),
        ("sphere", 0.18, 0.20),
        ("square cylinder", 0.12, 0.135),
        ("sphere at Reynolds 300", 0.137 * 0.9, 0.137 * 1.1),
    ],
)
def test_bluff_strouhal(shape, low, high):
    band = c.bluff_strouhal(shape)
    assert (band.low, band.high) == pytest.approx((low, high))
    assert band.low < band.value < band.high
    assert band.basis


def test_bluff_strouhal_lists_what_it_knows():
    with pytest.raises(ValueError, match=r"`shape` must be one of flat plate, .*, got 'cone'"):
        c.bluff_strouhal("cone")


@pytest.mark.parametrize(
    "function",
    [c.sphere_drag, c.cylinder_drag],
)
def test_correlations_keep_shape_and_refuse_what_is_not_a_number(function):
    assert function(np.full((2, 3), 50.0)).shape == (2, 3)
    assert np.ndim(function(50.0)) == 0
    with pytest.raises(ValueError, match="`reynolds` must lie between"):
        function(float("nan"))
