"""What the parts of a free lure do on its way, and the arrays kept of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.free.course import Trajectory, in_lure_axes, placed_nodes
from simsoft.core.arrays import Array
from simsoft.core.signals import angle_between, cycles, main_direction
from simsoft.geometry.body import body_stations
from simsoft.lure.assembly import Whole
from simsoft.lure.free_lure import FreeLure, length_on, rows_of
from simsoft.results.outcome import Outcome
from simsoft.results.result import Motion
from simsoft.scenarios.free.fall import STEP

DRIFT = 3.0  # [deg], of the mean pitch or roll, that is worth a word
MOVES = 0.01  # of a chain's length: a smaller tip path is no beat
PARTS = "march of the free lure, tip in the lure's axes; screening"


Outcomes = dict[str, Outcome]  # by part, "" for the whole lure


@dataclass(frozen=True)
class FreeDetail:
    """How finely a free lure is solved.

    Attributes
    ----------
    elements : int or None, of every chain
    step_factor : float, on the chosen step
    step : float or None [s], stated by the user
    extras : bool, trims and time series
    longest : float or None [s], end of a fall, where the fine run has said how long it takes
    """

    elements: int | None = None
    step_factor: float = 1.0
    step: float | None = None
    extras: bool = True
    longest: float | None = None

    def size(self) -> float:
        """Return the step [s]."""
        return (STEP if self.step is None else self.step) * self.step_factor


def tip_directions(lure: FreeLure, nodes: Array, name: str) -> Array:
    """Return the tip tangents (..., 3) of a chain from nodes (..., N, 3)."""
    rows = rows_of(lure, name)
    along = nodes[..., rows.stop - 1, :] - nodes[..., rows.stop - 2, :]
    return np.asarray(along / np.linalg.norm(along, axis=-1, keepdims=True))


def part_answers(
    lure: FreeLure, course: Trajectory, name: str, window: slice, *, during: str
) -> Outcome:
    """Return fold-back, stroke and rate of one chain over a stretch of a course.

    ``during`` names the stretch in the records ('fall', 'lift', 'drop', ...).
    """
    own = Outcome()
    rows = rows_of(lure, name)
    local = in_lure_axes(course)[window]
    tip = local[:, rows.stop - 1]
    fold = fold_back(lure, local, name)
    own.add("fold_back", fold, "deg", PARTS, during=during)
    length = length_on(lure, name)
    stroke, rate = beat(course.time[window], tip)
    own.add("stroke", stroke, "m", PARTS, during=during)
    if rate is not None and stroke > MOVES * length:
        own.add("flap_frequency", rate, "Hz", PARTS, during=during)
    else:
        reason = f"the tip wanders over {1e3 * stroke:.2g} mm without two full beats"
        own.lack("flap_frequency", "Hz", PARTS, reason, during=during)
    return own


def fold_back(lure: FreeLure, local: Array, name: str) -> float:
    """Return the angle [deg] between moulded and mean tip direction in the lure's axes.

    ``local`` (T, N, 3) [m] are the nodes in the lure's axes.
    """
    mean = tip_directions(lure, local, name).mean(axis=0)
    return math.degrees(angle_between(mean, tip_directions(lure, placed_nodes(lure), name)))


def still_turning(course: Trajectory, first: int) -> str:
    """Return a warning where pitch or roll still drift over the samples from ``first`` on.

    The mean vertical in the lure's axes over the two halves, more than three degrees apart.
    """
    upward = course.frames[first:, 2]
    half = len(upward) // 2
    drift = math.degrees(angle_between(upward[:half].mean(axis=0), upward[half:].mean(axis=0)))
    if drift < DRIFT:
        return ""
    return (
        f"pitch or roll still drift by {drift:.0f} degrees over the measured stretch of "
        f"{course.time[-1] - course.time[first]:.2g} s: give a longer duration"
    )


def beat(time: Array, path: Array) -> tuple[float, float | None]:
    """Return the peak-to-peak path [m] along its main direction and its rate [Hz], if it has one.

    Parameters
    ----------
    time : array (T,) [s]
    path : array (T, 3) [m]
    """
    signal = (path - path.mean(axis=0)) @ main_direction(path)
    found = cycles(time, signal)
    if len(found.stroke) < 2:
        return float(np.ptp(signal)), None
    return float(np.median(found.stroke)), 1.0 / float(np.mean(found.period))


def kept_motion(
    whole: Whole,
    lure: FreeLure,
    course: Trajectory,
    scenario: str,
    label: str,
    window: tuple[int, int],
    *,
    speed: float = 0.0,
    lead: Array | None = None,
    message: str = "",
) -> Motion:
    """Return the arrays of a course that a run keeps."""
    first, last = window
    return Motion(
        scenario=scenario,
        label=label,
        speed=speed,
        time=course.time,
        eye=course.position,
        frames=course.frames,
        centre=course.centre,
        attitude=np.degrees(course.attitude),
        roll=np.degrees(course.roll),
        line=course.line,
        lead=np.zeros((0, 3)) if lead is None else lead,
        chains=lure.names,
        first=tuple(int(k) for k in lure.first),
        nodes=course.nodes,
        outline=_outline(whole, lure),
        window=(float(course.time[first]), float(course.time[last - 1])),
        message=message,
        energy=course.energy,
        momentum_residual=course.momentum_residual,
    )


def _outline(whole: Whole, lure: FreeLure) -> Array:
    """Return the body from the side (points, 2) [m], x from the eye and z, stiff length only."""
    if whole.body is None:
        return np.zeros((0, 2))
    stations = body_stations(whole.body, slices=60)
    start, end = whole.stiff
    kept = (stations.x >= start) & (stations.x <= end)
    x, half = stations.x[kept] - lure.origin[0], 0.5 * stations.height[kept]
    z = -lure.origin[2]
    upper = np.column_stack([x, z + half])
    return np.vstack([upper, np.column_stack([x, z - half])[::-1], upper[:1]])
