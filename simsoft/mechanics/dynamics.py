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
from simsoft.mechanics.rows import Row, added_up, less, mixed, more, plus, put_row, take_row


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
    t0, t1, t2, f0, f1, f2 = wrench[0], wrench[1], wrench[2], wrench[3], wrench[4], wrench[5]
    g0 = turn[0, 0] * f0 + turn[0, 1] * f1 + turn[0, 2] * f2
    g1 = turn[1, 0] * f0 + turn[1, 1] * f1 + turn[1, 2] * f2
    for i in range(3):
        a, b, c = turn[i, 0], turn[i, 1], turn[i, 2]
        result[i] = result[i] + a * t0 + b * t1 + c * t2
        result[3 + i] = result[3 + i] + a * f0 + b * f1 + c * f2
    result[0] -= reach * g1
    result[1] += reach * g0


@lean_kernel()
def acceleration_from_parent(turn: Array, reach: float, parent: Array, result: Array) -> None:
    """Add the parent's acceleration (6,), carried to the outboard hinge and frame."""
    w0, w1, w2 = parent[0], parent[1], parent[2]
    p0 = parent[3] + w1 * reach
    p1 = parent[4] - w0 * reach
    p2 = parent[5]
    for i in range(3):
        a, b, c = turn[0, i], turn[1, i], turn[2, i]
        result[i] += a * w0 + b * w1 + c * w2
        result[3 + i] += a * p0 + b * p1 + c * p2


@lean_kernel()
def inertia_to_parent(turn: Array, reach: float, own: Array, result: Array) -> None:
    """Add an inertia (6, 6) about a hinge, in the link frame, to ``result`` about the parent's."""
    t0 = turn[0, 0], turn[0, 1], turn[0, 2]
    t1 = turn[1, 0], turn[1, 1], turn[1, 2]
    t2 = turn[2, 0], turn[2, 1], turn[2, 2]
    x, y, z = take_row(own, 0), take_row(own, 1), take_row(own, 2)
    r0 = _turned(t0, t1, t2, mixed(t0[0], x, t0[1], y, t0[2], z))
    r1 = _turned(t0, t1, t2, mixed(t1[0], x, t1[1], y, t1[2], z))
    r2 = _turned(t0, t1, t2, mixed(t2[0], x, t2[1], y, t2[2], z))
    x, y, z = take_row(own, 3), take_row(own, 4), take_row(own, 5)
    r3 = _turned(t0, t1, t2, mixed(t0[0], x, t0[1], y, t0[2], z))
    r4 = _turned(t0, t1, t2, mixed(t1[0], x, t1[1], y, t1[2], z))
    r5 = _turned(t0, t1, t2, mixed(t2[0], x, t2[1], y, t2[2], z))
    _add_moved(result, 0, more(r0, -reach, r4), reach)
    _add_moved(result, 1, more(r1, reach, r3), reach)
    _add_moved(result, 2, r2, reach)
    _add_moved(result, 3, r3, reach)
    _add_moved(result, 4, r4, reach)
    _add_moved(result, 5, r5, reach)


Axis = tuple[float, float, float]


@lean_kernel()
def _turned(t0: Axis, t1: Axis, t2: Axis, row: Row) -> Row:
    """Return a row whose two halves are turned by the matrix of rows ``t0``, ``t1``, ``t2``."""
    a, b, c, d, e, f = row
    return (
        t0[0] * a + t0[1] * b + t0[2] * c,
        t1[0] * a + t1[1] * b + t1[2] * c,
        t2[0] * a + t2[1] * b + t2[2] * c,
        t0[0] * d + t0[1] * e + t0[2] * f,
        t1[0] * d + t1[1] * e + t1[2] * f,
        t2[0] * d + t2[1] * e + t2[2] * f,
    )


@lean_kernel()
def _add_moved(result: Array, i: int, row: Row, reach: float) -> None:
    """Add a row about a hinge to row i about the hinge ``reach`` [m] inboard of it."""
    a, b, c, d, e, f = row
    put_row(result, i, plus(take_row(result, i), (a - reach * e, b + reach * d, c, d, e, f)))


