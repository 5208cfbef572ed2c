"""A body that nothing holds: its equations of motion, and its fall in water on tiny grids."""

import math

import numpy as np
import pytest
from tanks import ball_domain, ball_form, ball_poses, free_ball

from simsoft.resolved.fall import UP, falling_of, released_axes
from simsoft.resolved.free_body import FreeBody, follow_home, ran_away, start_loose, step_loose
from simsoft.resolved.job import Settings, read_tuple, write_tuple
from simsoft.resolved.keep import keep_point, kept_point
from simsoft.resolved.processor import ProcessorFlow
from simsoft.resolved.run import empty_history, first_rows, march_flow

COARSE = Settings(cells=8, pace=0.06, across=4.0, ahead=2.0, behind=3.0, stride=3, hold=0.0,
                  longest=1.0, memory=8)  # fmt: skip


def heavy_top(**changes):
    body = FreeBody(
        mass=2.0, inertia=np.diag([1.0, 2.0, 3.5]), virtual=np.zeros((6, 6)), weight=0.0,
        buoyancy=0.0, buoyancy_at=np.zeros(3), up=UP, axes=np.eye(3),
    )  # fmt: skip
    return body._replace(**changes)


def march_dry(body, loose, step, steps):
    for _ in range(steps):
        loose = step_loose(body, loose, step)
    return loose


def test_a_body_that_turns_freely_keeps_its_momentum_and_energy():
    body = heavy_top()
    loose = start_loose(body, np.zeros(3), np.zeros(3), 4)
    loose = loose._replace(twist=np.array([0.3, 1.0, 0.2, 0.1, 0.0, -0.2]))
    spin = loose.twist[:3]
    before, energy = body.inertia @ spin, 0.5 * spin @ body.inertia @ spin
    later = march_dry(body, loose, 0.01, 2000)
    spin = later.twist[:3]
    assert later.axes @ body.inertia @ spin == pytest.approx(before, abs=2e-3)
    assert 0.5 * spin @ body.inertia @ spin == pytest.approx(energy, rel=2e-3)
    assert later.axes @ later.axes.T == pytest.approx(np.eye(3), abs=1e-9)
    assert later.axes @ later.twist[3:] == pytest.approx([0.1, 0.0, -0.2], abs=1e-3)


def test_weight_and_added_mass_set_the_first_acceleration():
    virtual = np.diag([0.0, 0.0, 0.0, 1.0, 1.0, 1.0])
    body = heavy_top(weight=5.0, buoyancy=2.0, virtual=virtual)
    later = march_dry(body, start_loose(body, np.zeros(3), np.zeros(3), 4), 0.01, 1)
    assert later.twist[3:] == pytest.approx([-0.01 * 3.0 / 3.0, 0.0, 0.0])


def test_buoyancy_above_the_centre_of_mass_swings_a_body_like_a_pendulum():
    body = heavy_top(weight=4.0, buoyancy=4.0, buoyancy_at=np.array([0.0, 0.0, 0.5]),
                     axes=released_axes(0.05, 0.0, 0.0))  # fmt: skip
    step, period = 0.01, 2.0 * math.pi / math.sqrt(4.0 * 0.5 / 2.0)
    loose = start_loose(body, np.zeros(3), np.zeros(3), 4)
    half = march_dry(body, loose, step, round(0.5 * period / step))
    assert half.axes[:, 0] @ UP == pytest.approx(-math.sin(0.05), rel=0.01)


@pytest.mark.parametrize("tilt", [-0.4, 0.0, 0.7])
def test_nose_down_is_a_positive_tilt(tilt):
    axes = released_axes(tilt, 0.0, 0.0)
    nose = -axes[:, 0]
    assert nose @ UP == pytest.approx(-math.sin(tilt))
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert axes[:, 2] @ UP == pytest.approx(math.cos(tilt))


def test_the_box_follows_by_whole_cells_and_no_more_than_once():
    loose = start_loose(heavy_top(), np.zeros(3), np.zeros(3), 4)
    loose = loose._replace(centre=np.array([2.6, -0.4, 0.0]))
    moved, cells = follow_home(loose, np.zeros(3), 1.0)
    assert cells == (3, 0, 0)
    assert follow_home(moved, np.zeros(3), 1.0)[1] == (0, 0, 0)


def test_a_body_that_goes_too_far_in_a_step_or_nowhere_known_has_run_away():
    here = start_loose(heavy_top(), np.zeros(3), np.zeros(3), 4)
    there = here._replace(centre=np.array([0.0, 0.3, 0.4]))
    assert not ran_away(here, there, 0.51)
    assert ran_away(here, there, 0.49)
    assert ran_away(here, here._replace(centre=np.full(3, np.nan)), 0.51)


