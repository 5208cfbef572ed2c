"""Steady descents of a lure frozen in a shape: all attitudes, and which of them are stable.

A steady descent may turn about the vertical at a constant rate, so that its six unknowns
(velocity, pitch, roll, turn rate) meet the six equations of balance. It is the quick first answer
to a fall and a check of the march, which ends in one of the stable ones or in none.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simsoft.bodies.free.course import state_at_rest
from simsoft.bodies.free.frozen import frame_of, poses_of, stiff_loads
from simsoft.bodies.free.step import make_ahead
from simsoft.bodies.free.time_march import STILL
from simsoft.bodies.free.work import make_tree_work
from simsoft.core.arrays import Array
from simsoft.lure.free_lure import FreeLure
from simsoft.lure.parts import GRAVITY

PITCHES = tuple(math.radians(x) for x in (-80.0, -50.0, -20.0, 10.0, 40.0, 75.0))
ROLLS = (0.05, 0.5 * math.pi, math.pi - 0.05, -0.5 * math.pi)
BALANCED = 1.0e-7  # of the net weight: largest missing force of a steady descent
SAME_TURN = math.radians(1.0)
DIFFERENCE = 1.0e-6
ROUNDING = math.sqrt(float(np.finfo(float).eps))  # relative step of the differences of a balance
GROWS = 0.02  # [1/s] growth of a small disturbance that makes a descent unstable


@dataclass(frozen=True)
class Trim:
    """One steady descent.

    Attributes
    ----------
    sink_rate : float [m/s], of the eye, negative where it rises
    attitude, roll : float [rad], nose down positive
    glide : float [rad], of the path off the vertical
    turn_rate : float [rad/s], about the vertical
    growth : float [1/s], fastest growth of a small disturbance
    frequency : float [Hz], of that disturbance; 0 where it does not swing
    stable : bool
    """

    sink_rate: float
    attitude: float
    roll: float
    glide: float
    turn_rate: float
    growth: float
    frequency: float
    stable: bool


def trims(
    lure: FreeLure,
    shape: Array | None = None,
    plates: Sequence[Array] | None = None,
    starts: Sequence[tuple[float, float]] = (),
) -> tuple[Trim, ...]:
    """Return all steady descents found, the stable ones first, then by attitude.

    Those that differ by left and right or by roll alone are told once.

    Parameters
    ----------
    lure : FreeLure
    shape : array (N, 3) [rad], frozen hinge angles; None for the moulded ones
    plates : arrays (n, 6), frozen places and directors of the plates on their seats; None for the
        moulded ones
    starts : pairs of nose-down angle and roll [rad] to start from; empty for a grid of them

    Notes
    -----
    Paddles act quasi-steadily. Newton's method (MINPACK's hybrid) from every start.
    """
    from scipy.optimize import root

    balance = _Balance(lure, shape, plates)
    net = _net(lure)
    guess = _guess_speed(lure, net)
    sign = 1.0 if lure.mass >= lure.displaced else -1.0
    found: list[Trim] = []
    for pitch, roll in starts or [(p, r) for p in PITCHES for r in ROLLS]:
        up = _up(pitch, roll)
        start = np.array([*(-sign * guess * up), pitch, roll, 0.0])
        solved = root(
            balance.missing, start, jac=balance.slopes, method="hybr",
            options={"xtol": 1e-9, "maxfev": 400},
        )  # fmt: skip
        if float(np.max(np.abs(balance.missing(solved.x)))) < BALANCED * 10.0:
            trim = _trim(solved.x, balance)
            if not any(_same(trim, other) for other in found):
                found.append(trim)
    return tuple(sorted(found, key=lambda t: (not t.stable, t.attitude)))


def _net(lure: FreeLure) -> float:
    """Return the net weight in water [N], at least a thousandth of the weight."""
    return max(abs(lure.mass - lure.displaced), 1.0e-3 * lure.mass) * GRAVITY


def _up(pitch: float, roll: float) -> Array:
    """Return the world's vertical in the lure's axes, nose down by ``pitch``."""
    level = math.cos(pitch)
    return np.array([math.sin(pitch), level * math.sin(roll), level * math.cos(roll)])


def _cross(a: Array, b: Array) -> Array:
    """Return a x b; for one pair of vectors numpy's own takes ten times as long."""
    (a1, a2, a3), (b1, b2, b3) = a.tolist(), b.tolist()
    return np.array([a2 * b3 - a3 * b2, a3 * b1 - a1 * b3, a1 * b2 - a2 * b1])


def _guess_speed(lure: FreeLure, net: float) -> float:
    """Return a speed [m/s] near the descent broadside."""
    drag = float(np.sum(lure.tree.base.drag[:, :2])) * 0.5
    drag += float(np.sum(lure.tree.span * lure.tree.drag[:, 0])) if len(lure.tree.span) else 0.0
    if lure.leaves:
        from simsoft.bodies.free.hang import broadside_drag

        drag += sum(broadside_drag(leaf) for leaf in lure.leaves)
    return math.sqrt(max(net, 1e-9) / max(drag, 1e-9))