@lean_kernel()
def inverse_of(a: float, b: float, c: float, d: float, e: float, f: float) -> Row:
    """Return the inverse of a symmetric positive definite matrix in the order it is given in.

    That is the upper triangle row by row: ``(a, b, c), (b, d, e), (c, e, f)`` are the rows.
    """
    ca = d * f - e * e
    cb = c * e - b * f
    cc = b * e - c * d
    scale = 1.0 / (a * ca + b * cb + c * cc)
    return (
        ca * scale,
        cb * scale,
        cc * scale,
        (a * f - c * c) * scale,
        (b * c - a * e) * scale,
        (a * d - b * b) * scale,
    )


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
    for k in range(n - 1, -1, -1):
        own = inertia[k]
        x0, x1, x2 = take_row(own, 0), take_row(own, 1), take_row(own, 2)
        stiff = implicit[k]
        u00, u01, u02, u11, u12, u22 = inverse_of(
            x0[0] + stiff[0, 0],
            x0[1] + stiff[0, 1],
            x0[2] + stiff[0, 2],
            x1[1] + stiff[1, 1],
            x1[2] + stiff[1, 2],
            x2[2] + stiff[2, 2],
        )
        h0 = mixed(u00, x0, u01, x1, u02, x2)
        h1 = mixed(u01, x0, u11, x1, u12, x2)
        h2 = mixed(u02, x0, u12, x1, u22, x2)
        held = gain[k]
        put_row(held, 0, h0)
        put_row(held, 1, h1)
        put_row(held, 2, h2)
        t0 = moment[k, 0] - bias[k, 0]
        t1 = moment[k, 1] - bias[k, 1]
        t2 = moment[k, 2] - bias[k, 2]
        p0 = u00 * t0 + u01 * t1 + u02 * t2
        p1 = u01 * t0 + u11 * t1 + u12 * t2
        p2 = u02 * t0 + u12 * t1 + u22 * t2
        acceleration[k, 0], acceleration[k, 1], acceleration[k, 2] = p0, p1, p2
        d = take_row(drifts, k)
        y3 = less(take_row(own, 3), mixed(x0[3], h0, x1[3], h1, x2[3], h2))
        y4 = less(take_row(own, 4), mixed(x0[4], h0, x1[4], h1, x2[4], h2))
        y5 = less(take_row(own, 5), mixed(x0[5], h0, x1[5], h1, x2[5], h2))
        y0 = _upper(x0, h0, h1, h2, (y3[0], y4[0], y5[0]))
        y1 = _upper(x1, h0, h1, h2, (y3[1], y4[1], y5[1]))
        y2 = _upper(x2, h0, h1, h2, (y3[2], y4[2], y5[2]))
        x3, x4, x5 = take_row(own, 3), take_row(own, 4), take_row(own, 5)
        b = take_row(bias, k)
        b = (
            b[0] + (x0[0] * p0 + x0[1] * p1 + x0[2] * p2) + added_up(0.0, y0, d),
            b[1] + (x1[0] * p0 + x1[1] * p1 + x1[2] * p2) + added_up(0.0, y1, d),
            b[2] + (x2[0] * p0 + x2[1] * p1 + x2[2] * p2) + added_up(0.0, y2, d),
            b[3] + (x3[0] * p0 + x3[1] * p1 + x3[2] * p2) + added_up(0.0, y3, d),
            b[4] + (x4[0] * p0 + x4[1] * p1 + x4[2] * p2) + added_up(0.0, y4, d),
            b[5] + (x5[0] * p0 + x5[1] * p1 + x5[2] * p2) + added_up(0.0, y5, d),
        )
        put_row(bias, k, b)
        put_row(own, 0, y0)
        put_row(own, 1, y1)
        put_row(own, 2, y2)
        put_row(own, 3, y3)
        put_row(own, 4, y4)
        put_row(own, 5, y5)
        if k > 0:
            reach = 0.5 * (rod.length[k - 1] + rod.length[k])
            inertia_to_parent(relative[k], reach, own, inertia[k - 1])
            wrench_to_parent(relative[k], reach, bias[k], bias[k - 1])


@lean_kernel()
def _upper(x: Row, h0: Row, h1: Row, h2: Row, beside: Axis) -> Row:
    """Return one of the first three rows of an articulated inertia, its mirrored part given."""
    a, b, c = x[0], x[1], x[2]
    return (
        x[0] - (a * h0[0] + b * h1[0] + c * h2[0]),
        x[1] - (a * h0[1] + b * h1[1] + c * h2[1]),
        x[2] - (a * h0[2] + b * h1[2] + c * h2[2]),
        beside[0],
        beside[1],
        beside[2],
    )


@lean_kernel()
def hand_to_carrier(
    rod: Rod, relative: Array, inertia: Array, bias: Array, total: Array, root: Array
) -> None:
    """Write what a folded chain hands to its clamp, about node 0 in the clamp frame.

    ``total`` (6, 6) is the inertia, ``root`` (6,) the bias.
    """
    total[:] = 0.0
    root[:] = 0.0
    inertia_to_parent(relative[0], 0.5 * rod.length[0], inertia[0], total)
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
        now = take_row(link_acceleration, k)
        for i in range(3):
            acceleration[k, i] -= added_up(0.0, take_row(gain[k], i), now)
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
