"""Doublet panels: symmetric, positive, right for rectangles, second order, strip limit."""

import math

import numpy as np
import pytest

from simsoft.hydrodynamics.plate.panels import (
    drawn_in,
    make_panels,
    panel_added_mass,
    panel_areas,
    sides_of,
)
from simsoft.validate.plate_checks import rectangle, rectangle_coefficient

SQUARE = 0.57901  # check B01


@pytest.fixture(scope="module")
def crooked():
    plan, quads = rectangle(1.5, 1.0, 9, 6)
    move = np.random.default_rng(4).uniform(-0.03, 0.03, plan.shape)
    inside = (np.abs(plan[:, 0] - 0.75) < 0.7) & (np.abs(plan[:, 1]) < 0.45)
    plan[inside] += move[inside]
    return plan, quads


def test_added_mass_is_symmetric_and_positive(crooked):
    mass = panel_added_mass(make_panels(*crooked))
    assert np.array_equal(mass, mass.T)
    assert np.linalg.eigvalsh(mass).min() > 0.0


def test_crooked_panels_change_little(crooked):
    even = panel_added_mass(make_panels(*rectangle(1.5, 1.0, 9, 6))).sum()
    assert panel_added_mass(make_panels(*crooked)).sum() == pytest.approx(even, rel=0.02)


def test_square_converges_with_second_order():
    errors = []
    for n in (6, 12):
        carried = panel_added_mass(make_panels(*rectangle(1.0, 1.0, n, n))).sum()
        errors.append(abs(carried / (0.25 * math.pi) / SQUARE - 1.0))
    assert errors[1] < 0.01
    assert 1.5 < math.log2(errors[0] / errors[1]) < 2.5


def test_long_plate_carries_what_strips_carry():
    coefficients = [rectangle_coefficient(ratio, 240) for ratio in (5.0, 20.0)]
    assert coefficients[0] < coefficients[1] < 1.0
    assert coefficients[1] > 0.95


def test_turning_about_the_length_approaches_the_strip():
    # rho pi b^4/128 per length of a strip (Lamb, Hydrodynamics, art. 71)
    plan, quads = rectangle(10.0, 1.0, 40, 10)
    panels = make_panels(plan, quads)
    y = panels.middle[:, 1]
    roll = y @ panel_added_mass(panels) @ y
    assert roll == pytest.approx(math.pi / 128.0 * 10.0, rel=0.06)


def test_rings_are_drawn_in_by_a_quarter_of_their_depth():
    plan, quads = rectangle(1.0, 1.0, 8, 8)
    ring = drawn_in(plan, quads)
    width = np.ptp(ring[:, 1])
    pitch = width / 8
    assert width == pytest.approx(1.0 - 0.5 * pitch, rel=1e-6)
    assert np.all(panel_areas(ring[quads]) > 0.0)


def test_sides_know_their_panels():
    _, quads = rectangle(1.0, 1.0, 3, 2)
    sides, neighbours = sides_of(quads)
    assert len(sides) == 3 * 3 + 4 * 2
    assert (neighbours[:, 1] < 0).sum() == 2 * (3 + 2)
    for (a, b), (left, right) in zip(sides, neighbours, strict=True):
        assert {a, b} <= set(quads[left])
        assert right < 0 or {a, b} <= set(quads[right])


def test_a_side_of_three_panels_is_refused():
    with pytest.raises(ValueError, match="more than two panels"):
        sides_of(np.array([[0, 1, 2, 3], [0, 1, 4, 5], [1, 0, 6, 7]]))
