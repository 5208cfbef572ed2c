"""Everything that acts on a free lure in a given pose and motion, and its accelerations."""

from __future__ import annotations

from simsoft.bodies.free.work import TreeWork, chain_work
from simsoft.bodies.rod.forces import Work, load_chain
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.rigid_base import base_dead, base_drag
from simsoft.mechanics.dynamics import (
    fold,
    hand_to_carrier,
    unfold,
)
from simsoft.mechanics.kinematics import move, place
from simsoft.mechanics.multibody import (
    ON_BASE,
    Tree,
    add_to_carrier,
    chain,
    momentum_turning,
    solve_positive,
    transform,
)
from simsoft.mechanics.rod import Rod, Stream


@kernel()
def chain_of(tree: Tree, work: TreeWork, c: int) -> Rod:
    """Return chain ``c`` as a rod, clamped where its carrier is now."""
    return chain(tree, c, work.clamp_frame[c], work.clamp_at[c])


@kernel()
def chains_of(tree: Tree, work: TreeWork) -> list[tuple[Rod, Work]]:
    """Return all chains with their scratch arrays.

    They are views: made once for a whole march, they follow what the march writes.
    """
    return [(chain_of(tree, work, c), chain_work(tree, work, c)) for c in range(len(tree.carrier))]


@lean_kernel()
def set_clamp(
    tree: Tree, work: TreeWork, c: int, frame: Array, position: Array, twist: Array
) -> None:
    """Write frame, place and twist of the clamp of chain ``c`` from where its carrier is."""
    seat = (tree.carrier[c], tree.carry[c], tree.mount[c], tree.mount_at[c])
    place_seat(
        seat, work, frame, position, twist, work.clamp_frame[c], work.clamp_at[c],
        work.clamp_twist[c],
    )  # fmt: skip


@lean_kernel()
def place_seat(
    seat: tuple[int, Array, Array, Array],
    work: TreeWork,
    frame: Array,
    position: Array,
    twist: Array,
    seat_frame: Array,
    seat_at: Array,
    seat_twist: Array,
) -> None:
    """Write frame (3, 3), place (3,) and twist (6,) of a seat on the base or on a link.

    ``seat`` holds carrier, carry, mount and mount_at as in ``Tree``; ``frame``, ``position`` and
    ``twist`` are the base's.
    """
    carrier, carry, mount, mount_at = seat
    origin, axes = position, frame
    if carrier == ON_BASE:
        transform(carry, twist, seat_twist)
    else:
        origin, axes = work.hinge_at[carrier], work.frame[carrier]
        for i in range(3):
            work.one[i] = work.spin[carrier, i]
            work.one[3 + i] = work.glide[carrier, i]
        transform(carry, work.one, seat_twist)
    for i in range(3):
        moved = origin[i]
        for j in range(3):
            moved += axes[i, j] * mount_at[j]
            turned = 0.0
            for m in range(3):
                turned += axes[i, m] * mount[m, j]
            seat_frame[i, j] = turned
        seat_at[i] = moved


@kernel()
def evaluate_tree(
    tree: Tree,
    still: Stream,
    frame: Array,
    position: Array,
    twist: Array,
    quaternion: Array,
    angle: Array,
    rate: Array,
    wake: Array,
    work: TreeWork,
) -> None:
    """Fill ``work`` with kinematics, loads, bias wrenches and hinge moments of the whole lure.

    Parameters
    ----------
    still : Stream of no speed
    frame, position : array (3, 3), (3,) [m], of the base in the world
    twist : array (6,) [rad/s, m/s], of the base about its origin, in its axes
    quaternion, angle, rate : arrays (N, 4), (N, 3), (N, 3) of all hinges
    wake : array (C, 3), wakes of the paddles as their loads see them
    """
    evaluate_chains(
        tree,
        chains_of(tree, work),
        still,
        frame,
        position,
        twist,
        quaternion,
        angle,
        rate,
        wake,
        work,
    )


@kernel()
def evaluate_chains(
    tree: Tree,
    chains: list[tuple[Rod, Work]],
    still: Stream,
    frame: Array,
    position: Array,
    twist: Array,
    quaternion: Array,
    angle: Array,
    rate: Array,
    wake: Array,
    work: TreeWork,
) -> None:
    """Do as ``evaluate_tree`` with ``chains_of`` the tree at hand."""
    for c in range(tree.carrier.shape[0]):
        a, b = tree.first[c], tree.first[c + 1]
        set_clamp(tree, work, c, frame, position, twist)
        rod, own = chains[c]
        place(rod, quaternion[a:b], own.relative, own.frame, own.hinge, own.node)
        move(rod, own.relative, rate[a:b], work.clamp_twist[c], own.spin, own.glide)
        load_chain(rod, still, angle[a:b], rate[a:b], wake[c], own)
    work.dead[:] = 0.0
    work.drag[:] = 0.0
    work.slope[:] = 0.0
    work.base_bias[:] = 0.0
    work.opened[:] = 0.0
    base_dead(tree.base, frame, work.dead)
    base_drag(tree.base, twist, work.drag, work.slope)
    momentum_turning(tree.base.structure, twist, work.base_bias)
    momentum_turning(tree.base.fluid, twist, work.base_bias)
    add_inflow(tree, work)
    for i in range(6):
        work.base_bias[i] -= work.dead[i] + work.drag[i]


