"""Equations of motion of the chain: forward (articulated bodies) and inverse.

Forward dynamics follows the articulated-body recursion (Featherstone 2008, "Rigid Body
Dynamics Algorithms", chapter 7) in link frames about the inboard hinges. It is linear in the
number of elements and takes the full anisotropic added mass and the implicit part of a time
step exactly: hinge stiffness and damping belong to one hinge each, drag to one link each, so
no global matrix is formed.
"""

from __future__ import annotations

from simsoft.core.arrays import Array
from simsoft.core.compiled import lean_kernel
from simsoft.mechanics.rod import Rod


@lean_kernel()
def bias_wrench(rod: Rod, k: int, spin: Array, glide: Array, wrench: Array, bias: Array) -> None:
    """Write ``bias`` (6,): momentum turning with link k less the loads, about its hinge.

    ``wrench`` (6,) holds the loads about the node, torque [N m] first. Only the structure's
    momentum is turned here; the loads have already done so for the fluid's.
    """
    reach = 0.5 * rod.length[k]
    w0, w1, w2 = spin[0], spin[1], spin[2]
    v0, v1, v2 = glide[0], glide[1], glide[2]
    h = rod.structure[k]
    a0 = a1 = a2 = p0 = p1 = p2 = 0.0
    for j in range(3):
        a0 += h[0, j] * spin[j] + h[0, 3 + j] * glide[j]
        a1 += h[1, j] * spin[j] + h[1, 3 + j] * glide[j]
        a2 += h[2, j] * spin[j] + h[2, 3 + j] * glide[j]
        p0 += h[3, j] * spin[j] + h[3, 3 + j] * glide[j]
        p1 += h[4, j] * spin[j] + h[4, 3 + j] * glide[j]
        p2 += h[5, j] * spin[j] + h[5, 3 + j] * glide[j]
    bias[0] = w1 * a2 - w2 * a1 + v1 * p2 - v2 * p1 - wrench[0] + reach * wrench[4]
    bias[1] = w2 * a0 - w0 * a2 + v2 * p0 - v0 * p2 - wrench[1] - reach * wrench[3]
    bias[2] = w0 * a1 - w1 * a0 + v0 * p1 - v1 * p0 - wrench[2]
    bias[3] = w1 * p2 - w2 * p1 - wrench[3]
    bias[4] = w2 * p0 - w0 * p2 - wrench[4]
    bias[5] = w0 * p1 - w1 * p0 - wrench[5]


@lean_kernel()
def drift(spin: Array, glide: Array, rate: Array, acceleration: Array) -> None:
    """Write the velocity-product acceleration (6,) of a link: -rate x (spin, glide)."""
    r0, r1, r2 = rate[0], rate[1], rate[2]
    acceleration[0] = r2 * spin[1] - r1 * spin[2]
    acceleration[1] = r0 * spin[2] - r2 * spin[0]
    acceleration[2] = r1 * spin[0] - r0 * spin[1]
    acceleration[3] = r2 * glide[1] - r1 * glide[2]
    acceleration[4] = r0 * glide[2] - r2 * glide[0]
    acceleration[5] = r1 * glide[0] - r0 * glide[1]


@lean_kernel()
def wrench_to_parent(turn: Array, reach: float, wrench: Array, result: Array) -> None:
    """Add a wrench (6,) about a hinge, in the link frame, to ``result`` about the parent's."""
    for i in range(3):
        for j in range(3):
            result[i] += turn[i, j] * wrench[j]
            result[3 + i] += turn[i, j] * wrench[3 + j]
    f0 = turn[0, 0] * wrench[3] + turn[0, 1] * wrench[4] + turn[0, 2] * wrench[5]
    f1 = turn[1, 0] * wrench[3] + turn[1, 1] * wrench[4] + turn[1, 2] * wrench[5]
    result[0] -= reach * f1
    result[1] += reach * f0


@lean_kernel()
def acceleration_from_parent(turn: Array, reach: float, parent: Array, result: Array) -> None:
    """Add the parent's acceleration (6,), carried to the outboard hinge and frame."""
    p0 = parent[3] + parent[1] * reach
    p1 = parent[4] - parent[0] * reach
    p2 = parent[5]
    for i in range(3):
        result[i] += turn[0, i] * parent[0] + turn[1, i] * parent[1] + turn[2, i] * parent[2]
        result[3 + i] += turn[0, i] * p0 + turn[1, i] * p1 + turn[2, i] * p2


