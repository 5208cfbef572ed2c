"""A plate on a rod's end: tangents, stiff limits against the rigid paddle, books and order."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from simsoft.bodies.paddle.equilibrium import StemRest, clamp_load_of_stem, stem_branch
from simsoft.bodies.paddle.link import end_of
from simsoft.bodies.paddle.modes import STILL, jacobian, linearised_stem, out_of_shape, stem_modes
from simsoft.bodies.paddle.setup import prepare_stem
from simsoft.bodies.paddle.stability import StemGrowth
from simsoft.bodies.paddle.stepper import advance_stem
from simsoft.bodies.paddle.time_march import _kicked, _Run, march_stem
from simsoft.bodies.rod.equilibrium import make_stream, rest_branch
from simsoft.bodies.rod.modes import natural_modes
from simsoft.bodies.rod.setup import prepare_rod
from simsoft.bodies.rod.shapes import tip_of
from simsoft.bodies.rod.stability import Growth
from simsoft.bodies.rod.tangents import at_rest, turned_by
from simsoft.bodies.rod.time_march import march_rod
from simsoft.case.read import load
from simsoft.lure.parts import Specimen, assemble, values_of
from simsoft.lure.rod_model import without_fluid_load
from simsoft.solvers.limit_cycle import beat_of_march
from simsoft.solvers.time_march import TimeStep
from simsoft.validate.stem_checks import strip_cut_in_two

CASES = Path(__file__).parents[3] / "cases"
ALONG = np.array([1.0, 0.0, 0.0])
SPEED, ELEMENTS = 0.3, 6  # where the growth is no small difference of two large ones
STREAM = make_stream(SPEED, ALONG)
AT_SPEED = ([SPEED], ALONG, 0.0)
FAST = 0.6  # where one motion settles, not two side by side
FAST_STREAM = make_stream(FAST, ALONG)
STIFF = 1.0e4
BEAT = 8.0  # [Hz], near to that of the demo kicker


def stiffened(plate, share):
    names = ("law", "bend", "shear", "director")
    return plate._replace(**{name: share * getattr(plate, name) for name in names})


@pytest.fixture(scope="module")
def rigid():
    lure = assemble(load(CASES / "paddle_100.toml"))
    strip = lure.strips[0]
    return prepare_rod(
        Specimen(strip, lure.water, values_of(strip), gravity=True, elements=ELEMENTS)
    )


@pytest.fixture(scope="module")
def bent():
    lure = assemble(load(CASES / "paddle_100.toml", ["parts.tail.model=plate"]))
    strip = lure.strips[0]
    return prepare_stem(
        Specimen(strip, lure.water, values_of(strip), gravity=True, elements=ELEMENTS)
    )


@pytest.fixture(scope="module")
def stiff(bent):
    """The same with a plate that cannot bend."""
    plate = stiffened(bent.model.plate, STIFF)
    return replace(bent, model=replace(bent.model, plate=plate))


def test_tangent_is_the_slope_of_the_residual(bent):
    shape = (bent.resting(), STREAM)
    rest = stem_branch(bent.resting(), *AT_SPEED, bent.still)[0]
    assert rest.found
    found = jacobian(linearised_stem(*shape, rest.angle, rest.state), STREAM, rest.angle)
    hinges, free = rest.angle.size, bent.model.free
    for k in range(0, len(found), 11):
        pair = []
        is_place = k >= hinges and free[k - hinges] % 6 < 3
        size = 1.0e-8 if is_place else 1.0e-6
        for sign in (1.0, -1.0):
            step = np.zeros(len(found))
            step[k] = sign * size
            state = rest.state.copy()
            state.flat[free] += step[hinges:]
            angle = turned_by(rest.angle, step[:hinges].reshape(-1, 3))
            pair.append(out_of_shape(*shape, angle, state)[1])
        slope = (pair[0] - pair[1]) / (2.0 * size)
        np.testing.assert_allclose(found[:, k], slope, atol=2e-4 * np.abs(slope).max())


def test_a_stiff_plate_hangs_as_the_rigid_paddle_does(rigid, stiff):
    expected = rest_branch(rigid.resting_rod(), np.array([SPEED]), ALONG)[0]
    found = stem_branch(stiff.resting(), *AT_SPEED, stiff.still)[0]
    moulded = tip_of(rigid.rod, rigid.rod.natural)[1]
    frame, _ = end_of(stiff.model.rod, found.angle)
    fold = [np.arccos(t @ moulded) for t in (tip_of(rigid.rod, expected.angle)[1], frame[:, 2])]
    assert fold[1] == pytest.approx(fold[0], rel=2e-3)
    loads = [
        at_rest(rigid.resting_rod(), STREAM, expected.angle).load,
        clamp_load_of_stem(stiff.resting(), STREAM, found),
    ]
    np.testing.assert_allclose(loads[1], loads[0], rtol=5e-3, atol=1e-3 * np.abs(loads[0]).max())


def test_a_bending_plate_folds_further_and_drags_less(rigid, bent):
    stiff_fold, soft_fold = (
        np.arccos(tangent @ tip_of(rigid.rod, rigid.rod.natural)[1])
        for tangent in (
            tip_of(rigid.rod, rest_branch(rigid.resting_rod(), np.array([SPEED]), ALONG)[0].angle)[
                1
            ],
            end_of(
                bent.model.rod,
                stem_branch(bent.resting(), *AT_SPEED, bent.still)[0].angle,
            )[0][:, 2],
        )
    )
    assert 1.0 < soft_fold / stiff_fold < 1.05


def test_wet_modes_of_a_stiff_plate_are_those_of_the_rigid_paddle(rigid, stiff):
    modulus, _ = stiff.material(1.0)
    still = stiff.still
    moving = stiff.moving(still, STILL, modulus, 0.0)
    dry = moving._replace(rod=without_fluid_load(moving.rod))
    found = stem_modes(dry, still.angle, still.state, 4)
    disc = without_fluid_load(rigid.moving_rod(rigid.still.angle, STILL, 1.0))
    expected = natural_modes(disc, rigid.still.angle, 4)
    np.testing.assert_allclose(found.frequency, expected.frequency, rtol=0.02)
    assert found.kind == expected.kind


def test_a_strip_cut_in_two_has_the_cantilevers_frequencies():
    found = strip_cut_in_two(0.05, 10)
    np.testing.assert_array_less(
        np.abs(np.divide(found, [3.5160, 22.0345, 61.6972]) - 1.0), [2e-3, 1e-2, 2e-2]
    )


def test_small_motions_in_the_stream_are_those_of_the_rigid_paddle(rigid, stiff):
    growth = StemGrowth(stiff, ALONG, 0.0)
    rest = stem_branch(stiff.resting(), *AT_SPEED, stiff.still)[0]
    found = growth.at(SPEED, rest)
    old = Growth(rigid.rod, rigid.resting_modulus, rigid.material, ALONG, 0.0)
    expected = old.at(SPEED, rest_branch(rigid.resting_rod(), np.array([SPEED]), ALONG)[0])
    assert found.growth == pytest.approx(expected.growth, rel=0.03)
    assert found.frequency == pytest.approx(expected.frequency, rel=0.02)


def marched(ready, **more):
    modulus, time = ready.material(BEAT)
    rest = stem_branch(ready.resting(), [FAST], ALONG, 0.0, ready.still)[0]
    moving = ready.moving(rest, FAST_STREAM, modulus, time)
    return march_stem(
        moving, time, FAST_STREAM, rest, frequency=BEAT, step=TimeStep(7.0), longest=4.0, **more
    )[0]


def test_a_stiff_plate_beats_as_the_rigid_paddle_does(rigid, stiff):
    rest = rest_branch(rigid.resting_rod(), np.array([FAST]), ALONG)[0].angle
    rod = rigid.moving_rod(rest, FAST_STREAM, BEAT)
    old = march_rod(rod, FAST_STREAM, rest, frequency=BEAT, step=TimeStep(7.0), longest=4.0)
    moulded = tip_of(rigid.rod, rigid.rod.natural)[1]
    expected = beat_of_march(moulded, old, ALONG)
    found = beat_of_march(moulded, marched(stiff).march, ALONG)
    assert found.march.settled
    assert expected.march.settled
    assert found.frequency == pytest.approx(expected.frequency, rel=0.01)
    assert found.stroke == pytest.approx(expected.stroke, rel=0.02)
    assert found.drag == pytest.approx(expected.drag, rel=0.01)


def test_books_of_a_bending_plate_close(bent):
    found = marched(bent)
    assert found.march.settled
    assert abs(found.march.energy["residual"]) < 1e-3
    assert found.march.energy["damping_loss"] > 0.0


def test_march_is_of_second_order_in_the_step(bent):
    modulus, time = bent.material(BEAT)
    rest = stem_branch(bent.resting(), *AT_SPEED, bent.still)[0]
    moving = bent.moving(rest, STREAM, modulus, time)
    begun, _ = _flown(moving, time, _kicked(moving, rest), 1.0e-4, 4000, 4000)
    paths = [
        _flown(moving, time, begun, 4.0e-3 / 2**halving, 50 * 2**halving, 2**halving)[1]
        for halving in range(3)
    ]
    order = np.log2(np.abs(paths[0] - paths[1]).max() / np.abs(paths[1] - paths[2]).max())
    assert 1.8 < order < 2.4


def _flown(moving, time, begun, step, steps, stride):
    """Return where a march of so many steps stands, and the plate's places on the way."""
    run = _Run(moving, time, STREAM, step)
    state = type(begun)(*(part.copy() for part in begun))
    n, nodes, rows = len(moving.rod.length), len(moving.model.local), steps // stride
    places = np.zeros((rows, nodes, 3))
    made, _ = advance_stem(
        moving.rod, STREAM, run.leaf(state), step, (steps, stride, 0), True, state,
        np.zeros((rows, 13)), np.zeros((rows, n, 6)), places,
    )  # fmt: skip
    assert made == steps
    return state, places


def test_a_rest_shape_that_is_lost_says_so(bent):
    soft = replace(bent, resting_modulus=bent.resting_modulus / 300.0)
    begin = StemRest(bent.still.angle, bent.still.state, True)
    found = stem_branch(soft.resting(), (0.1, 3.0), ALONG, 0.0, begin)
    assert not found[-1].found
    assert "rest shape lost at" in found[-1].message


def test_a_weakened_stream_bends_as_the_slower_one_does(bent):
    """A body ahead leaves 0.8 of the speed: a shape at 0.5 m/s is the one at 0.4 m/s."""
    slower = stem_branch(bent.resting(), [0.4], ALONG, 0.0, bent.still)[0]
    behind = stem_branch(bent.resting(), [0.5], 0.8 * ALONG, 0.0, bent.still)[0]
    np.testing.assert_allclose(behind.angle, slower.angle, rtol=0.0, atol=1e-7)
    later = stem_branch(bent.resting(), [0.5], 0.8 * ALONG, 0.0, slower, 0.495)[0]
    np.testing.assert_allclose(later.state, slower.state, rtol=0.0, atol=1e-7)
