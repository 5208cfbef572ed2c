"""Volume, centre, inertia, areas and added mass of bodies against closed forms."""

import math

import numpy as np
import pytest
from physics import close

from simsoft.case.model import BodyInput, Taper
from simsoft.geometry.body import (
    added_mass,
    body_stations,
    centre_of_volume,
    end_factors,
    projected_areas,
    volume,
    volume_inertia,
    wetted_area,
)
from simsoft.geometry.ellipsoid import ellipsoid_added_mass
from simsoft.mechanics.inertia import inertia_from_point

LENGTH, HEIGHT, WIDTH = 0.100, 0.012, 0.008
NOSE = np.zeros(3)
MIDDLE = np.array([LENGTH / 2, 0.0, 0.0])


def even(size):
    return Taper((0.0, 1.0), (size, size))


EVEN_HEIGHT, EVEN_WIDTH = even(HEIGHT), even(WIDTH)


def body(height=EVEN_HEIGHT, width=EVEN_WIDTH, **changes):
    return BodyInput("worm", LENGTH, height, width, **changes)


def ellipsoid(a, b, c, stations=401):
    """Return the body of an ellipsoid with semi-axes along x, z and y."""
    at = 0.5 * (1.0 - np.cos(np.linspace(0.0, math.pi, stations)))
    at[0], at[-1] = 0.0, 1.0
    share = np.maximum(np.sqrt(np.clip(1.0 - (2.0 * at - 1.0) ** 2, 0.0, None)), 1e-9)
    fractions = tuple(at)
    tall, wide = (Taper(fractions, tuple(2.0 * size * share)) for size in (b, c))
    return BodyInput("worm", 2.0 * a, tall, wide)


@pytest.mark.parametrize(("section", "fill"), [("ellipse", math.pi / 4), ("rectangle", 1.0)])
def test_an_even_bar(section, fill):
    """Elliptic cylinder: m (b^2 + c^2)/4; box: m (h^2 + w^2)/12."""
    stations = body_stations(body(section=section))
    expected = fill * LENGTH * HEIGHT * WIDTH
    assert volume(stations) == pytest.approx(expected, rel=1e-12)
    assert centre_of_volume(stations) == pytest.approx(MIDDLE, abs=1e-15)
    k = 16.0 if section == "ellipse" else 12.0
    h2, w2, l2 = HEIGHT**2 / k, WIDTH**2 / k, LENGTH**2 / 12.0
    inertia = expected * np.diag([h2 + w2, h2 + l2, w2 + l2])
    assert volume_inertia(stations, MIDDLE) == close(inertia, rel=1e-10)


def test_parallel_axes():
    stations = body_stations(body(slot_width=0.002, slot_height=0.004, slot_to=0.05))
    centre, point = centre_of_volume(stations), np.array([0.03, -0.02, 0.01])
    arm = centre - point
    carried = volume(stations) * ((arm @ arm) * np.eye(3) - np.outer(arm, arm))
    expected = volume_inertia(stations, centre) + carried
    assert volume_inertia(stations, point) == close(expected, rel=1e-10)


def test_an_ellipsoid_and_its_wetted_area():
    a, b, c = 0.05, 0.010, 0.006
    stations = body_stations(ellipsoid(a, b, c), slices=2000)
    whole = 4.0 / 3.0 * math.pi * a * b * c
    assert volume(stations) == pytest.approx(whole, rel=1e-4)
    inertia = whole / 5.0 * np.diag([b * b + c * c, a * a + b * b, a * a + c * c])
    assert volume_inertia(stations, np.array([a, 0.0, 0.0])) == close(inertia, rel=2e-4)
    areas = math.pi * np.array([b * c, a * b, a * c])
    assert projected_areas(stations) == pytest.approx(areas, rel=1e-3)
    round_one = body_stations(ellipsoid(a, b, b), slices=2000)
    e = math.sqrt(1.0 - (b / a) ** 2)
    surface = 2.0 * math.pi * b * (b + a * math.asin(e) / e)
    assert wetted_area(round_one) == pytest.approx(surface, rel=3e-3)


def test_a_cone_is_second_order_in_the_slices():
    cone = body(Taper((0.0, 1.0), (1e-9, 0.012)), Taper((0.0, 1.0), (1e-9, 0.012)))
    exact = math.pi / 12.0 * 0.012**2 * LENGTH
    errors = [abs(volume(body_stations(cone, slices=n)) - exact) for n in (50, 100)]
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.01)
    assert errors[1] < 1e-4 * exact
    assert centre_of_volume(body_stations(cone))[0] == pytest.approx(0.75 * LENGTH, rel=1e-4)


