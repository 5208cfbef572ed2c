"""What a load on a section may know: the section's motion relative to the water.

Every section load has the signature ``load(rod, k, state, wrench)``: rod arrays, node index,
the node's ``state`` (8, 3) with the rows named here, and the ``wrench`` (6,) it adds to, torque
[N m] first, then force [N]. All vectors are in the node frame (1 thickness, 2 width,
3 tangent).
"""

from __future__ import annotations

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.mechanics.rod import Rod, Stream

VELOCITY = 0  # of the node relative to the water [m/s]
SPIN = 1  # of the node frame [rad/s]
CURVATURE = 2  # of the centreline [rad/m]
CURVATURE_RATE = 3  # [rad/(m s)]
STREAM = 4  # water velocity at the node [m/s]
GRADIENT = 5  # change of the water velocity along the centreline [1/s]
SLOPE = 6  # change of the curvature along the centreline [rad/m^2]
UNCARRIED = 7  # rate of the momentum's velocity that the mass matrix does not carry [m/s^2]
ROWS = 8


@lean_kernel()
def section_states(
    rod: Rod,
    stream: Stream,
    frame: Array,
    node: Array,
    spin: Array,
    glide: Array,
    curvature: Array,
    curvature_rate: Array,
    slope: Array,
    state: Array,
) -> None:
    """Fill the states (N, 8, 3) of all nodes from the kinematics of the chain.

    ``spin`` and ``glide`` (N, 3) are those of the links at their hinges in axes drifting with
    the stream at height zero; a sheared stream adds its local excess.
    """
    d, u = stream.direction, stream.velocity
    for k in range(rod.length.shape[0]):
        reach = 0.5 * rod.length[k]
        here = state[k]
        excess = stream.shear * node[k, 2]
        growth = stream.shear * frame[k, 2, 2]
        for i in range(3):
            a0, a1, a2 = frame[k, 0, i], frame[k, 1, i], frame[k, 2, i]
            along = a0 * d[0] + a1 * d[1] + a2 * d[2]
            here[VELOCITY, i] = glide[k, i] - excess * along
            here[SPIN, i] = spin[k, i]
            here[CURVATURE, i] = curvature[k, i]
            here[CURVATURE_RATE, i] = curvature_rate[k, i]
            here[STREAM, i] = a0 * u[0] + a1 * u[1] + a2 * u[2] + excess * along
            here[GRADIENT, i] = growth * along
            here[SLOPE, i] = slope[k, i]
        here[VELOCITY, 0] += spin[k, 1] * reach
        here[VELOCITY, 1] -= spin[k, 0] * reach
        if stream.shear != 0.0 or rod.reactive == 0.0:
            uncarried(rod, stream, frame[k], excess, here)
        else:
            here[UNCARRIED, 0] = here[UNCARRIED, 1] = here[UNCARRIED, 2] = 0.0


@lean_kernel()
def uncarried(rod: Rod, stream: Stream, frame: Array, excess: float, here: Array) -> None:
    """Fill the last row of a state (8, 3): what the mass matrix leaves out of dV/dt.

    The mass matrix carries the rate, in the node frame, of the velocity against the stream at
    height zero. With the reactive force the momentum goes with the velocity against the local
    water, so the rate of the local ``excess`` [m/s] is taken off; without it the momentum goes
    with the velocity over ground, so the rate of the whole stream is put back.
    """
    reactive = rod.reactive > 0.0
    along = components(frame, stream.direction)
    turned = components(frame, stream.velocity)
    gain = excess if reactive else -1.0
    source = along if reactive else turned
    t0, t1, t2 = gain * source[0], gain * source[1], gain * source[2]
    w0, w1, w2 = here[SPIN, 0], here[SPIN, 1], here[SPIN, 2]
    climb = 0.0
    if reactive:
        for i in range(3):
            climb += frame[2, i] * (here[VELOCITY, i] + here[STREAM, i])
    climb *= stream.shear
    here[UNCARRIED, 0] = w1 * t2 - w2 * t1 - climb * along[0]
    here[UNCARRIED, 1] = w2 * t0 - w0 * t2 - climb * along[1]
    here[UNCARRIED, 2] = w0 * t1 - w1 * t0 - climb * along[2]


@lean_kernel()
def components(frame: Array, vector: Array) -> tuple[float, float, float]:
    """Return the components of a world vector (3,) along the axes of a frame (3, 3)."""
    a, b, c = vector[0], vector[1], vector[2]
    return (
        frame[0, 0] * a + frame[1, 0] * b + frame[2, 0] * c,
        frame[0, 1] * a + frame[1, 1] * b + frame[2, 1] * c,
        frame[0, 2] * a + frame[1, 2] * b + frame[2, 2] * c,
    )
