"""From a whole lure to the job of its fall, and from the history of a fall to its numbers."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.errors import InputError
from simsoft.lure.assembly import MassProperties, Whole, mass_properties
from simsoft.lure.parts import GRAVITY
from simsoft.resolved.coupling import small_rotation
from simsoft.resolved.free_body import FreeBody
from simsoft.resolved.job import Job, Settings
from simsoft.resolved.pieces import BODY_LINK, no_pieces, with_body
from simsoft.resolved.run import History
from simsoft.resolved.tail import body_sections

UP = np.array([1.0, 0.0, 0.0])  # the water streams up past a falling body
NOSE_DRAG, SKIN_DRAG = 0.3, 0.02  # of a body falling along its axis, for a first guess alone
ROOM_BESIDE, ROOM_BELOW, ROOM_ABOVE = 8.0, 3.0, 5.0  # [size] of water around the ball of a body
WINDOW = 0.45  # share of a fall's end that is measured
FALL = Settings(cells=12, pace=0.05, hold=0.0, longest=120.0)
NUDGE = math.radians(2.0)  # roll and turn at the release: nobody lets go of a bait quite straight


class Falling(NamedTuple):
    """What a body does over the measured end of its fall; angles in degrees.

    Attributes
    ----------
    sink_rate : float [m/s]; sink_error : float [m/s], half the difference of the window's halves
    attitude : float, mean, nose down positive; wobble : float, peak to peak
    roll : float, mean turn about its own axis from upright, -180 to 180
    rolled : float, by which it has turned about its own axis from the release to the end
    glide_angle : float, of the mean path off the vertical
    turn_rate : float [deg/s], about the vertical
    depth : float [m], fallen in all
    """

    sink_rate: float
    sink_error: float
    attitude: float
    wobble: float
    roll: float
    rolled: float
    glide_angle: float
    turn_rate: float
    depth: float


def released_axes(tilt: float, roll: float = NUDGE, turn: float = NUDGE) -> Array:
    """Return the axes (3, 3) of a body let go nose down by ``tilt`` [rad], rolled and turned.

    Level, a body's own up is the world's ``UP`` and its nose points along -y.
    """
    level = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    turns = ((0.0, 0.0, turn), (0.0, -tilt, 0.0), (roll, 0.0, 0.0))
    axes: Array = level
    for vector in turns:
        axes = axes @ small_rotation(np.array(vector))
    return axes


def guessed_speed(found: MassProperties, density: float) -> float:
    """Return the speed [m/s] between a fall broadside and one along the axis.

    Raises
    ------
    InputError : the body does not sink
    """
    net = (found.mass - density * found.volume) * GRAVITY
    if net <= 0.0:
        raise InputError(["the body floats; a resolved fall needs one that sinks"])
    ahead, _, above = found.projected_areas
    broadside = math.sqrt(2.0 * net / (density * above))
    along = math.sqrt(2.0 * net / (density * (NOSE_DRAG * ahead + SKIN_DRAG * math.pi * above)))
    return math.sqrt(broadside * along)


def fall_job(name: str, whole: Whole, *, tilt: float = 0.0, speed: float | None = None) -> Job:
    """Return the job of the fall of a lure's body, stiff and alone, with its rig's mass.

    Hook and weights weigh and lie where they lie, but only the body stands in the flow.

    Parameters
    ----------
    name : str
    whole : Whole, with a body of elliptic sections
    tilt : float [rad], nose down at the release
    speed : float [m/s], what the flow is prepared for; None for a guess

    Raises
    ------
    InputError : no body, other sections than ellipses, parts that bend, or a body that floats
    """
    body = whole.body
    if body is None:
        raise InputError(["a resolved fall needs a [body]"])
    if body.section != "ellipse" or body.fullness is not None or body.measured is not None:
        raise InputError(["body.section: a resolved fall takes ellipses only"])
    if whole.strips:
        raise InputError(["a resolved fall takes a body alone, without parts"])
    water = whole.water
    found = mass_properties(whole)
    pieces = with_body(
        no_pieces(), -found.centre_of_mass, *body_sections(body), body.length, BODY_LINK
    )
    pace = guessed_speed(found, water.density) if speed is None else speed
    free = FreeBody(
        mass=found.mass,
        inertia=found.inertia,
        virtual=found.added_mass,
        weight=found.mass * GRAVITY,
        buoyancy=water.density * found.volume * GRAVITY,
        buoyancy_at=found.centre_of_buoyancy - found.centre_of_mass,
        up=UP,
        axes=released_axes(tilt),
    )
    return Job(
        name=name,
        pieces=pieces,
        rod=None,
        shape=np.zeros((0, 4)),
        rate=np.zeros((0, 3)),
        forced=None,
        speed=pace,
        pace=pace,
        size=body_size(body.height.values, body.width.values),
        density=water.density,
        viscosity=water.viscosity / water.density,
        centre=np.zeros(3),
        ramp=np.zeros((0, 2)),
        body=free,
    )


def body_size(heights: tuple[float, ...], widths: tuple[float, ...]) -> float:
    """Return the size [m] that cells are counted on: between largest height and width."""
    return math.sqrt(max(heights) * max(widths))


def roomy(job: Job, settings: Settings) -> Settings:
    """Return the settings with a box in which the body of a job may turn every way."""
    reach = np.linalg.norm(job.pieces.offset, axis=1) + job.pieces.forms[:, 7]
    ball = float(reach.max()) / job.size
    return settings._replace(
        across=2.0 * ball + ROOM_BESIDE, ahead=ball + ROOM_BELOW, behind=ball + ROOM_ABOVE
    )


def falling_of(history: History, speed: float) -> Falling:
    """Return what a fall came to; ``speed`` [m/s] is that of the stream of its job."""
    time, axes = history.time, history.axes[:, 0]
    place = history.centre[:, 0] - np.outer(time, [speed, 0.0, 0.0])
    along, aside, upright = axes[:, :, 0] @ UP, axes[:, :, 1] @ UP, axes[:, :, 2] @ UP
    pitch = np.degrees(np.arcsin(np.clip(along, -1.0, 1.0)))
    roll = np.degrees(np.unwrap(np.arctan2(aside, upright)))
    turn = np.degrees(np.unwrap(np.arctan2(axes[:, 2, 0], axes[:, 1, 0])))
    first = int(len(time) * (1.0 - WINDOW))
    middle = (first + len(time)) // 2
    lasted = time[-1] - time[first]
    way = place[-1] - place[first]
    early = (place[first, 0] - place[middle, 0]) / (time[middle] - time[first])
    late = (place[middle, 0] - place[-1, 0]) / (time[-1] - time[middle])
    level = float(np.mean(roll[first:]))
    return Falling(
        sink_rate=-way[0] / lasted,
        sink_error=0.5 * abs(late - early),
        attitude=float(pitch[first:].mean()),
        wobble=float(np.ptp(pitch[first:])),
        roll=(level + 180.0) % 360.0 - 180.0,
        rolled=float(roll[-1] - roll[0]),
        glide_angle=math.degrees(math.atan2(math.hypot(way[1], way[2]), -way[0])),
        turn_rate=(turn[-1] - turn[first]) / lasted,
        depth=-float(place[-1, 0] - place[0, 0]),
    )
