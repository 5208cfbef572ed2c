"""Free fall of a lure in still water, from release to its steady (or unsteady) descent.

``fall(build_free(whole))`` is all that is needed; everything is SI and pure. The march is the
truth of the model; ``bodies/free/equilibrium.py`` finds all steady descents of the same lure,
frozen in a shape, and says which of them are stable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np

from simsoft.bodies.free.base_step import FREE, Line
from simsoft.bodies.free.course import (
    Trajectory,
    course_of,
    pose_frames,
    started_books,
    state_at_rest,
    velocities,
)
from simsoft.bodies.free.step import POSE_COLUMNS, State
from simsoft.bodies.free.time_march import start_march
from simsoft.case.model import LineInput
from simsoft.core.arrays import Array
from simsoft.core.errors import SolveError
from simsoft.core.signals import angle_between
from simsoft.lure.free_lure import FreeLure

STEP = 1.0e-3  # [s]
SAMPLE = 0.01  # [s]
LONGEST = 10.0  # [s], of a fall that does not settle
HALVINGS = 3
WINDOW_LENGTHS = 3.0  # body lengths fallen in one window of the settling test
SHORTEST_WINDOW, LONGEST_WINDOW = 0.4, 3.0  # [s]
SETTLED_SPEED = 0.01  # relative change of the mean sink rate between windows
SETTLED_TURN = math.radians(1.0)  # change of the mean vertical in the lure's axes
SETTLED_SPIN = 0.1  # relative change of the spin between windows
STILL_SPIN = 0.1  # [rad/s], spin that no longer matters
REACHED = 0.05  # of the final sink rate, within which the lure is at speed
WOBBLE = math.radians(5.0)  # swing of the nose, peak to peak, that counts
SPIN = 0.5  # [rad/s] of steady turning about the vertical that counts
STEEP = math.radians(60.0)  # of the nose, past which turning is a spin, not a spiral
GLIDE = math.radians(15.0)  # of the path off the vertical that counts as a glide
LINE_FRICTION = 0.01  # C_f of a line drawn along itself, Re 1e2-1e3 on the diameter (judgement)


@dataclass(frozen=True)
class Fall(Trajectory):
    """A fall and how it ended; the eye's position is from where it was released.

    Attributes
    ----------
    sink_rate : float [m/s], mean over the last window, negative where it rises
    final_attitude : float [rad], mean over the last window
    glide : float [rad], of the path off the vertical, over the last window
    swing : float [rad], of the nose, peak to peak, over the last window; of its pitch alone where
        the lure turns about the vertical
    turn_rate : float [rad/s], mean turning about the vertical over the last window
    lean : float [rad], the largest roll about the body's own axis, from the release on
    settled : bool, by the test in ``fall_settles``
    settled_time, settled_depth : float or None [s], [m], when the speed came within 5 % of the
        final one and stayed there
    released : float [m], height of the centre of mass at release
    release : float [m/s^2], its acceleration then, downward
    kind : 'steady', 'glides', 'wobbles', 'spirals', 'spins' (nose or tail down) or 'stays'
    window : (int, int), samples of the last window
    """

    sink_rate: float
    final_attitude: float
    glide: float
    swing: float
    turn_rate: float
    lean: float
    settled: bool
    settled_time: float | None
    settled_depth: float | None
    released: float
    release: float
    kind: str
    window: tuple[int, int]


def fall(
    lure: FreeLure,
    *,
    tilt: float = 0.0,
    line: LineInput | None = None,
    longest: float = LONGEST,
    depth: float | None = None,
    step: float = STEP,
    water_density: float = 1000.0,
) -> Fall:
    """Let a lure go from rest and follow it until its fall repeats itself.

    Parameters
    ----------
    lure : FreeLure
    tilt : float [rad], nose-down angle at release
    line : LineInput or None, its steady pull and its friction; None for a slack line without
    longest : float [s], end if it has not settled
    depth : float or None [m], followed at least that far, if ``longest`` allows
    step : float [s], halved where the march diverges
    water_density : float [kg/m^3], for the friction of the line

    Raises
    ------
    SolveError
        If the march diverges even with an eighth of the step.
    """
    for attempt in range(HALVINGS + 1):
        size = step / 2**attempt
        found = _fall(lure, tilt, slack_line(line, water_density), longest, depth, size)
        if found is not None:
            return found
    raise SolveError(f"the fall diverged with a step of {step / 2**HALVINGS:.1e} s")


def slack_line(line: LineInput | None, water_density: float) -> Line:
    """Return a line that pulls steadily and rubs along itself."""
    if line is None:
        return Line(FREE, np.zeros(3), 0.0, 1.0, 0.0, 0.0)
    rub = 0.5 * water_density * LINE_FRICTION * math.pi * line.diameter * line.length
    return Line(FREE, line.tension * np.asarray(line.direction), rub, line.length, 0.0, 0.0)


def _fall(
    lure: FreeLure, tilt: float, line: Line, longest: float, depth: float | None, step: float
) -> Fall | None:
    state = state_at_rest(lure, tilt)
    stride = max(1, round(SAMPLE / step))
    sample = stride * step
    rows = max(1, round(SHORTEST_WINDOW / sample))
    leads = np.zeros((rows * stride, 3, 3))
    march = start_march(lure, line, leads[0], state, step)
    started = started_books(state)
    release = _release(lure, state)
    poses: list[Array] = []
    nodes: list[Array] = []
    while True:
        pose = np.zeros((rows, POSE_COLUMNS))
        node = np.zeros((rows, march.rows, 6))
        if not march.advance(leads, stride, pose, node):
            return None
        poses.append(pose)
        nodes.append(node)
        history = np.concatenate(poses)
        time = sample * np.arange(1.0, len(history) + 1)
        settled, window = fall_settles(lure, time, history)
        deep = depth is None or abs(history[-1, 2]) >= depth
        if (settled and deep) or time[-1] >= longest:
            break
    course = course_of(march, time, history, np.concatenate(nodes), started)
    return _measured(lure, course, history, settled, window, release)


def _release(lure: FreeLure, state: State) -> tuple[float, float]:
    """Return height [m] and downward acceleration [m/s^2] of the centre of mass at release."""
    up = pose_frames(np.array([[0.0, 0.0, 0.0, *state.turn]]))[0, 2]
    turning, moving = state.motion[2, :3], state.motion[2, 3:]
    acceleration = moving + np.cross(turning, lure.centre_of_mass)
    return float(up @ lure.centre_of_mass), -float(up @ acceleration)


def fall_settles(lure: FreeLure, time: Array, history: Array) -> tuple[bool, tuple[int, int]]:
    """Return whether a fall repeats itself from window to window, and the last window.

    A window is the time to fall three lengths, 0.4 to 3 s. Settled when, over the last two
    windows, the mean sink rate changes by less than 1 %, pitch and roll (the mean vertical in
    the lure's axes) by less than a degree, and swing and turning (root mean square of the spin)
    by less than a tenth or next to nothing; a lure that hardly moves has settled after four of
    the longest windows.
    """
    frames = pose_frames(history)
    speed = velocities(history, frames, lure.centre_of_mass)
    sample = time[1] - time[0]
    recent = float(np.mean(np.linalg.norm(speed[-round(SHORTEST_WINDOW / sample) :], axis=1)))
    span = WINDOW_LENGTHS * lure.length / max(recent, 1e-6)
    rows = round(min(max(span, SHORTEST_WINDOW), LONGEST_WINDOW) / sample)
    last = (max(0, len(time) - rows), len(time))
    if len(time) < 2 * rows:
        return False, last
    now, before = slice(-rows, None), slice(-2 * rows, -rows)
    fresh, old = -float(speed[now, 2].mean()), -float(speed[before, 2].mean())
    turned = angle_between(frames[now, 2].mean(axis=0), frames[before, 2].mean(axis=0))
    spin = [float(np.sqrt(np.mean(history[part, 7:10] ** 2))) for part in (now, before)]
    steady = abs(spin[0] - spin[1]) < max(SETTLED_SPIN * spin[0], STILL_SPIN)
    still = max(abs(fresh), abs(old)) < 1.0e-3 and time[-1] > 4.0 * LONGEST_WINDOW
    same = abs(fresh - old) < SETTLED_SPEED * max(abs(fresh), 1.0e-9)
    return bool(still or (same and steady and turned < SETTLED_TURN)), last


def _measured(
    lure: FreeLure,
    course: Trajectory,
    history: Array,
    settled: bool,
    window: tuple[int, int],
    release: tuple[float, float],
) -> Fall:
    speed = velocities(history, course.frames, lure.centre_of_mass)
    attitude, centre = course.attitude, course.centre
    part = slice(*window)
    mean = speed[part].mean(axis=0)
    nose = -course.frames[part, :, 0]
    middle = nose.mean(axis=0)
    middle /= max(float(np.linalg.norm(middle)), 1e-12)
    upward = course.frames[part, 2, :]
    turn_rate = float(np.mean(np.sum(upward * course.twist[part, :3], axis=1)))
    swing = float(np.ptp(attitude[part]))
    if abs(turn_rate) <= SPIN:
        swing = max(swing, 2.0 * float(np.max(np.arccos(np.clip(nose @ middle, -1.0, 1.0)))))
    glide = math.atan2(math.hypot(mean[0], mean[1]), abs(mean[2]))
    time = course.time
    when = _reached(time, -speed[:, 2], -float(mean[2]))
    deep = None if when is None else release[0] - float(np.interp(when, time, centre[:, 2]))
    return Fall(
        **{item.name: getattr(course, item.name) for item in fields(Trajectory)},
        sink_rate=-float(mean[2]),
        final_attitude=float(attitude[part].mean()),
        glide=glide,
        swing=swing,
        turn_rate=turn_rate,
        lean=float(np.abs(course.roll).max()),
        settled=settled,
        settled_time=when,
        settled_depth=deep,
        released=release[0],
        release=release[1],
        kind=_kind(mean, glide, swing, turn_rate, abs(float(attitude[part].mean()))),
        window=window,
    )


def _reached(time: Array, rate: Array, final: float) -> float | None:
    """Return the time [s] from which the sink rate stays within 5 % of the final one."""
    missing = np.abs(np.concatenate([[0.0], rate]) - final) - REACHED * abs(final)
    last = int(np.flatnonzero(missing > 0.0)[-1]) if np.any(missing > 0.0) else 0
    if last >= len(time) - 1:
        return None
    begin = 0.0 if last == 0 else float(time[last - 1])
    share = max(float(missing[last]), 0.0) / max(float(missing[last] - missing[last + 1]), 1e-300)
    return begin + min(share, 1.0) * (float(time[last]) - begin)


def _kind(mean: Array, glide: float, swing: float, turn_rate: float, steepness: float) -> str:
    if float(np.linalg.norm(mean)) < 1.0e-3:
        return "stays"
    if abs(turn_rate) > SPIN:
        return "spins" if steepness > STEEP else "spirals"
    if swing > WOBBLE:
        return "wobbles"
    return "glides" if glide > GLIDE else "steady"
