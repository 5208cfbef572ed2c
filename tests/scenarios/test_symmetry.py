"""Mirrors, turned frames, scale and a moving observer: what must not change the answer."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from physics import Flight, X, bare_rod, case_of, placed, ribbon, rotation, strip_part

from simsoft.bodies.rod.equilibrium import make_stream, rest_branch
from simsoft.bodies.rod.stability import find_onset
from simsoft.case.model import LoadsInput, PaddleInput, Taper
from simsoft.lure.parts import Specimen, assemble, law_of, values_of
from simsoft.lure.rod_model import build_rod, with_material

N = 8
POLAR, AXIAL = np.array([1.0, -1.0, 1.0]), np.array([-1.0, 1.0, -1.0])  # mirror y -> -y


def paddle_tail(**changes):
    """Return the rod of a small paddle tail with its wake and all its loads."""
    part = strip_part(
        kind="paddle-tail",
        length=0.015,
        width=Taper((0.0, 1.0), (0.005, 0.005)),
        thickness=Taper((0.0, 1.0), (0.002, 0.002)),
        paddle=PaddleInput("disc", 0.015, 0.015, 0.003, math.radians(84.0), 0.001),
        loads=LoadsInput(munk=0.5),
        **changes,
    )
    lure = assemble(case_of(part, modulus=150e3, density=1100.0))
    strip = lure.strips[0]
    values = values_of(strip)
    rod = build_rod(Specimen(strip, lure.water, values, gravity=True, elements=N))
    return with_material(rod, values["modulus"], 1e-3)


def spatial_rod(**changes):
    """Return a rod without paddle that bends, twists and feels every section load."""
    rod = bare_rod(
        (20.0, 1.0, 0.8),
        (1.0, 0.02, 0.01),
        (1.0, 0.2, 0.02),
        elements=N,
        drag=(3.0, 1.0, 0.2, 0.02),
        damping_time=0.02,
    )
    weight = np.outer(rod.span, [0.0, 0.0, -1.5])
    fields = {"weight": weight, "tip_moment": np.array([0.02, 0.1, -0.05])} | changes
    return rod._replace(**fields)


def disturbed(size=0.3, seed=4):
    return np.random.default_rng(seed).normal(0.0, size / N, (N, 3))


# The frame axes 1, 2, 3 of the downstream clamp are y, z, x. A mirror turns rotations about
# axes in its plane (2 and 3) the other way and keeps the one about its normal (1).
MIRRORED_TURN = np.array([1.0, -1.0, -1.0])


@pytest.mark.parametrize("with_paddle", [False, True])
def test_mirrored_start_gives_the_mirrored_motion(with_paddle):
    rod = paddle_tail() if with_paddle else spatial_rod(tip_moment=np.zeros(3))
    stream = make_stream(0.5, X)
    step = 2e-4 if with_paddle else 2e-3
    paths = []
    for mirror in (np.ones(3), MIRRORED_TURN):
        flight = Flight(rod, stream, disturbed() * mirror, shed=with_paddle)
        paths.append(flight.fly(step, 600))
    one, other = paths
    mirrored = np.concatenate([POLAR, POLAR, POLAR, AXIAL, [-1.0]])
    assert np.ptp(one[:, 1]) > 1e-2 * rod.length.sum()
    for columns in (slice(0, 3), slice(3, 6), slice(6, 9), slice(9, 12), slice(12, 13)):
        scale = np.abs(one[:, columns]).max() + 1e-300
        assert other[:, columns] * mirrored[columns] == pytest.approx(
            one[:, columns], abs=1e-9 * scale
        )


def turned(rod, turn):
    """Return a rod with clamp, weights and moments turned together."""
    return rod._replace(
        frame=turn @ rod.frame,
        weight=rod.weight @ turn.T,
        root_weight=turn @ rod.root_weight,
        tip_moment=turn @ rod.tip_moment,
        root=turn @ rod.root,
        paddle=rod.paddle._replace(weight=turn @ rod.paddle.weight),
    )


turn_vectors = st.tuples(*(st.floats(-3.0, 3.0) for _ in range(3)))


@settings(deadline=None, max_examples=15)
@given(turn_vectors, st.booleans())
def test_turning_everything_turns_the_motion(vector, with_paddle):
    rod = paddle_tail() if with_paddle else spatial_rod()
    turn = rotation(vector)
    step = 2e-4 if with_paddle else 2e-3
    histories = []
    for body, direction in ((rod, X), (turned(rod, turn), turn @ X)):
        flight = Flight(body, make_stream(0.5, direction), disturbed(), shed=with_paddle)
        histories.append(flight.fly(step, 200))
    for column in (0, 3, 6, 9):
        plain = histories[0][:, column : column + 3] @ turn.T
        found = histories[1][:, column : column + 3]
        assert found == pytest.approx(plain, abs=1e-9 * np.abs(plain).max())
    assert histories[1][:, 12] == pytest.approx(histories[0][:, 12], abs=1e-9)


@settings(deadline=None, max_examples=10)
@given(turn_vectors)
def test_turning_everything_turns_the_rest_shape(vector):
    rod, turn = spatial_rod(), rotation(vector)
    other = turned(rod, turn)
    speeds = np.array([0.4, 0.8])
    plain = rest_branch(rod, speeds, X)[-1]
    found = rest_branch(other, speeds, turn @ X)[-1]
    assert plain.found
    assert found.found
    node = placed(rod, plain.angle)[0]
    assert placed(other, found.angle)[0] == pytest.approx(node @ turn.T, abs=1e-6)


def ribbon_onset(scale):
    """Return the first crossing of a ribbon with all lengths and its damping time scaled."""
    part = strip_part(
        kind="ribbon",
        length=0.06 * scale,
        width=Taper((0.0, 1.0), (0.006 * scale, 0.004 * scale)),
        thickness=Taper((0.0, 1.0), (0.0006 * scale, 0.0005 * scale)),
        loads=LoadsInput(),
        bending="blend",
    )
    lure = assemble(case_of(part, modulus=120e3, loss_factor=None, kelvin_voigt_time=1e-3 * scale))
    strip = lure.strips[0]
    values = values_of(strip)
    rod = build_rod(Specimen(strip, lure.water, values, gravity=False, elements=20))

    law = law_of(strip, values)
    return find_onset(rod, values["modulus"], law, np.geomspace(0.4, 0.9, 6), X).crossings[0]


@pytest.mark.parametrize("scale", [0.4, 3.0])
def test_start_speed_is_free_of_size_and_frequency_goes_with_one_over_it(scale):
    """Without weight, at equal modulus and speed, damping time in proportion."""
    one, other = ribbon_onset(1.0), ribbon_onset(scale)
    assert one.frequency > 0.1
    assert other.speed == pytest.approx(one.speed, rel=3e-4)
    assert other.frequency * scale == pytest.approx(one.frequency, rel=1e-3)


@pytest.mark.parametrize("speed", [1.0, 4.0])
def test_without_reactive_force_and_drag_the_stream_has_no_effect(speed):
    """Galileo: added mass then goes with the motion over ground, whatever the observer does."""
    rod = spatial_rod(reactive=0.0, drag=np.zeros((N, 4)))
    paths = [
        Flight(rod, make_stream(u, np.array([0.6, 0.0, 0.8])), disturbed()).fly(2e-3, 500)
        for u in (0.0, speed)
    ]
    assert np.ptp(paths[0][:, 1]) > 0.05
    assert paths[1] == pytest.approx(paths[0], abs=1e-9 * np.abs(paths[0]).max())


def test_the_same_stream_matters_once_the_reactive_force_is_on():
    rod = spatial_rod(drag=np.zeros((N, 4)))
    paths = [Flight(rod, make_stream(u, X), disturbed()).fly(2e-3, 200) for u in (0.0, 1.0)]
    assert np.abs(paths[1] - paths[0]).max() > 1e-2


def test_a_planar_start_stays_planar():
    rod = ribbon(0.5, N, span=0.5, normal_drag=1.8, damping_time=0.01)
    start = disturbed() * [0.0, 1.0, 0.0]
    history = Flight(rod, make_stream(6.0, X), start).fly(1e-3, 1000)
    assert np.ptp(history[:, 1]) > 1e-2
    assert np.abs(history[:, 2]).max() == 0.0