@lean_kernel()
def inertia_to_parent(turn: Array, reach: float, own: Array, work: Array, result: Array) -> None:
    """Add an inertia (6, 6) about a hinge, in the link frame, to ``result`` about the parent's.

    ``work`` (6, 6) is scratch space.
    """
    for block_i in range(0, 6, 3):
        for block_j in range(0, 6, 3):
            for i in range(3):
                for j in range(3):
                    work[block_i + i, block_j + j] = (
                        turn[i, 0] * own[block_i, block_j + j]
                        + turn[i, 1] * own[block_i + 1, block_j + j]
                        + turn[i, 2] * own[block_i + 2, block_j + j]
                    )
    for i in range(6):
        for block_j in range(0, 6, 3):
            a = work[i, block_j]
            b = work[i, block_j + 1]
            c = work[i, block_j + 2]
            for j in range(3):
                work[i, block_j + j] = turn[j, 0] * a + turn[j, 1] * b + turn[j, 2] * c
    for j in range(6):
        work[0, j] -= reach * work[4, j]
        work[1, j] += reach * work[3, j]
    for i in range(6):
        work[i, 0] -= reach * work[i, 4]
        work[i, 1] += reach * work[i, 3]
    for i in range(6):
        for j in range(6):
            result[i, j] += work[i, j]


@lean_kernel()
def invert_symmetric(matrix: Array, inverse: Array) -> None:
    """Write the inverse of a symmetric positive definite 3 by 3 matrix."""
    a, b, c = matrix[0, 0], matrix[0, 1], matrix[0, 2]
    d, e, f = matrix[1, 1], matrix[1, 2], matrix[2, 2]
    ca = d * f - e * e
    cb = c * e - b * f
    cc = b * e - c * d
    scale = 1.0 / (a * ca + b * cb + c * cc)
    inverse[0, 0] = ca * scale
    inverse[0, 1] = inverse[1, 0] = cb * scale
    inverse[0, 2] = inverse[2, 0] = cc * scale
    inverse[1, 1] = (a * f - c * c) * scale
    inverse[1, 2] = inverse[2, 1] = (b * c - a * e) * scale
    inverse[2, 2] = (a * d - b * b) * scale


@lean_kernel()
def fold(
    rod: Rod,
    relative: Array,
    inertia: Array,
    bias: Array,
    drifts: Array,
    moment: Array,
    implicit: Array,
    acceleration: Array,
    gain: Array,
) -> None:
    """Hand articulated inertia and bias inward, link by link, from the tip to the first link.

    Arguments as in ``accelerate``. ``inertia`` and ``bias`` leave as what each link hands on,
    ``acceleration`` as the part of the hinge acceleration that owes nothing to the carrier.
    """
    n = rod.length.shape[0]
    inverse = gain[n, 0:3, 0:3]
    work = gain[n + 1]
    for k in range(n - 1, -1, -1):
        own = inertia[k]
        held = gain[k]
        for i in range(3):
            for j in range(3):
                held[i, j] = own[i, j] + implicit[k, i, j]
        invert_symmetric(held, inverse)
        for i in range(3):
            for j in range(6):
                held[i, j] = (
                    inverse[i, 0] * own[0, j]
                    + inverse[i, 1] * own[1, j]
                    + inverse[i, 2] * own[2, j]
                )
        push = acceleration[k]
        t0 = moment[k, 0] - bias[k, 0]
        t1 = moment[k, 1] - bias[k, 1]
        t2 = moment[k, 2] - bias[k, 2]
        for i in range(3):
            push[i] = inverse[i, 0] * t0 + inverse[i, 1] * t1 + inverse[i, 2] * t2
        for i in range(6):
            bias[k, i] += own[i, 0] * push[0] + own[i, 1] * push[1] + own[i, 2] * push[2]
        for i in range(3, 6):
            for j in range(6):
                own[i, j] -= (
                    own[0, i] * held[0, j] + own[1, i] * held[1, j] + own[2, i] * held[2, j]
                )
        for i in range(3):
            a, b, c = own[i, 0], own[i, 1], own[i, 2]
            for j in range(3):
                own[i, j] -= a * held[0, j] + b * held[1, j] + c * held[2, j]
            for j in range(3, 6):
                own[i, j] = own[j, i]
        for i in range(6):
            total = 0.0
            for j in range(6):
                total += own[i, j] * drifts[k, j]
            bias[k, i] += total
        if k > 0:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            inertia_to_parent(relative[k], reach, own, work, inertia[k - 1])
            wrench_to_parent(relative[k], reach, bias[k], bias[k - 1])


