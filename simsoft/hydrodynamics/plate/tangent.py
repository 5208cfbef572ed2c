"""Slopes of the water's force on a plate with its state and rate, for implicit steps and rest.

Exact for a plate at rest that the water meets clamp first. In motion the slope of the stall with
the speed and of the added mass's force with the state are left out: the march iterates to the
exact force anyway.
"""

from __future__ import annotations

import math

import numpy as np

from simsoft.core.arrays import Array, Integers
from simsoft.core.compiled import kernel
from simsoft.hydrodynamics.plate.flow import Flow, _at_panel, holds


@kernel()
def flow_slopes(flow: Flow, state: Array, rate: Array, water: Array) -> tuple[Array, Array]:
    """Return the slopes (6 n, 6 n) of ``flow_force`` with the state and with the rate.

    Parameters
    ----------
    flow : Flow
    state, rate : array (n, 6)
    water : array (n, 3) [m/s]
    """
    count, size = flow.quads.shape[0], state.size
    by_state, by_rate = np.zeros((size, size)), np.zeros((size, size))
    relative = rate[:, :3] - water
    # four nodes a panel, place and director each: what a panel's normal velocity hangs on
    velocity_row, normal_row = np.empty((count, 4, 3)), np.empty((count, 4, 3))
    spin_row = np.empty((count, 4, 3))
    middle_velocity, middle_normal = np.empty((count, 4, 3)), np.empty((count, 4, 3))
    across, hold, steep = np.empty(count), np.ones(count), np.zeros(count)
    n, v, nd = np.empty(3), np.empty(3), np.empty(3)
    for p in range(count):
        quad = flow.quads[p]
        _at_panel(flow.inset[p], quad, state, 3, n)
        _at_panel(flow.inset[p], quad, relative, 0, v)
        _at_panel(flow.inset[p], quad, rate, 3, nd)
        across[p] = n[0] * v[0] + n[1] * v[1] + n[2] * v[2]
        for a in range(4):
            for i in range(3):
                velocity_row[p, a, i] = flow.inset[p, a] * n[i]
                normal_row[p, a, i] = flow.inset[p, a] * v[i]
                spin_row[p, a, i] = flow.inset[p, a] * nd[i]
        _at_panel(flow.middle[p], quad, state, 3, n)
        _at_panel(flow.middle[p], quad, relative, 0, v)
        for a in range(4):
            for i in range(3):
                middle_velocity[p, a, i] = flow.middle[p, a] * n[i]
                middle_normal[p, a, i] = flow.middle[p, a] * v[i]
        _at_panel(flow.along[p], quad, state, 0, nd)
        hold[p] = holds(flow.stall, n, v, nd)
        steep[p] = _steepness(flow, n, v, hold[p])
        _drag_slopes(flow, p, n, v, by_state, by_rate)
    pushed = np.zeros((size, count))
    for p in range(count):
        for a in range(4):
            for i in range(3):
                row = 6 * flow.quads[p, a] + i
                pushed[row] -= velocity_row[p, a, i] * flow.added[p]
    _gathered(pushed, flow.quads, spin_row, 0, by_rate)
    _gathered(pushed, flow.quads, normal_row, 3, by_rate)
    if flow.attached > 0.0:
        driven, stalled = np.zeros((size, count)), np.zeros((size, count))
        jump = np.dot(flow.jump, across)
        for s in range(flow.sides.shape[0]):
            if flow.stretch[s] > 0.0:
                _side_slopes(
                    flow, s, state, relative, jump, hold, steep, driven, stalled, by_state, by_rate
                )
        _gathered(driven, flow.quads, normal_row, 3, by_state)
        _gathered(stalled, flow.quads, middle_normal, 3, by_state)
        _gathered(driven, flow.quads, velocity_row, 0, by_rate)
        _gathered(stalled, flow.quads, middle_velocity, 0, by_rate)
    return by_state, by_rate


