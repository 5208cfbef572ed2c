"""Free fall of a lure in still water, from release to its steady (or unsteady) descent.

``fall(build_free(whole))`` is all that is needed; everything is SI and pure. The march is the
truth of the model; ``solve/trim.py`` finds all steady descents of the same lure, frozen in a
shape, and says which of them are stable.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from simsoft.case.model import LineInput
from simsoft.errors import SolveError
from simsoft.free import FreeLure
from simsoft.solve.rest import make_stream
from simsoft.solve.tree_base import FREE, Line
from simsoft.solve.tree_books import BOOK_NAMES, BOOKS
from simsoft.solve.tree_kernel import POSE_COLUMNS, State, advance_tree, begin
from simsoft.structure.rotation import quaternion_from_vector

Array = npt.NDArray[np.float64]

STEP = 1.0e-3  # [s]
SAMPLE = 0.01  # [s]
LONGEST = 20.0  # [s], of a fall that does not settle
HALVINGS = 3
LEAN = math.radians(1.0)  # roll and yaw at release: nothing is dropped perfectly straight
WINDOW_LENGTHS = 3.0  # body lengths fallen in one window of the settling test
SHORTEST_WINDOW, LONGEST_WINDOW = 0.4, 3.0  # [s]
SETTLED_SPEED = 0.01  # relative change of the mean sink rate between windows
SETTLED_TURN = math.radians(0.5)  # change of the mean attitude between windows
WOBBLE = math.radians(5.0)  # swing of the nose, peak to peak, that counts
SPIN = 0.3  # [rad/s] of steady heading change that counts as a spiral
GLIDE = math.radians(15.0)  # of the path off the vertical that counts as a glide
LINE_FRICTION = 0.01  # C_f of a line drawn along itself, Re 1e2-1e3 on the diameter (judgement)


@dataclass(frozen=True)
class Fall:
    """A fall and how it ended.

    Attributes
    ----------
    time : array (T,) [s], since release; samples are ``SAMPLE`` apart
    position : array (T, 3) [m], of the eye, from where it was released; z up
    frames : array (T, 3, 3), lure's axes as columns in the world
    twist : array (T, 6) [rad/s, m/s], of the eye in the lure's axes
    centre : array (T, 3) [m], of the moulded centre of mass
    nodes : array (T, N, 3) [m], nodes of all chains, see ``free.chain_slice``
    line : array (T, 3) [N], of the line on the eye
    attitude, roll, heading : array (T,) [rad], nose down positive; roll about the body's axis;
        heading without jumps
    sink_rate : float [m/s], mean over the last window, negative where it rises
    final_attitude : float [rad], mean over the last window
    glide : float [rad], of the path off the vertical, over the last window
    swing : float [rad], of the nose, peak to peak, over the last window
    turn_rate : float [rad/s], mean change of heading over the last window
    settled : bool, by the test in ``settle``
    settled_time, settled_depth : float or None [s], [m], when the speed came within 5 % of the
        final one and stayed there
    kind : 'steady', 'glides', 'spirals', 'wobbles' or 'stays'
    window : (int, int), samples of the last window
    energy : dict [J], books over the fall, 'residual' relative to the largest entry
    momentum_residual : float [-], momentum less impulse, over the largest of both
    step : float [s]
    """

    time: Array
    position: Array
    frames: Array
    twist: Array
    centre: Array
    nodes: Array
    line: Array
    attitude: Array
    roll: Array
    heading: Array
    sink_rate: float
    final_attitude: float
    glide: float
    swing: float
    turn_rate: float
    settled: bool
    settled_time: float | None
    settled_depth: float | None
    kind: str
    window: tuple[int, int]
    energy: dict[str, float]
    momentum_residual: float
    step: float


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


def at_rest(lure: FreeLure, tilt: float, shape: Array | None = None, lean: float = LEAN) -> State:
    """Return a lure at rest with its eye at the origin, nose down by ``tilt`` [rad].

    ``shape`` (N, 3) [rad] are the hinge angles, None for the moulded ones; ``lean`` [rad]
    is the roll and yaw at release.
    """
    n, chains = len(lure.tree.length), len(lure.names)
    quaternion = np.zeros((n, 4))
    for k in range(n):
        quaternion_from_vector(lure.tree.natural[k] if shape is None else shape[k], quaternion[k])
    turn = np.zeros(4)
    quaternion_from_vector(np.array([lean, -tilt, lean]), turn)
    wake = np.zeros((chains, 4))
    wake[:, 0] = 0.1
    return State(
        position=np.zeros(3),
        turn=turn,
        motion=np.zeros((3, 6)),
        quaternion=quaternion,
        hinges=np.zeros((4, n, 6)),
        wake=wake,
        books=np.zeros((2, BOOKS)),
        impulse=np.zeros((3, 3)),
    )


def _fall(
    lure: FreeLure, tilt: float, line: Line, longest: float, depth: float | None, step: float
) -> Fall | None:
    state = at_rest(lure, tilt)
    still = make_stream(0.0, np.array([1.0, 0.0, 0.0]))
    stride = max(1, round(SAMPLE / step))
    sample = stride * step
    rows = max(1, round(SHORTEST_WINDOW / sample))
    leads = np.zeros((rows * stride, 3, 3))
    begin(lure.tree, still, line, leads[0], state)
    poses: list[Array] = []
    nodes: list[Array] = []
    while True:
        pose = np.zeros((rows, POSE_COLUMNS))
        node = np.zeros((rows, len(lure.tree.length), 3))
        done = advance_tree(
            lure.tree, still, line, leads, step, rows * stride, stride, state, pose, node
        )
        if done < rows * stride or not np.all(np.isfinite(pose)):
            return None
        poses.append(pose)
        nodes.append(node)
        history = np.concatenate(poses)
        time = sample * np.arange(1.0, len(history) + 1)
        settled, window = settle(lure, time, history)
        deep = depth is None or abs(history[-1, 2]) >= depth
        if (settled and deep) or time[-1] >= longest:
            break
    return _measured(lure, time, history, np.concatenate(nodes), settled, window, state, step)


def frames_of(history: Array) -> Array:
    """Return frames (T, 3, 3) from the quaternions of a pose history."""
    w, x, y, z = history[:, 3:7].T
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ]
    return np.ascontiguousarray(np.moveaxis(np.array(rows), 2, 0))


def velocities(history: Array, frames: Array, point: Array) -> Array:
    """Return world velocities (T, 3) [m/s] of a point (3,) [m] fixed to the base."""
    local = history[:, 10:13] + np.cross(history[:, 7:10], point)
    return np.asarray(np.einsum("tij,tj->ti", frames, local))


def angles_of(frames: Array) -> tuple[Array, Array, Array]:
    """Return nose-down angle, roll and heading [rad] of frames (T, 3, 3)."""
    attitude = np.arcsin(np.clip(frames[:, 2, 0], -1.0, 1.0))
    roll = np.arctan2(frames[:, 2, 1], frames[:, 2, 2])
    heading = np.unwrap(np.arctan2(-frames[:, 1, 0], -frames[:, 0, 0]))
    return attitude, roll, heading


def settle(lure: FreeLure, time: Array, history: Array) -> tuple[bool, tuple[int, int]]:
    """Return whether a fall repeats itself from window to window, and the last window.

    A window is the time to fall three lengths, 0.4 to 3 s. Settled when, over the last two
    windows, the mean sink rate changes by less than 1 % and the mean attitude by less than
    half a degree; a lure that hardly moves has settled after four of the longest windows.
    """
    frames = frames_of(history)
    speed = velocities(history, frames, lure.centre_of_mass)
    sample = time[1] - time[0]
    recent = float(np.mean(np.linalg.norm(speed[-round(SHORTEST_WINDOW / sample) :], axis=1)))
    span = WINDOW_LENGTHS * lure.length / max(recent, 1e-6)
    rows = round(min(max(span, SHORTEST_WINDOW), LONGEST_WINDOW) / sample)
    last = (max(0, len(time) - rows), len(time))
    if len(time) < 2 * rows:
        return False, last
    attitude = angles_of(frames)[0]
    now, before = slice(-rows, None), slice(-2 * rows, -rows)
    fresh, old = -float(speed[now, 2].mean()), -float(speed[before, 2].mean())
    turned = abs(float(attitude[now].mean() - attitude[before].mean()))
    still = max(abs(fresh), abs(old)) < 1.0e-3 and time[-1] > 4.0 * LONGEST_WINDOW
    same = abs(fresh - old) < SETTLED_SPEED * max(abs(fresh), 1.0e-9)
    return bool(still or (same and turned < SETTLED_TURN)), last


def _measured(
    lure: FreeLure,
    time: Array,
    history: Array,
    nodes: Array,
    settled: bool,
    window: tuple[int, int],
    state: State,
    step: float,
) -> Fall:
    frames = frames_of(history)
    speed = velocities(history, frames, lure.centre_of_mass)
    attitude, roll, heading = angles_of(frames)
    centre = history[:, :3] + frames @ lure.centre_of_mass
    part = slice(*window)
    mean = speed[part].mean(axis=0)
    nose = -frames[part, :, 0]
    middle = nose.mean(axis=0)
    middle /= max(float(np.linalg.norm(middle)), 1e-12)
    swing = 2.0 * float(np.max(np.arccos(np.clip(nose @ middle, -1.0, 1.0))))
    turn_rate = float(
        (heading[part][-1] - heading[part][0]) / max(time[part][-1] - time[part][0], 1e-9)
    )
    level = math.cos(float(attitude[part].mean()))
    glide = math.atan2(math.hypot(mean[0], mean[1]), abs(mean[2]))
    when = _reached(time, -speed[:, 2], -float(mean[2]))
    energy, momentum = books_closed(state)
    return Fall(
        time=time,
        position=history[:, :3],
        frames=frames,
        twist=history[:, 7:13],
        centre=centre,
        nodes=nodes,
        line=history[:, 13:16],
        attitude=attitude,
        roll=roll,
        heading=heading,
        sink_rate=-float(mean[2]),
        final_attitude=float(attitude[part].mean()),
        glide=glide,
        swing=swing,
        turn_rate=turn_rate,
        settled=settled,
        settled_time=None if when is None else float(time[when]),
        settled_depth=None if when is None else float(centre[0, 2] - centre[when, 2]),
        kind=_kind(mean, glide, swing, turn_rate * level),
        window=window,
        energy=energy,
        momentum_residual=momentum,
        step=step,
    )


def _reached(time: Array, rate: Array, final: float) -> int | None:
    """Return the first sample from which the sink rate stays within 5 % of the final one."""
    off = np.flatnonzero(np.abs(rate - final) > 0.05 * abs(final))
    first = 0 if off.size == 0 else int(off[-1]) + 1
    return first if first < len(time) - 1 else None


def _kind(mean: Array, glide: float, swing: float, spin: float) -> str:
    if float(np.linalg.norm(mean)) < 1.0e-3:
        return "stays"
    if abs(spin) > SPIN:
        return "spirals"
    if swing > WOBBLE:
        return "wobbles"
    return "glides" if glide > GLIDE else "steady"


def books_closed(state: State) -> tuple[dict[str, float], float]:
    """Return the energy books [J] with their relative residual, and that of the momentum.

    For a march that began at rest in the moulded shape.
    """
    totals = np.concatenate([state.books[1, :2], state.books[0, 2:]])
    named = {name: float(value) for name, value in zip(BOOK_NAMES, totals, strict=True)}
    work = sum(value for name, value in named.items() if name.endswith("_work"))
    gained = named["kinetic"] + named["elastic"]
    largest = max(max(abs(value) for value in named.values()), 1e-15)
    named["residual"] = (gained - work + named["damping_loss"]) / largest
    momentum, impulse, _ = state.impulse
    missing = float(np.linalg.norm(momentum - impulse))
    return named, missing / max(
        float(np.linalg.norm(momentum)), float(np.linalg.norm(impulse)), 1e-15
    )