@lean_kernel()
def hand_to_carrier(
    rod: Rod, relative: Array, inertia: Array, bias: Array, work: Array, total: Array, root: Array
) -> None:
    """Write what a folded chain hands to its clamp, about node 0 in the clamp frame.

    ``total`` (6, 6) is the inertia, ``root`` (6,) the bias; ``work`` (6, 6) is scratch space.
    """
    total[:] = 0.0
    root[:] = 0.0
    inertia_to_parent(relative[0], 0.5 * rod.length[0], inertia[0], work, total)
    wrench_to_parent(relative[0], 0.5 * rod.length[0], bias[0], root)


@lean_kernel()
def unfold(
    rod: Rod,
    relative: Array,
    drifts: Array,
    gain: Array,
    clamp: Array,
    acceleration: Array,
    link_acceleration: Array,
) -> None:
    """Write hinge and link accelerations from the acceleration ``clamp`` (6,) of the clamp.

    ``clamp`` is about node 0 in the clamp frame; the others as in ``accelerate``.
    """
    n = rod.length.shape[0]
    for k in range(n):
        here = link_acceleration[k]
        for i in range(6):
            here[i] = drifts[k, i]
        if k > 0:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            acceleration_from_parent(relative[k], reach, link_acceleration[k - 1], here)
        else:
            acceleration_from_parent(relative[0], 0.5 * rod.length[0], clamp, here)
        for i in range(3):
            total = 0.0
            for j in range(6):
                total += gain[k, i, j] * here[j]
            acceleration[k, i] -= total
        for i in range(3):
            here[i] += acceleration[k, i]


@lean_kernel()
def accelerate(
    rod: Rod,
    relative: Array,
    inertia: Array,
    bias: Array,
    drifts: Array,
    moment: Array,
    implicit: Array,
    acceleration: Array,
    link_acceleration: Array,
    gain: Array,
    root: Array,
) -> None:
    """Solve the held chain for the hinge accelerations.

    Parameters
    ----------
    inertia : array (N, 6, 6), link inertia about the hinge with the implicit drag part;
        overwritten by the articulated inertia
    bias : array (N, 6), see ``bias_wrench``; overwritten
    drifts : array (N, 6), see ``drift``
    moment : array (N, 3) [N m], hinge moments plus ``implicit`` times the old acceleration
    implicit : array (N, 3, 3) [kg m^2], implicit hinge damping and stiffness as inertia
    acceleration : array (N, 3) [rad/s^2], result
    link_acceleration : array (N, 6), result, of the links about their hinges
    gain : array (N + 2, 6, 6), scratch space
    root : array (6,), result, wrench of the clamp on the chain about node 0, clamp frame
    """
    fold(rod, relative, inertia, bias, drifts, moment, implicit, acceleration, gain)
    root[:] = 0.0
    wrench_to_parent(relative[0], 0.5 * rod.length[0], bias[0], root)
    still = gain[rod.length.shape[0], 0]
    still[:] = 0.0
    unfold(rod, relative, drifts, gain, still, acceleration, link_acceleration)


@lean_kernel()
def hinge_load(
    rod: Rod,
    relative: Array,
    bias: Array,
    drifts: Array,
    moment: Array,
    acceleration: Array,
    residual: Array,
    links: Array,
) -> None:
    """Write the moment missing at every hinge (N, 3) [N m] for a given hinge acceleration.

    Inverse dynamics: ``residual`` is the moment of all inertia and loads outboard of the
    hinge less the hinge's own ``moment``; zero on a true motion or at rest. ``links`` (N, 6)
    is scratch space; ``bias`` (N, 6) is overwritten.
    """
    n = rod.length.shape[0]
    for k in range(n):
        here = links[k]
        for i in range(6):
            here[i] = drifts[k, i]
        if k > 0:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            acceleration_from_parent(relative[k], reach, links[k - 1], here)
        for i in range(3):
            here[i] += acceleration[k, i]
        for i in range(6):
            total = 0.0
            for j in range(6):
                total += (rod.structure[k, i, j] + rod.fluid[k, i, j]) * here[j]
            bias[k, i] += total
    for k in range(n - 1, -1, -1):
        for i in range(3):
            residual[k, i] = bias[k, i] - moment[k, i]
        if k > 0:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            wrench_to_parent(relative[k], reach, bias[k], bias[k - 1])