def test_a_slot_takes_its_box_and_lifts_the_centre():
    slot = {"slot_width": 0.002, "slot_height": 0.005, "slot_from": 0.0203, "slot_to": 0.0611}
    stations = body_stations(body(section="rectangle", **slot))
    gone = 0.002 * 0.005 * (0.0611 - 0.0203)
    kept = LENGTH * HEIGHT * WIDTH - gone
    assert volume(stations) == pytest.approx(kept, rel=1e-12)
    lift = gone * (0.5 * HEIGHT - 0.0025) / kept
    assert centre_of_volume(stations)[2] == pytest.approx(lift, rel=1e-9)
    assert projected_areas(stations) == pytest.approx(projected_areas(body_stations(body(
        section="rectangle"))))  # fmt: skip


def test_a_slot_stays_inside_a_thin_end():
    thin = body(Taper((0.0, 1.0), (0.012, 0.002)), Taper((0.0, 1.0), (0.008, 0.001)))
    slotted = BodyInput(
        "worm", LENGTH, thin.height, thin.width, slot_width=0.006, slot_height=0.010, slot_to=0.1
    )
    assert np.all(body_stations(slotted).area > 0.0)


def test_grooves_take_half_of_the_rim_and_add_walls():
    depth, pitch = 0.0015, 0.004
    smooth = body_stations(body())
    ribbed = body_stations(body(rib_depth=depth, rib_pitch=pitch))
    core = math.pi / 4 * LENGTH * (HEIGHT - 2 * depth) * (WIDTH - 2 * depth)
    assert volume(ribbed) == pytest.approx(0.5 * (core + volume(smooth)), rel=1e-12)
    assert projected_areas(ribbed) == pytest.approx(projected_areas(smooth))
    walls = 2.0 * (volume(smooth) - core) / pitch
    assert wetted_area(ribbed) - wetted_area(smooth) == pytest.approx(walls, rel=1e-9)


def test_a_shift_thickens_every_section():
    thicker = body_stations(body(), shift=0.0002)
    expected = math.pi / 4 * LENGTH * (HEIGHT + 0.0002) * (WIDTH + 0.0002)
    assert volume(thicker) == pytest.approx(expected, rel=1e-12)


def test_a_long_even_bar_is_strip_theory():
    """pi/4 rho h^2 L to the side, pi/4 rho w^2 L up, L^2/12 of each in turning about the middle."""
    rho, length = 1000.0, 10.0
    bar = BodyInput("worm", length, EVEN_HEIGHT, EVEN_WIDTH)
    found = added_mass(body_stations(bar), rho, np.array([length / 2, 0.0, 0.0]))
    side, lift = (math.pi / 4 * rho * size**2 * length for size in (HEIGHT, WIDTH))
    roll = math.pi / 128 * rho * (HEIGHT**2 - WIDTH**2) ** 2 * length
    turn = length**2 / 12.0
    assert np.diag(found)[:3] == close([roll, lift * turn, side * turn], rel=1e-4)
    assert np.diag(found)[4:] == close([side, lift], rel=1e-4)
    assert found[:3, 3:] == pytest.approx(0.0, abs=1e-9)


def test_added_mass_about_another_point_carries_the_same_energy():
    stations = body_stations(body(Taper((0.0, 1.0), (0.004, 0.014))))
    point = np.array([0.07, 0.01, -0.02])
    about_nose = added_mass(stations, 1000.0, NOSE)
    about_point = added_mass(stations, 1000.0, point)
    assert np.allclose(about_point, about_point.T)
    spin, glide = np.array([3.0, -2.0, 1.0]), np.array([0.2, -0.1, 0.3])
    at_nose = np.concatenate([spin, glide])
    at_point = np.concatenate([spin, glide + np.cross(spin, point)])
    assert at_point @ about_point @ at_point == pytest.approx(at_nose @ about_nose @ at_nose)
    shifted = inertia_from_point(about_point, point)
    assert shifted == close(about_nose, rel=1e-9)


@pytest.mark.parametrize("axes", [(0.05, 0.01, 0.01), (0.05, 0.02, 0.008), (0.02, 0.02, 0.02)])
def test_an_ellipsoid_has_lambs_added_mass(axes):
    """Closed form (Lamb, arts. 114-115) for three unlike axes, a spheroid and a sphere."""
    a, half_height, half_width = axes
    stations = body_stations(ellipsoid(a, half_height, half_width), slices=2000)
    found = np.diag(added_mass(stations, 1000.0, np.array([a, 0.0, 0.0])))
    exact = ellipsoid_added_mass(a, half_width, half_height, 1000.0)
    assert found[[1, 2, 4, 5]] == pytest.approx(exact[[1, 2, 4, 5]], rel=1e-3, abs=1e-12)
    if half_height == half_width:
        assert found[3] == pytest.approx(exact[3], rel=1e-3)


def test_the_ends_take_a_tenth_off_a_slender_body():
    """12 % less than the displaced water at 5:1, 4 % at 10:1."""
    for slenderness, excess in ((5.0, 0.12), (10.0, 0.04)):
        a, b = 0.05, 0.05 / slenderness
        found = end_factors(body_stations(ellipsoid(a, b, b), slices=2000))
        assert 1.0 / found[0] - 1.0 == pytest.approx(excess, abs=0.005)
        assert found[0] == pytest.approx(found[1], rel=1e-9)