def test_a_box_that_is_moved_shows_the_same_water_elsewhere():
    domain = ball_domain()
    flow = ProcessorFlow(domain, ball_form(), np.zeros((1, 3), np.float32))
    flow.advance(ball_poses(6))
    before = flow.populations().copy()
    flow.shift((2, -1, 3))
    after = flow.populations()
    assert np.array_equal(after[:, 1:10, 2:10, 5:40], before[:, 4:13, 1:9, 7:42])
    assert np.array_equal(after[:, :, :, -1], after[:, :, :, -3])


@pytest.fixture(scope="module")
def dropped():
    """A ball hardly heavier than water, let go."""
    job = free_ball(1.05)
    return job, march_flow(job, COARSE, ProcessorFlow)


def creeping_fall(job, time):
    """Return the speed of a ball from rest: added mass, the force of Basset, drag of the day.

    Basset 1888 for the history, Schiller & Naumann 1933 for the drag (Clift, Grace & Weber 1978).
    """
    size, body = job.size, job.body
    viscosity = job.viscosity * job.density
    mass = body.mass + job.density * np.pi * size**3 / 12.0
    basset = 1.5 * size**2 * math.sqrt(math.pi * viscosity * job.density)
    step = time[1] - time[0]
    speed, change = np.zeros(len(time)), np.zeros(len(time))
    for i in range(1, len(time)):
        past = np.arange(1, i)
        weight = 2.0 * (np.sqrt(time[i] - time[past - 1]) - np.sqrt(time[i] - time[past]))
        drag = 3.0 * math.pi * viscosity * size
        drag *= 1.0 + 0.15 * (speed[i - 1] * size / job.viscosity) ** 0.687
        force = body.weight - body.buoyancy - basset * weight @ change[1:i] - drag * speed[i - 1]
        change[i] = force / (mass + 2.0 * basset * math.sqrt(step) + drag * step)
        speed[i] = speed[i - 1] + step * change[i]
    return speed


def test_a_light_ball_gathers_speed_as_added_mass_and_basset_say(dropped):
    """8 cells are 10 % slow, 10 are 9 %, 16 are 4 %: it converges on the exact motion."""
    job, (_, point, _) = dropped
    history = first_rows(point.history, point.row)
    fallen = job.speed * history.time - history.centre[:, 0, 0]
    speed = np.gradient(fallen, history.time)
    time = np.linspace(0.0, history.time[-1], 500)
    exact = np.interp(history.time, time, creeping_fall(job, time))
    middle = (history.time > 0.3 * job.size / job.pace) & (history.time < 0.9 * job.size / job.pace)
    assert np.mean(speed[middle] / exact[middle]) == pytest.approx(0.93, abs=0.05)


def test_a_ball_falls_straight_and_the_box_stays_with_it(dropped):
    job, (grid, point, _) = dropped
    away = point.loose.centre - job.centre - grid.cell * point.loose.shifted
    assert np.abs(away).max() <= 0.51 * grid.cell
    assert abs(point.loose.shifted[0]) >= 3
    assert np.abs(point.loose.centre[1:]).max() < 0.02 * job.size


def test_a_stopped_fall_goes_on_to_the_bit(tmp_path):
    job, settings = free_ball(1.05), COARSE._replace(cells=4, longest=0.8)
    path = tmp_path / "fall.h5"

    def stop(point, rows, flow):
        keep_point(path, job, settings, point, flow.populations())
        return False

    march_flow(job, settings, ProcessorFlow, stop, 8)
    again = march_flow(job, settings, ProcessorFlow, start=kept_point(path, job, settings))[1]
    whole = march_flow(job, settings, ProcessorFlow)[1]
    assert whole.row > 8
    assert np.array_equal(again.history.centre, whole.history.centre)


def test_a_job_of_a_free_body_travels_through_its_file(tmp_path):
    import h5py

    job = free_ball(1.2)
    with h5py.File(tmp_path / "job.h5", "w") as file:
        write_tuple(file.create_group("job"), job)
    with h5py.File(tmp_path / "job.h5", "r") as file:
        back = read_tuple(file["job"])
    assert back.body.mass == job.body.mass
    assert np.array_equal(back.body.virtual, job.body.virtual)


def test_a_fall_is_read_off_its_history():
    rows = 400
    time = np.linspace(0.01, 4.0, rows)
    history = empty_history(rows, 1)._replace(time=time)
    history.axes[:, 0] = released_axes(math.radians(30.0), 0.0, 0.0)
    history.centre[:, 0, 0] = (0.5 - 0.2) * time
    history.centre[:, 0, 1] = 0.2 * time
    found = falling_of(history, 0.5)
    assert found.sink_rate == pytest.approx(0.2)
    assert found.glide_angle == pytest.approx(45.0)
    assert found.attitude == pytest.approx(30.0)
    assert found.depth == pytest.approx(0.2 * 3.99)
    assert abs(found.roll) < 1e-6
    assert found.wobble < 1e-9