@lean_kernel()
def add_inflow(tree: Tree, work: TreeWork) -> None:
    """Open the base where a soft length of the body carries on behind it.

    Kirchhoff's equations close the base at its ends: in slender-body terms the cross-flow
    momentum m w that the base has set going is stopped again at its end, at the rate v3 m w
    (half of Munk's couple), with a pull m w^2/2 along the axis. Behind the end the chain's
    reactive force takes the momentum over, so both are taken off, where the chain's first link
    begins. With the axial part the power is that of the energy the water carries on.
    """
    for c in range(tree.carrier.shape[0]):
        m0, m1 = tree.inflow[c, 0], tree.inflow[c, 1]
        if tree.carrier[c] != ON_BASE or m0 + m1 <= 0.0:
            continue
        reach = 0.5 * tree.length[tree.first[c]]
        v = work.clamp_twist[c]
        v0, v1 = v[3] + v[1] * reach, v[4] - v[0] * reach
        f0, f1 = v[5] * m0 * v0, v[5] * m1 * v1
        push = work.one
        push[0], push[1], push[2] = -reach * f1, reach * f0, 0.0
        push[3], push[4], push[5] = f0, f1, -0.5 * (m0 * v0 * v0 + m1 * v1 * v1)
        for i in range(6):
            total = 0.0
            for j in range(6):
                total += tree.carry[c, j, i] * push[j]
            work.opened[i] += total
    for i in range(6):
        work.base_bias[i] -= work.opened[i]


@lean_kernel()
def take_base(tree: Tree, work: TreeWork) -> None:
    """Begin ``work.total`` (6, 6) and ``work.whole`` (6,) with the base and the plates on it."""
    for i in range(6):
        work.whole[i] = work.base_bias[i] + work.plate_bias[i]
        for j in range(6):
            own = tree.base.structure[i, j] + tree.base.fluid[i, j]
            work.total[i, j] = own + work.plate_inertia[i, j]


@lean_kernel()
def hand_on(tree: Tree, work: TreeWork, c: int, rod: Rod, own: Work) -> None:
    """Add what the folded chain ``c`` hands to its clamp to the base or link that carries it."""
    a, b = tree.first[c], tree.first[c + 1]
    six = work.six
    hand_to_carrier(rod, own.relative, work.inertia[a:b], own.bias, six[1], work.one)
    carrier = tree.carrier[c]
    if carrier == ON_BASE:
        add_to_carrier(tree.carry[c], six[1], work.one, six[2], work.total, work.whole)
    else:
        add_to_carrier(
            tree.carry[c], six[1], work.one, six[2], work.inertia[carrier], work.bias[carrier]
        )


@kernel()
def gather(tree: Tree, chains: list[tuple[Rod, Work]], work: TreeWork) -> None:
    """Fill ``work.total`` and ``work.whole``: what the base has to move, chains folded in.

    ``work.inertia``, ``work.implicit`` and ``work.moment`` hold the implicit terms already.
    """
    take_base(tree, work)
    for c in range(tree.carrier.shape[0] - 1, -1, -1):
        a, b = tree.first[c], tree.first[c + 1]
        rod, own = chains[c]
        fold(
            rod,
            own.relative,
            work.inertia[a:b],
            own.bias,
            own.drifts,
            own.moment,
            work.implicit[a:b],
            work.hinge[a:b],
            work.gain[a + 2 * c : b + 2 * c + 2],
        )
        hand_on(tree, work, c, rod, own)


@kernel()
def scatter(
    tree: Tree, chains: list[tuple[Rod, Work]], work: TreeWork, acceleration: Array
) -> None:
    """Write hinge and link accelerations from the acceleration (6,) of the base."""
    for c in range(tree.carrier.shape[0]):
        a, b = tree.first[c], tree.first[c + 1]
        carrier = tree.carrier[c]
        if carrier == ON_BASE:
            transform(tree.carry[c], acceleration, work.clamp_acceleration[c])
        else:
            transform(tree.carry[c], work.link[carrier], work.clamp_acceleration[c])
        rod, own = chains[c]
        unfold(
            rod,
            own.relative,
            own.drifts,
            work.gain[a + 2 * c : b + 2 * c + 2],
            work.clamp_acceleration[c],
            work.hinge[a:b],
            work.link[a:b],
        )


@lean_kernel()
def solve_base(work: TreeWork, held: bool, acceleration: Array) -> None:
    """Solve the base: all six, or the turning alone where its origin is ``held`` to a path.

    ``acceleration`` (6,) leaves as the result; if held, its last three come as given.
    """
    matrix = work.six[0]
    if not held:
        for i in range(6):
            acceleration[i] = -work.whole[i]
            for j in range(6):
                matrix[i, j] = work.total[i, j]
        solve_positive(matrix, acceleration)
        return
    for i in range(3):
        acceleration[i] = -work.whole[i]
        for j in range(3):
            acceleration[i] -= work.total[i, 3 + j] * acceleration[3 + j]
            matrix[i, j] = work.total[i, j]
    solve_positive(matrix[:3, :3], acceleration[:3])
