"""The rod under given loads, and the way of its solids between two states."""

import math

import h5py
import numpy as np
import pytest
from tanks import TAIL

from simsoft.bodies.rod.modes import natural_modes
from simsoft.case.read import loads
from simsoft.core.signals import cycles
from simsoft.lure.parts import assemble, values_of
from simsoft.lure.rod_model import without_fluid_load
from simsoft.resolved.coupling import (
    Places,
    between,
    line_weights,
    loads_on_links,
    remember,
    ride,
    start_held,
    step_held,
)
from simsoft.resolved.job import Path3, forced_offset, ramped, read_tuple, write_tuple
from simsoft.resolved.tail import tail_job


def made_job(*changes):
    case = loads(TAIL, overrides=changes)
    lure = assemble(case)
    strip = lure.strips[0]
    return tail_job(
        strip, lure.water, values_of(strip), speed=0.5, modulus=2.0e5, damping_time=0.0,
        gravity=False, elements=8,
    )  # fmt: skip


@pytest.fixture(scope="module")
def job():
    return made_job()


@pytest.fixture(scope="module")
def centred():
    """A tail whose soft bending is a mode of its own, plucked so little that it stays linear."""
    job = made_job("parts.tail.paddle_offset=0 mm")
    return job._replace(rate=0.02 * job.rate)


def soft_bending(rod):
    modes = natural_modes(without_fluid_load(rod), np.zeros_like(rod.natural), 3)
    return modes.frequency[modes.kind.index("soft bending")]


def test_without_loads_the_rod_rings_at_its_natural_frequency(centred):
    dry = centred.rod._replace(fluid=np.zeros_like(centred.rod.fluid))
    expected = soft_bending(dry)
    step = 1.0 / expected / 400.0
    held = start_held(dry, centred.shape, centred.rate, 4)
    tip = []
    for _ in range(1600):
        assert step_held(dry, held, step)
        remember(dry, held, np.zeros((8, 6)), np.zeros((8, 6)))
        tip.append(held.node[-1, 1])
    seen = cycles(step * np.arange(len(tip)), np.array(tip))
    assert 1.0 / seen.period.mean() == pytest.approx(expected, rel=3e-3)


@pytest.mark.parametrize("memory", [8, 16])
def test_a_flow_that_answers_by_its_added_mass_makes_it_ring_as_in_water(centred, memory):
    """Loads of minus C times the mean acceleration, one step late, are what stays stable."""
    rod = centred.rod
    expected = soft_bending(rod)
    step = 1.0 / expected / 400.0
    held = start_held(rod, centred.shape, centred.rate, memory)
    tip = []
    for _ in range(1600):
        before = held.twist.copy()
        assert step_held(rod, held, step)
        change = (held.twist - before) / step
        loads_of_water = np.zeros((8, 6))
        for k in range(8):
            wrench = -rod.fluid[k] @ change[k]
            moment = wrench[:3] + np.cross([0, 0, 0.5 * rod.length[k]], -wrench[3:])
            loads_of_water[k, :3] = held.frame[k] @ wrench[3:]
            loads_of_water[k, 3:] = held.frame[k] @ moment
        remember(rod, held, loads_of_water, change)
        assert np.abs(held.past[0]).max() < 1e-9  # nothing is left over: they cancel
        tip.append(held.node[-1, 1])
    seen = cycles(step * np.arange(len(tip)), np.array(tip))
    assert 1.0 / seen.period.mean() == pytest.approx(expected, rel=3e-3)


def test_a_straight_line_through_past_loads_is_followed_exactly():
    for count in (1, 2, 5, 16):
        weights = line_weights(count, 1.5)
        past = 3.0 + 0.25 * -np.arange(count)
        expected = 3.0 + 0.25 * 1.5 if count > 1 else 3.0
        assert weights @ past == pytest.approx(expected)


def test_the_way_between_two_states_meets_both_and_their_velocities():
    angle = 0.2
    turn = np.array([[math.cos(angle), -math.sin(angle), 0], [math.sin(angle), math.cos(angle), 0],
                     [0, 0, 1.0]])  # fmt: skip
    first = Places(np.zeros((1, 3)), np.eye(3)[None].copy(), np.array([[1.0, 0, 0]]),
                   np.array([[0, 0, 10.0]]))  # fmt: skip
    last = Places(np.array([[0.03, 0.01, 0]]), turn[None].copy(), np.array([[2.0, 1.0, 0]]),
                  np.array([[0, 0, 9.0]]))  # fmt: skip
    poses = between(first, last, 0.02, 40)
    assert poses[-1, 0, :3] == pytest.approx([0.03, 0.01, 0.0], abs=1e-12)
    assert poses[-1, 0, 3:12].reshape(3, 3) == pytest.approx(turn, abs=1e-12)
    assert poses[-1, 0, 12:15] == pytest.approx([2.0, 1.0, 0.0], abs=1e-9)
    assert poses[-1, 0, 15:18] == pytest.approx([0.0, 0.0, 9.0], abs=1e-9)
    way = np.gradient(poses[:, 0, 0], 0.02 / 40)
    assert way[5:-5] == pytest.approx(poses[5:-5, 0, 12], rel=2e-3)


def test_the_paddle_rides_where_the_reduced_model_has_it(job):
    held = start_held(job.rod, job.shape, np.zeros_like(job.rate), 4)
    places = ride(job.rod, held, job.pieces.link, job.pieces.offset, job.pieces.axes)
    tip = job.rod.root + job.rod.frame @ np.array([0, 0, job.rod.length.sum()])
    assert places.centre[-1] == pytest.approx(tip + job.rod.frame @ job.rod.paddle.centre)


def test_loads_are_taken_to_the_nodes_with_their_moments():
    link, centre = np.array([-1, 0, 0]), np.array([[9.0, 9, 9], [0, 1, 0], [0, 0, 2.0]])
    loads_given = np.array([[5.0] * 6, [1, 0, 0, 0, 0, 0], [0, 1, 0, 0, 0, 3.0]])
    total = loads_on_links(link, centre, loads_given, np.zeros((1, 3)))
    assert total[0] == pytest.approx([1, 1, 0, -2, 0, 2])


def test_a_forced_motion_swells_without_a_jump_and_its_rate_is_its_slope():
    path = Path3(2.0, np.array([0.0, 0.01, 0.0]), np.array([0.0, 0.0, 0.3]), np.zeros(3))
    times = np.linspace(1e-4, 1.2, 4001)
    values = np.array([np.concatenate(forced_offset(path, t)) for t in times])
    assert np.gradient(values[:, 1], times)[3:-3] == pytest.approx(values[3:-3, 4], abs=2e-3)
    assert np.abs(values[0]).max() < 2e-3


def test_a_job_travels_through_its_file(job, tmp_path):
    with h5py.File(tmp_path / "job.h5", "w") as file:
        write_tuple(file.create_group("job"), job)
        back = read_tuple(file["job"])
    assert back.name == job.name
    assert back.forced is None
    assert np.array_equal(back.rod.stiffness, job.rod.stiffness)
    assert np.array_equal(back.rod.paddle.axes, job.rod.paddle.axes)
    assert np.array_equal(back.pieces.forms, job.pieces.forms)


def test_a_ramp_keeps_the_ratios_that_a_speed_changes(job):
    """Twice the speed: a quarter of stiffness and weight over its pressure, twice the damping."""
    rod = job.rod._replace(kelvin_voigt=0.003)
    fast = ramped(rod, 2.0)
    assert fast.stiffness == pytest.approx(rod.stiffness / 4.0)
    assert fast.kelvin_voigt == pytest.approx(0.006)
