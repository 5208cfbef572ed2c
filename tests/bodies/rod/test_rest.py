"""Rest shapes against elastica solutions, with the observed order of accuracy."""

import math
from dataclasses import replace

import numpy as np
import pytest
from physics import FLAT, X, elastica, observed_order, placed

from simsoft.bodies.rod.equilibrium import Rest, make_stream, rest_branch, turn
from simsoft.bodies.rod.stability import Growth
from simsoft.bodies.rod.tangents import at_rest
from simsoft.mechanics.material_law import Law
from simsoft.solvers.continuation import strays

# Elastica values recomputed from the equations by an independent solver; the tip load agrees
# with Bisshopp & Drucker 1945, Q. Appl. Math. 3:272, and Mattiasson 1981, Int. J. Numer.
# Methods Eng. 17:145, to all five published digits. Keys: load P L^2/EI.
TIP_LOAD = {  # across w/L, shortening u/L, tip angle [rad]
    1.0: (0.301721, 0.0564332, 0.461352),
    2.0: (0.493457, 0.160642, 0.78175),
    5.0: (0.713792, 0.387628, 1.21537),
    10.0: (0.810609, 0.554996, 1.43029),
}
# Problem class of Argyris & Symeonidis 1981, Comput. Methods Appl. Mech. Eng. 26:75; recomputed.
FOLLOWER = {
    2.0: (0.573839, 0.232638, 0.968239),
    5.0: (0.78069, 0.827722, 2.09816),
    10.0: (0.546983, 1.09212, 2.99271),
}
# Problem of Rohde 1953, Q. Appl. Math. 11:337; recomputed. Keys: weight q L^3/EI.
HEAVY = {  # drop w/L, reach x/L, tip angle [rad]
    1.0: (0.123471, 0.991246, 0.165116),
    5.0: (0.495905, 0.846657, 0.697005),
    10.0: (0.7002, 0.656354, 1.05264),
    20.0: (0.829881, 0.445232, 1.3395),
}
# Stress-free quarter circle, dead tip load that opens it (positive) or closes it; recomputed.
QUARTER_CIRCLE = {  # tip x/L, y/L, tip angle [rad]
    -1.0: (0.53641, 0.699937, 1.73555),
    1.0: (0.804105, 0.481871, 1.22202),
    2.0: (0.970705, 0.142783, 0.621815),
    5.0: (0.833294, -0.519216, -0.441187),
}


def settled(rod):
    rest = rest_branch(rod, np.zeros(1), X)[0]
    assert rest.found, rest.message
    return rest.angle


def tip(rod):
    """Return tip position and tangent at rest."""
    node, frame = placed(rod, settled(rod))
    return node[-1], frame[-1][:, 2]


def with_end_force(rod, force):
    weight = rod.weight.copy()
    weight[-1] = force
    return rod._replace(weight=weight)


def heavy(elements, weight, frame=FLAT):
    rod = elastica(elements, frame)
    return rod._replace(weight=np.outer(weight * rod.span, [0.0, 0.0, -1.0]))


def quarter_circle(elements, load):
    rod = with_end_force(elastica(elements), [0.0, -load, 0.0])
    natural = np.zeros((elements, 3))
    # axis 2 is z: a positive turn swings the tangent from x to y
    natural[:, 1] = 0.5 * math.pi / elements
    return rod._replace(natural=natural)


@pytest.mark.parametrize("load", TIP_LOAD)
def test_dead_tip_load(load):
    node, tangent = tip(with_end_force(elastica(40), [0.0, load, 0.0]))
    w, u, angle = TIP_LOAD[load]
    assert node[1] == pytest.approx(w, rel=1e-3)
    assert 1.0 - node[0] == pytest.approx(u, rel=2e-3)
    assert math.atan2(tangent[1], tangent[0]) == pytest.approx(angle, rel=1e-3)
    assert abs(node[2]) < 1e-12


@pytest.mark.parametrize("load", FOLLOWER)
def test_follower_tip_load(load):
    # along axis 1 of the tip, which starts along y
    node, tangent = tip(elastica(60)._replace(follower=np.array([load, 0.0, 0.0])))
    w, u, angle = FOLLOWER[load]
    assert node[1] == pytest.approx(w, rel=3e-3)
    assert 1.0 - node[0] == pytest.approx(u, rel=3e-3)
    assert math.atan2(tangent[1], tangent[0]) == pytest.approx(angle, rel=3e-3)


