"""Small boxes of water and small jobs that the tests of the resolved flow share."""

import numpy as np

from simsoft.resolved.domain import Domain
from simsoft.resolved.free_body import FreeBody
from simsoft.resolved.job import Job, Path3, Settings
from simsoft.resolved.pieces import BODY_LINK, CLAMP, form, no_pieces, with_piece
from simsoft.resolved.solids import ELLIPSOID, Form

TINY = Settings(
    cells=4, pace=0.05, across=3.0, ahead=2.0, behind=2.0, stride=2, hold=0.5, longest=1.5
)


def ball_domain(sides=(0.5, 0.5), window=(10, 30, 1, 15, 1, 15)):
    return Domain((70, 16, 16), 0.05, 0.05 * 4 / 100, 0.1, sides, window)


def ball_form(diameter=4.0):
    return np.array([Form(ELLIPSOID, *(3 * [diameter / 2]), 0, 0, 0, diameter / 2)], np.float32)


def ball_poses(steps=2, centre=(20.37, 7.6, 7.4), velocity=(0.01, 0.0, 0.0)):
    poses = np.zeros((steps, 1, 18), np.float32)
    for k in range(steps):
        poses[k, 0, :3] = np.array(centre) + k * np.array(velocity)
    poses[:, 0, 3:12] = np.eye(3).ravel()
    poses[:, 0, 12:15] = velocity
    return poses


def ball_job(*, speed=0.5, reynolds=100.0, forced=None, still=False):
    size = 0.01
    place = size * np.array([0.013, 0.009, 0.006])
    pieces = with_piece(no_pieces(), form(ELLIPSOID, *(3 * [size / 2])), CLAMP, place, np.eye(3))
    return Job(
        name="ball", pieces=pieces, rod=None, shape=np.zeros((0, 4)), rate=np.zeros((0, 3)),
        forced=forced, speed=0.0 if still else speed, pace=speed, size=size, density=1000.0,
        viscosity=speed * size / reynolds, centre=np.zeros(3), ramp=np.zeros((0, 2)),
    )  # fmt: skip


def surge(job, rate, amplitude):
    sway = np.array([amplitude * job.size, 0.0, 0.0])
    path = Path3(rate * job.pace / job.size, sway, np.zeros(3), np.zeros(3))
    return job._replace(forced=path)


def free_ball(density_ratio, *, galileo=90.0, size=0.01):
    """A ball let go in still water; Galileo number by gravity, water of 1000 kg/m^3."""
    gravity, volume = 9.80665, np.pi * size**3 / 6.0
    water = 1000.0 * volume
    mass = density_ratio * water
    scale = np.sqrt((density_ratio - 1.0) * gravity * size)
    job = ball_job(speed=scale, reynolds=galileo)
    pieces = job.pieces._replace(link=np.array([BODY_LINK]), offset=np.zeros((1, 3)))
    body = FreeBody(
        mass=mass, inertia=0.1 * mass * size**2 * np.eye(3),
        virtual=np.diag([0.0, 0.0, 0.0, 0.5 * water, 0.5 * water, 0.5 * water]),
        weight=mass * gravity, buoyancy=water * gravity, buoyancy_at=np.zeros(3),
        up=np.array([1.0, 0.0, 0.0]), axes=np.eye(3),
    )  # fmt: skip
    return job._replace(name="ball", pieces=pieces, body=body)


TAIL = """
title = "small tail"
[water]
density = "1000 kg/m^3"
viscosity = "0.001 Pa s"
[material]
youngs_modulus = "200 kPa"
density = "1030 kg/m^3"
loss_factor = 0.16
[[parts]]
name = "tail"
kind = "paddle-tail"
length = "11 mm"
width = "5 mm"
thickness = "2.4 mm"
paddle_shape = "disc"
paddle_diameter = "15 mm"
paddle_thickness = "3 mm"
paddle_angle = "90 deg"
paddle_offset = "6 mm"
[[scenarios]]
name = "stream"
kind = "retrieve"
speed = ["0.5 m/s"]
gravity = false
"""
