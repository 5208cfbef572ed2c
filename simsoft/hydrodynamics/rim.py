"""The wake that a paddle drags along: a damped state that its sideways acceleration drives.

Discs that are swayed across the stream feel a force on their rim that goes with the velocity and
feeds the motion, most at a fifth of U/D (resolved flow, ``validation/resolved``: sway rows). In the
plane of the plate, of width D and speed V, the state r (kick and upright axis) obeys

    r'' + 2 z W r' + W^2 r = (a + c w x v_n) / D,   W = 2 pi St_r V / D,

with the acceleration a in space, along the plate, of its centre, and with a share c of the spin
times the normal velocity, as discs that yaw and rock ask for (yaw and rock rows). Baits that lean
by 5 to 45 degrees ask for a rate that does not change with the lean
(``validation/RESOLVED.md``). A steady slip drives nothing. With a = dv/dt + (w x v) no
acceleration is needed,

    r' = s + v / D,   s' = -2 z W r' - W^2 r + (w x v + c w x v_n) / D.

Nothing here grows by itself: a paddle that is held feels no force of it. The force that follows
stands in ``hydrodynamics/paddle.py``.
"""

from __future__ import annotations

import math

import numpy as np

from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.mechanics.rod import Paddle

RIM_SPIN = 0.6  # c, share of spin times normal velocity in the drive (validation/RESOLVED.md)
RIM_STATES = 14  # r (2), s (2), the drives at the end of the last step and of that before it (5)
SEEN = 3  # what the load sees of it: r (2) and the envelope


@kernel()
def drags_wake(paddle: Paddle) -> bool:
    """Return whether a wake acts on a paddle."""
    return paddle.rim_force > 0.0 or paddle.force_growth > 0.0


@kernel()
def no_rim() -> Array:
    """Return what the load sees (3,) of a wake at rest."""
    return np.zeros(SEEN)


@lean_kernel()
def rim_rate(paddle: Paddle, motion: Array) -> float:
    """Return the rate W [rad/s] of the wake; ``motion`` (6,) is that of ``paddle_motion``."""
    speed = math.sqrt(motion[0] ** 2 + motion[1] ** 2 + motion[2] ** 2)
    rate: float = 2.0 * math.pi * paddle.rim_rate * speed / paddle.width
    return rate


@lean_kernel()
def rim_drive(paddle: Paddle, motion: Array, drive: Array) -> None:
    """Write rate W [rad/s], v / D [1/s] and what spin adds [1/s^2] into ``drive`` (5,)."""
    size = paddle.width
    kick, up = motion[0], motion[1]
    across = (1.0 + RIM_SPIN) * motion[2]
    drive[0] = rim_rate(paddle, motion)
    drive[1] = kick / size
    drive[2] = up / size
    drive[3] = (motion[4] * across - motion[5] * up) / size
    drive[4] = (motion[5] * kick - motion[3] * across) / size


@lean_kernel()
def slope(
    damping: float, r: float, s: float, rate: float, velocity: float, turned: float
) -> tuple[float, float]:
    """Return the rates of change of r and s."""
    r_rate = s + velocity
    return r_rate, -2.0 * damping * rate * r_rate - rate * rate * r + turned


@lean_kernel()
def advance_rim(
    damping: float, state: Array, before: Array, after: Array, step: float, result: Array
) -> None:
    """Write r and s (4,) one step [s] on, classical Runge-Kutta, into ``result``.

    ``before`` and ``after`` are the drives at both ends of the step, straight in between.
    """
    middle = 0.5 * (before[0] + after[0])
    for i in range(2):
        r, s = state[i], state[2 + i]
        v0, v2 = before[1 + i], after[1 + i]
        g0, g2 = before[3 + i], after[3 + i]
        v1, g1 = 0.5 * (v0 + v2), 0.5 * (g0 + g2)
        a, b = slope(damping, r, s, before[0], v0, g0)
        c, d = slope(damping, r + 0.5 * step * a, s + 0.5 * step * b, middle, v1, g1)
        e, f = slope(damping, r + 0.5 * step * c, s + 0.5 * step * d, middle, v1, g1)
        g, h = slope(damping, r + step * e, s + step * f, after[0], v2, g2)
        result[i] = r + step * (a + 2.0 * c + 2.0 * e + g) / 6.0
        result[2 + i] = s + step * (b + 2.0 * d + 2.0 * f + h) / 6.0


@lean_kernel()
def see_rim(state: Array, drive: Array, seen: Array) -> None:
    """Write r (2,) and the envelope sqrt(r^2 + (r'/W)^2) of a state into ``seen`` (3,)."""
    whole, moved = 0.0, 0.0
    for i in range(2):
        seen[i] = state[i]
        whole += state[i] ** 2
        moved += (state[2 + i] + drive[1 + i]) ** 2
    # a wake cannot reach farther than its plate has moved in a turn of it
    square = drive[0] * drive[0]
    if moved > 0.0:
        whole += 1.0 if moved >= square else moved / square
    seen[2] = math.sqrt(whole)


@lean_kernel()
def foretell_rim(paddle: Paddle, rim: Array, step: float, ahead: Array, seen: Array) -> None:
    """Write what the load sees (3,) of the wake one step [s] on, its drive going on as it went.

    ``rim`` (14,) holds r, s and the last two drives; ``ahead`` (9,) is scratch. The load at the end
    of a step needs the wake there: with the one at its beginning a march would be of first order.
    """
    for i in range(SEEN):
        seen[i] = 0.0
    if rim[4] > 0.0:
        drive = ahead[4:9]
        for i in range(5):
            drive[i] = 2.0 * rim[4 + i] - rim[9 + i]
        drive[0] = max(drive[0], 0.0)
        advance_rim(paddle.rim_damping, rim, rim[4:9], drive, step, ahead[:4])
        see_rim(ahead[:4], drive, seen)


@lean_kernel()
def step_rim(paddle: Paddle, motion: Array, rim: Array, step: float, scratch: Array) -> None:
    """Advance ``rim`` (14,) to the end of a step [s]; ``scratch`` (9,).

    ``motion`` (6,) is that of ``paddle_motion`` at the end of the step. The first step starts the
    wake as one that has come to rest about the slip of the plate.
    """
    after, result = scratch[:5], scratch[5:9]
    rim_drive(paddle, motion, after)
    if rim[4] <= 0.0:
        rim[0], rim[1], rim[2], rim[3] = 0.0, 0.0, -after[1], -after[2]
        for i in range(5):
            rim[4 + i] = after[i]
    advance_rim(paddle.rim_damping, rim, rim[4:9], after, step, result)
    for i in range(4):
        rim[i] = result[i]
    for i in range(5):
        rim[9 + i] = rim[4 + i]
        rim[4 + i] = after[i]