@pytest.mark.parametrize("weight", HEAVY)
def test_heavy_elastica(weight):
    node, tangent = tip(heavy(40, weight))
    w, x, angle = HEAVY[weight]
    assert -node[2] == pytest.approx(w, rel=2e-3)
    assert node[0] == pytest.approx(x, rel=2e-3)
    assert math.atan2(-tangent[2], tangent[0]) == pytest.approx(angle, rel=2e-3)


@pytest.mark.parametrize("load", QUARTER_CIRCLE)
def test_curved_rod_under_tip_load(load):
    node, tangent = tip(quarter_circle(40, load))
    x, y, angle = QUARTER_CIRCLE[load]
    assert node[:2] == pytest.approx([x, y], abs=3e-3 * math.hypot(x, y))
    assert math.atan2(tangent[1], tangent[0]) == pytest.approx(angle, rel=3e-3)


@pytest.mark.parametrize("share", [0.12, 0.25, 0.5, 0.75, 1.0])
def test_end_moment_rolls_the_rod_up(share):
    """x/L = sin m/m, y/L = (1 - cos m)/m; a whole turn closes the circle."""
    m = 2.0 * math.pi * share
    node, _ = tip(elastica(40)._replace(tip_moment=np.array([0.0, 0.0, m])))
    assert node[:2] == pytest.approx([math.sin(m) / m, (1.0 - math.cos(m)) / m], abs=1e-3)
    if share == 1.0:
        assert node == pytest.approx(np.zeros(3), abs=1e-6)


def test_twisting_moment_twists_by_the_torsional_stiffness():
    rod = elastica(20)._replace(tip_moment=np.array([0.7, 0.0, 0.0]))
    node, frame = placed(rod, settled(rod))
    assert node[-1] == pytest.approx([1.0, 0.0, 0.0], abs=1e-9)
    assert math.atan2(frame[-1][2, 0], frame[-1][1, 0]) == pytest.approx(0.7, rel=1e-6)


ORDERS = {
    "tip load": lambda n: (tip(with_end_force(elastica(n), [0.0, 5.0, 0.0]))[0][1], 0.713792),
    "follower": lambda n: (
        tip(elastica(n)._replace(follower=np.array([5.0, 0.0, 0.0])))[0][1],
        0.78069,
    ),
    "heavy": lambda n: (-tip(heavy(n, 10.0))[0][2], 0.7002),
    "curved": lambda n: (tip(quarter_circle(n, 2.0))[0][1], 0.142783),
    "end moment": lambda n: (
        tip(elastica(n)._replace(tip_moment=np.array([0.0, 0.0, 1.0])))[0][1],
        1.0 - math.cos(1.0),
    ),
}


@pytest.mark.parametrize("problem", ORDERS)
def test_rest_shapes_converge_with_the_square_of_the_element_length(problem):
    sizes = np.array([6, 9, 14, 20])
    errors = [np.subtract(*ORDERS[problem](int(n))) for n in sizes]
    assert observed_order(1.0 / sizes, errors) == pytest.approx(2.0, abs=0.15)


def test_clamp_moment_of_the_heavy_rod_is_weight_times_arm():
    """Root moment M L/EI at q = 5 (recomputed, problem of Rohde 1953)."""
    rod = heavy(40, 5.0)
    angle = settled(rod)
    node, _ = placed(rod, angle)
    arm = -np.sum(rod.weight[:, 2] * node[:, 0])
    # the first hinge is half an element out, so that the clamp sees a little more
    hinge = np.abs(rod.stiffness[0, 1] * angle[0, 1])
    assert arm == pytest.approx(2.22689, rel=2e-3)
    assert hinge == pytest.approx(arm - 5.0 * 0.5 / 40, rel=2e-3)


def dragged(elements=20, cauchy=20.0):
    """Return a rod across the stream with Ca = rho C_D b U^2 L^3/(2 EI) at unit speed."""
    across = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    rod = elastica(elements, across)
    drag = np.zeros((elements, 4))
    drag[:, 0] = cauchy
    return rod._replace(drag=drag)


# Reconfiguration of a blade across a stream, exact balance of normal drag, tension and bending,
# recomputed (problem of Gosselin, de Langre & Machado-Almeida 2010, J. Fluid Mech. 650:319,
# and Luhar & Nepf 2011, Limnol. Oceanogr. 56:2003): height and reach over length.
FOLD_BACK = {1.0: (0.99152, 0.12153), 5.0: (0.89019, 0.42441), 20.0: (0.68030, 0.67788)}