class _Balance:
    """The balance of a lure frozen in a shape: what is missing, and how a motion goes on."""

    def __init__(self, lure: FreeLure, shape: Array | None, plates: Sequence[Array] | None) -> None:
        tree = lure.tree
        angle = np.array(tree.natural if shape is None else shape, dtype=np.float64)
        state = state_at_rest(lure, 0.0, angle)
        work = make_tree_work(len(tree.carrier), len(angle))
        net = _net(lure)
        self.scale = np.array([net * lure.length] * 3 + [net] * 3)

        def load(frames: Array, twists: Array, totals: Array, wholes: Array) -> None:
            quaternion = state.quaternion
            stiff_loads(tree, STILL, frames, twists, quaternion, angle, work, totals, wholes)

        if lure.leaves:
            from simsoft.bodies.free.hang import bunch_leaves, frozen_leaves
            from simsoft.bodies.free.stepper_with_plates import stiff_load_leafed

            bunch, ahead = bunch_leaves(frozen_leaves(lure, plates)), make_ahead(len(angle), state)

            def load(frames: Array, twists: Array, totals: Array, wholes: Array) -> None:
                for m in range(len(frames)):
                    ahead.frame[:], ahead.twist[:] = frames[m], twists[m]
                    stiff_load_leafed(tree, STILL, bunch, state, ahead, angle, work)
                    totals[m], wholes[m] = work.total, work.whole

        self.load = load

    def _missing(self, unknowns: Array) -> Array:
        count = len(unknowns)
        frames, twists = np.zeros((count, 3, 3)), np.zeros((count, 6))
        totals, wholes = np.zeros((count, 6, 6)), np.zeros((count, 6))
        poses_of(unknowns, frames, twists)
        self.load(frames, twists, totals, wholes)
        return np.asarray(wholes / self.scale)

    def missing(self, unknown: Array) -> Array:
        """Return the missing balance (6,) of six unknowns."""
        return np.asarray(self._missing(unknown[None])[0])

    def slopes(self, unknown: Array) -> Array:
        """Return the change (6, 6) of the missing balance with the unknowns.

        Differences as MINPACK takes them itself, but all of them at once.
        """
        step = ROUNDING * np.abs(unknown)
        step[step == 0.0] = ROUNDING
        found = self._missing(np.vstack([unknown, unknown + np.diag(step)]))
        return np.asarray((found[1:] - found[0]).T / step)

    def accelerations(self, twists: Array, ups: Array) -> Array:
        """Return the accelerations (M, 6) of motions ``twists`` (M, 6) under verticals (M, 3)."""
        count = len(twists)
        frames, totals, wholes = (
            np.zeros((count, 3, 3)),
            np.zeros((count, 6, 6)),
            np.zeros((count, 6)),
        )
        for up, frame in zip(ups, frames, strict=True):
            frame_of(up / np.linalg.norm(up), frame)
        self.load(frames, twists, totals, wholes)
        return np.asarray(np.linalg.solve(totals, -wholes[:, :, None])[:, :, 0])


def _trim(unknown: Array, balance: _Balance) -> Trim:
    pitch, roll, turn = (float(x) for x in unknown[3:])
    up = _up(pitch, roll)
    speed = unknown[:3]
    sink = -float(up @ speed)
    level = float(np.linalg.norm(speed + sink * up))
    growth, frequency = _growth(np.array([*(turn * up), *speed]), up, balance)
    attitude = math.asin(max(-1.0, min(1.0, float(up[0]))))
    return Trim(
        sink_rate=sink,
        attitude=attitude,
        roll=math.atan2(float(up[1]), float(up[2])),
        glide=math.atan2(level, abs(sink)),
        turn_rate=turn,
        growth=growth,
        frequency=frequency,
        stable=growth < GROWS,
    )


def _growth(twist: Array, up: Array, balance: _Balance) -> tuple[float, float]:
    """Return growth [1/s] and frequency [Hz] of the fastest growing small disturbance.

    The state is the twist and the vertical seen from the lure, which turns as -w x up; turning
    about the vertical changes nothing and gives one zero.
    """
    state, shift = np.concatenate([twist, up]), DIFFERENCE * np.eye(9)
    moved = np.vstack([state + shift, state - shift])
    turned = np.array([-_cross(one[:3], one[6:]) for one in moved])
    rates = np.hstack([balance.accelerations(moved[:, :6].copy(), moved[:, 6:]), turned])
    values = np.linalg.eigvals((rates[:9] - rates[9:]).T / (2.0 * DIFFERENCE))
    fastest = values[int(np.argmax(values.real))]
    return float(fastest.real), abs(float(fastest.imag)) / (2.0 * math.pi)


def _same(first: Trim, second: Trim) -> bool:
    """Return whether two descents are one, but for roll (round bodies) or for left and right."""
    return (
        abs(first.attitude - second.attitude) < SAME_TURN
        and abs(first.sink_rate - second.sink_rate) < 0.01 * abs(first.sink_rate) + 1e-6
        and abs(first.glide - second.glide) < 2.0 * SAME_TURN
        and abs(abs(first.turn_rate) - abs(second.turn_rate)) < 0.05
        and first.stable == second.stable
    )