@kernel()
def _gathered(force: Array, quads: Integers, row: Array, first: int, out: Array) -> None:
    """Add the product of forces (6 n, E) by panel with what each hangs on, ``row`` (E, 4, 3).

    ``first`` is 0 where that is the nodes' places or velocities, 3 where it is their directors.
    """
    for r in range(force.shape[0]):
        for p in range(force.shape[1]):
            pull = force[r, p]
            if pull == 0.0:
                continue
            for a in range(4):
                k = 6 * quads[p, a] + first
                for i in range(3):
                    out[r, k + i] += pull * row[p, a, i]


@kernel()
def _steepness(flow: Flow, n: Array, v: Array, hold: float) -> float:
    """Return the slope [s/m] with w of the share of the attached flow that holds."""
    speed = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    if flow.stall <= 0.0 or speed <= 0.0:
        return 0.0
    x = (n[0] * v[0] + n[1] * v[1] + n[2] * v[2]) / (speed * flow.stall)
    return float(-4.0 * x**3 * hold / (1.0 + x**4) / (speed * flow.stall))


@kernel()
def _drag_slopes(flow: Flow, p: int, n: Array, v: Array, by_state: Array, by_rate: Array) -> None:
    """Add the slopes of drag and friction on panel p."""
    w = n[0] * v[0] + n[1] * v[1] + n[2] * v[2]
    speed = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2])
    slope = -2.0 * flow.drag * flow.area[p] * abs(w)
    held = -flow.drag * flow.area[p] * abs(w) * w
    rub = flow.friction * flow.area[p]
    quad = flow.quads[p]
    for a in range(4):
        for b in range(4):
            share = flow.middle[p, a] * flow.middle[p, b]
            row, column = 6 * quad[a], 6 * quad[b]
            for i in range(3):
                by_state[row + i, column + 3 + i] += share * held
                by_rate[row + i, column + i] -= share * rub * speed
                for j in range(3):
                    by_state[row + i, column + 3 + j] += share * slope * n[i] * v[j]
                    by_rate[row + i, column + j] += share * slope * n[i] * n[j]
                    if speed > 0.0:
                        by_rate[row + i, column + j] -= share * rub * v[i] * v[j] / speed


@kernel()
def _side_slopes(
    flow: Flow,
    s: int,
    state: Array,
    relative: Array,
    jump: Array,
    hold: Array,
    steep: Array,
    driven: Array,
    stalled: Array,
    by_state: Array,
    by_rate: Array,
) -> None:
    """Add the slopes of the attached flow's force on side s."""
    a, b = flow.sides[s]
    left, right = flow.neighbours[s]
    step, share = -jump[left], hold[left]
    if right >= 0:
        step += jump[right]
        share = 0.5 * (share + hold[right])
    chord = state[b, :3] - state[a, :3]
    normal = 0.5 * (state[a, 3:] + state[b, 3:])
    velocity = 0.5 * (relative[a] + relative[b])
    for_velocity = np.cross(chord, normal)
    for_chord = np.cross(normal, velocity)
    for_normal = np.cross(velocity, chord)
    slide = float((velocity * for_velocity).sum())
    half = 0.5 * share * flow.stretch[s]
    for node in (a, b):
        row = 6 * node
        for i in range(3):
            base = half * step * normal[i]
            for j in range(3):
                by_state[row + i, 6 * b + j] += base * for_chord[j]
                by_state[row + i, 6 * a + j] -= base * for_chord[j]
                for other in (a, b):
                    by_state[row + i, 6 * other + 3 + j] += 0.5 * base * for_normal[j]
                    by_rate[row + i, 6 * other + j] += 0.5 * base * for_velocity[j]
            for other in (a, b):
                by_state[row + i, 6 * other + 3 + i] += 0.5 * half * step * slide
            lean = half * slide * normal[i]
            drop = 0.5 * flow.stretch[s] * slide * step * normal[i]
            for q in range(jump.shape[0]):
                driven[row + i, q] -= lean * flow.jump[left, q]
            stalled[row + i, left] += drop * steep[left] * (0.5 if right >= 0 else 1.0)
            if right >= 0:
                for q in range(jump.shape[0]):
                    driven[row + i, q] += lean * flow.jump[right, q]
                stalled[row + i, right] += 0.5 * drop * steep[right]
