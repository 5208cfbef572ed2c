"""Wake shed by a plate that stands across the stream: oscillators that shift its pressure.

The analogue of a paddle's (``hydrodynamics/paddle.py``), one oscillator for each chord of the
planform, along it and across it. What a wake does is a moment about the middle of the area,

    M_i = -rho/2 V^2 sin a A D_i C_i q_i/2,   C_i = C_M0 min(1, D_j/D_i)^2,

laid on as a pressure that grows straight along the chord, along the local normals. V and the
incidence a are means over the plate. Vortices leave the long sides of an oblong plate, so the
moment about its short middle line is taken off with the square of the ratio of its chords: a
judgement. A disc or a square has two oscillators of equal strength.

The attached flow already knows where its own lift sits. The wake acts on what has stalled: times
the share of the attached flow that is lost, one square on and nothing edge on. Its steady part in
the rest shape is taken off, so that rest shapes are those of drag and attached flow alone.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.plate.flow import Flow, _at_panel, holds
from simsoft.hydrodynamics.plate.oscillator import advance_wake, wake_of_flow

PUSH, RATE, TARGET = 0, 1, 2  # columns of a drive
MOST_PARTS = 1000.0  # of a step, in which a stiff wake is advanced
FARTHEST_WAKE = 2.0  # of a wake state, amplitude of its own limit cycle (van der Pol)
FIRST_WAKE = 0.1  # of a wake state, first disturbance, as of a paddle


class Wake(NamedTuple):
    """Arrays of a plate's wake; row or column i is along (0) or across (1) the planform.

    Attributes
    ----------
    lever : array (E, 2) [1/m^3], pressure of an element for a unit moment
    chord : array (2,) [m]
    moment : array (2,) [-], C_i; zero for none
    push : float [kg/m], rho/2 A
    normal_force : float [-], C_N square on
    centre : float [-], k_cp
    strouhal, growth : float [-]
    steady : array (2,) [N m], moments taken off
    """

    lever: Array
    chord: Array
    moment: Array
    push: float
    normal_force: float
    centre: float
    strouhal: float
    growth: float
    steady: Array


def make_wake(plan: Array, flow: Flow, density: float, values: dict[str, float]) -> Wake:
    """Return the wake arrays of a planform (n, 2) [m] in water of a density [kg/m^3].

    ``values`` holds ``normal_drag``, ``centre_of_pressure``, ``strouhal``, ``wake_growth`` and
    ``wake_moment``; where the last is missing or zero, nothing is shed.
    """
    place = np.einsum("ea,eax->ex", flow.middle, plan[flow.quads])
    arm = place - np.average(place, axis=0, weights=flow.area)
    chord = np.ptp(plan, axis=0)
    share = np.minimum(1.0, chord[::-1] / chord) ** 2
    return Wake(
        lever=np.ascontiguousarray(arm / (flow.area @ arm**2)),
        chord=np.ascontiguousarray(chord),
        moment=values.get("wake_moment", 0.0) * share,
        push=0.5 * density * float(flow.area.sum()),
        normal_force=values["normal_drag"],
        centre=values.get("centre_of_pressure", 0.0),
        strouhal=values.get("strouhal", 0.0),
        growth=values.get("wake_growth", 0.0),
        steady=np.zeros(2),
    )


def no_wake() -> Wake:
    """Return the wake of a plate that sheds nothing."""
    return Wake(np.zeros((0, 2)), np.ones(2), np.zeros(2), 0.0, 0.0, 0.0, 0.0, 0.0, np.zeros(2))


@kernel()
def sheds(wake: Wake) -> bool:
    """Return whether anything is shed."""
    return bool(wake.moment[0] > 0.0 or wake.moment[1] > 0.0)


@kernel()
def wake_drive(
    wake: Wake, flow: Flow, state: Array, rate: Array, water: Array, drive: Array
) -> None:
    """Write for both chords moment per wake state, shedding rate and quasi-steady state (2, 3).

    Parameters
    ----------
    wake, flow : Wake, Flow
    state, rate : array (n, 6)
    water : array (n, 3) [m/s]
    drive : array (2, 3) [N m], [rad/s], [-], overwritten
    """
    drive[:] = 0.0
    relative = rate[:, :3] - water
    one, normal, velocity, along = np.empty(3), np.zeros(3), np.zeros(3), np.zeros(3)
    for p in range(flow.quads.shape[0]):
        quad, area = flow.quads[p], flow.area[p]
        _at_panel(flow.middle[p], quad, state, 3, one)
        normal += area * one
        _at_panel(flow.middle[p], quad, relative, 0, one)
        velocity += area * one
        _at_panel(flow.along[p], quad, state, 0, one)
        along += area * one
    velocity = velocity / flow.area.sum()
    size, speed = math.sqrt((normal**2).sum()), math.sqrt((velocity**2).sum())
    if size <= 0.0 or speed <= 0.0:
        return
    normal = normal / size
    along = along - (along * normal).sum() * normal
    along = along / math.sqrt((along**2).sum())
    across = np.cross(normal, along)
    through = float((velocity * normal).sum())
    lost = stalled(flow, normal, velocity, along)
    for i in range(2):
        axis = along if i == 0 else across
        ahead = float((velocity * axis).sum()) / speed
        drive[i, RATE], drive[i, TARGET] = wake_of_flow(
            speed, abs(through) / speed, ahead, wake.chord[i], wake.strouhal,
            wake.normal_force, wake.centre, wake.moment[i],
        )  # fmt: skip
        drive[i, PUSH] = -0.5 * wake.push * speed * through * wake.chord[i] * wake.moment[i] * lost


@kernel()
def stalled(flow: Flow, normal: Array, velocity: Array, along: Array) -> float:
    """Return the share of the attached flow that is lost, 1 square on or where there is none."""
    if flow.attached <= 0.0 or flow.stall <= 0.0:
        return 1.0 - flow.attached
    most = 1.0 - 1.0 / (1.0 + flow.stall**-4)
    return float(min(1.0, (1.0 - holds(flow.stall, normal, velocity, along)) / most))


@kernel()
def add_wake_force(
    wake: Wake, flow: Flow, drive: Array, state: Array, wakes: Array, force: Array
) -> None:
    """Add the force (n, 6) [N] of wake states (2,) on the nodes, by the drive (2, 3)."""
    one = np.empty(3)
    for p in range(flow.quads.shape[0]):
        pressure = 0.0
        for i in range(2):
            pressure += wake.lever[p, i] * (drive[i, PUSH] * wakes[i] - wake.steady[i])
        pull = pressure * flow.area[p]
        _at_panel(flow.middle[p], flow.quads[p], state, 3, one)
        for a in range(4):
            for j in range(3):
                force[flow.quads[p, a], j] += flow.middle[p, a] * pull * one[j]


@kernel()
def push_by_wakes(
    wake: Wake, flow: Flow, state: Array, rate: Array, water: Array, wakes: Array, force: Array
) -> None:
    """Add the force (n, 6) [N] of wake states (2,) on a moving plate, if it sheds."""
    if not sheds(wake):
        return
    drive = np.empty((2, 3))
    wake_drive(wake, flow, state, rate, water, drive)
    add_wake_force(wake, flow, drive, state, wakes, force)


@kernel()
def push_by_free_wakes(
    wake: Wake, flow: Flow, state: Array, rate: Array, water: Array, wakes: Array, force: Array
) -> None:
    """Add the force (n, 6) [N] of what wake states (2,) are beyond their quasi-steady ones.

    A plate that falls or is carried about has no rest shape whose steady moment could be taken
    off once and for all. Toward a quasi-steady state that no shed wake reaches it fades out: at
    such an incidence the oscillator is only slow, and its lag means nothing (a judgement).
    Arguments as in ``push_by_wakes``.
    """
    if not sheds(wake):
        return
    drive, excess = np.empty((2, 3)), np.empty(2)
    wake_drive(wake, flow, state, rate, water, drive)
    for i in range(2):
        target = drive[i, TARGET]
        excess[i] = max(0.0, 1.0 - (target / FARTHEST_WAKE) ** 2) * (wakes[i] - target)
    add_wake_force(wake, flow, drive, state, excess, force)


@kernel()
def let_go(shed: Array) -> None:
    """Put wakes (2, 4) whose quasi-steady state none reaches to that state, at rest."""
    for i in range(2):
        if abs(shed[i, 3]) > FARTHEST_WAKE:
            shed[i, 0], shed[i, 1] = shed[i, 3], 0.0


@kernel()
def _advanced(
    q: float,
    q_rate: float,
    growth: float,
    before: tuple[float, float],
    after: tuple[float, float],
    step: float,
) -> tuple[float, float]:
    """Advance a wake state by ``paddle.advance_wake`` in as many parts as its damping asks for.

    Edge on the quasi-steady state of a plate is many times that of a wake that sheds, and its
    damping grows with the square.
    """
    farthest = max(q * q, before[1] ** 2, after[1] ** 2)
    stiff = growth * max(before[0], after[0]) * farthest * step
    parts = 1 + int(min(stiff, MOST_PARTS))
    begin = before
    for k in range(parts):
        share = (k + 1.0) / parts
        end = (
            before[0] + share * (after[0] - before[0]),
            before[1] + share * (after[1] - before[1]),
        )
        q, q_rate = advance_wake(q, q_rate, growth, begin, end, step / parts)
        begin = end
    return q, q_rate


@kernel()
def foretell(wake: Wake, shed: Array, step: float, wakes: Array) -> None:
    """Write the wake states (2,) a step [s] on under the drive of the last step.

    ``shed`` (2, 4) holds states, their rates, and shedding rate and quasi-steady state of the last
    step, as of a paddle.
    """
    if not sheds(wake):
        return
    for i in range(2):
        before = (shed[i, 2], shed[i, 3])
        wakes[i] = _advanced(shed[i, 0], shed[i, 1], wake.growth, before, before, step)[0]


@kernel()
def step_wakes(
    wake: Wake, flow: Flow, state: Array, rate: Array, water: Array, shed: Array, step: float
) -> None:
    """Advance the wakes ``shed`` (2, 4) to the end of a step [s] that ends in this motion."""
    if not sheds(wake):
        return
    drive = np.empty((2, 3))
    wake_drive(wake, flow, state, rate, water, drive)
    for i in range(2):
        after = (drive[i, RATE], drive[i, TARGET])
        before = (shed[i, 2], shed[i, 3])
        shed[i, 0], shed[i, 1] = _advanced(shed[i, 0], shed[i, 1], wake.growth, before, after, step)
        shed[i, 2], shed[i, 3] = after


def begin_wakes(wake: Wake, flow: Flow, state: Array, water: Array) -> tuple[Wake, Array]:
    """Return the wake with its steady moment in a rest shape (n, 6) taken off, and its states.

    The states (2, 4) are those of the rest shape, disturbed a little; see ``foretell``.
    """
    drive = np.zeros((2, 3))
    wake_drive(wake, flow, state, np.zeros_like(state), water, drive)
    shed = np.zeros((2, 4))
    shed[:, 0] = drive[:, TARGET] + FIRST_WAKE
    shed[:, 2:] = drive[:, RATE:]
    return wake._replace(steady=drive[:, PUSH] * drive[:, TARGET]), shed
