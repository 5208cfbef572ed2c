"""What a load on a section may know: the section's motion relative to the water.

Every section load has the signature ``load(rod, k, state, wrench)``: rod arrays, node index,
the node's ``state`` (7, 3) with the rows named here, and the ``wrench`` (6,) it adds to, torque
[N m] first, then force [N]. All vectors are in the node frame (1 thickness, 2 width,
3 tangent).
"""

from __future__ import annotations

from simsoft.compiled import kernel
from simsoft.structure.rod import Array, Rod, Stream

VELOCITY = 0  # of the node relative to the water [m/s]
SPIN = 1  # of the node frame [rad/s]
CURVATURE = 2  # of the centreline [rad/m]
CURVATURE_RATE = 3  # [rad/(m s)]
STREAM = 4  # water velocity at the node [m/s]
GRADIENT = 5  # change of the water velocity along the centreline [1/s]
SLOPE = 6  # change of the curvature along the centreline [rad/m^2]
ROWS = 7


@kernel()
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
    """Fill the states (N, 7, 3) of all nodes from the kinematics of the chain.

    ``spin`` and ``glide`` (N, 3) are those of the links at their hinges in axes drifting with
    the stream at height zero; a sheared stream adds its local excess.
    """
    for k in range(rod.length.shape[0]):
        reach = 0.5 * rod.length[k]
        here = state[k]
        excess = stream.shear * node[k, 2]
        growth = stream.shear * frame[k, 2, 2]
        for i in range(3):
            along = (
                frame[k, 0, i] * stream.direction[0]
                + frame[k, 1, i] * stream.direction[1]
                + frame[k, 2, i] * stream.direction[2]
            )
            base = (
                frame[k, 0, i] * stream.velocity[0]
                + frame[k, 1, i] * stream.velocity[1]
                + frame[k, 2, i] * stream.velocity[2]
            )
            here[VELOCITY, i] = glide[k, i] - excess * along
            here[SPIN, i] = spin[k, i]
            here[CURVATURE, i] = curvature[k, i]
            here[CURVATURE_RATE, i] = curvature_rate[k, i]
            here[STREAM, i] = base + excess * along
            here[GRADIENT, i] = growth * along
            here[SLOPE, i] = slope[k, i]
        here[VELOCITY, 0] += spin[k, 1] * reach
        here[VELOCITY, 1] -= spin[k, 0] * reach