@pytest.mark.parametrize("cauchy", FOLD_BACK)
def test_blade_across_a_stream_folds_back(cauchy):
    rod = dragged(40, cauchy)
    rest = rest_branch(rod, np.linspace(0.1, 1.0, 10), X)[-1]
    assert rest.found
    node, _ = placed(rod, rest.angle)
    assert node[-1, [2, 0]] == pytest.approx(FOLD_BACK[cauchy], rel=3e-3)


def test_branch_does_not_depend_on_how_many_speeds_it_takes():
    rod = dragged()
    many = rest_branch(rod, np.linspace(0.05, 1.0, 20), X)[-1]
    one = rest_branch(rod, np.array([1.0]), X)[0]
    assert one.angle == pytest.approx(many.angle, abs=1e-7)


def test_branch_goes_on_from_a_given_shape():
    rod = dragged()
    at_half, at_full = rest_branch(rod, np.array([0.5, 1.0]), X)
    onward = rest_branch(rod, np.array([1.0]), X, start=at_half.angle)[0]
    assert onward.angle == pytest.approx(at_full.angle, abs=1e-7)


def test_a_rest_shape_leaves_no_moment_unbalanced():
    rod, stream = dragged(), make_stream(1.0, X)
    rest = rest_branch(rod, np.array([1.0]), X)[0]
    idle = np.abs(at_rest(rod, stream, rod.natural).missing).max()
    assert np.abs(at_rest(rod, stream, rest.angle).missing).max() < 1e-8 * idle


def test_aligned_rod_in_a_stream_stays_straight():
    rod = elastica(10)._replace(drag=np.full((10, 4), 3.0))
    for rest in rest_branch(rod, np.array([0.0, 1.0, 3.0]), X):
        assert rest.found
        assert np.abs(rest.angle).max() < 1e-12


def test_broken_arithmetic_is_a_lost_branch_and_no_result():
    rod = elastica(10)._replace(drag=np.full((10, 4), np.nan))
    rests = rest_branch(rod, np.array([0.2, 0.4]), X)
    assert [rest.found for rest in rests] == [False, False]
    assert rests[-1].message.startswith("no rest shape in still water: ")


def buckled():
    """Return a rod pressed on its end by 1.3 times its buckling load pi^2 EI/(4 L^2)."""
    rod = with_end_force(elastica(12), [-1.3 * 0.25 * math.pi**2, 0.0, 0.0])
    stiffness = rod.stiffness * np.array([10.0, 1.0, 1.0])
    return rod._replace(stiffness=stiffness, drag=np.full((12, 4), 1e-3))


def test_a_pressed_rod_turns_aside_unless_it_is_kept_on_its_branch():
    rod, straight = buckled(), np.zeros((12, 3))
    aside = rest_branch(rod, np.array([0.5]), X, start=straight)[0]
    kept = rest_branch(rod, np.array([0.5]), X, start=straight, keep=True)[0]
    assert aside.aside
    assert np.abs(aside.angle).max() > 0.05
    assert kept.found
    assert not kept.aside
    assert kept.angle == pytest.approx(straight, abs=1e-12)


def test_a_shape_is_a_stray_if_both_its_neighbours_lie_elsewhere():
    straight = Rest(np.zeros((4, 3)), True)
    bent = Rest(np.full((4, 3), 0.1), True, aside=True)
    more = Rest(np.full((4, 3), 0.12), True, aside=True)
    assert strays(bent, straight, straight, turn)
    assert not strays(bent, straight, more, turn)
    assert not strays(bent, bent, straight, turn)
    assert not strays(replace(bent, aside=False), straight, straight, turn)
    assert not strays(bent, straight, replace(straight, found=False), turn)


def test_a_sample_between_two_stays_on_their_branch_and_says_what_stands_beside():
    rod = buckled()
    search = Growth(rod, 1.0, Law(1.0), X, 0.0)
    straight = Rest(np.zeros((12, 3)), True)
    bent = search.follow(np.array([0.6]), straight, 0.4)[0]
    kept = search.between(0.5, straight, 0.4, straight)
    assert kept.angle == pytest.approx(straight.angle, abs=1e-12)
    assert "at 0.5 m/s a stable rest shape stands beside" in kept.message
    gone = search.between(0.5, straight, 0.4, bent)
    assert gone.aside
    assert gone.message == ""


def test_make_stream_takes_any_sequence():
    stream = make_stream(2.0, (0.0, 0.6, 0.8), 0.5)
    assert stream.velocity == pytest.approx([0.0, 1.2, 1.6])
    assert stream.direction == pytest.approx([0.0, 0.6, 0.8])
    assert stream.shear == 0.5
