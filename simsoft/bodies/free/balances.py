"""Energy and momentum books of a free lure."""

from __future__ import annotations

import numpy as np

from simsoft.bodies.free.step import Ahead
from simsoft.bodies.free.work import TreeWork
from simsoft.bodies.rod.forces import DEAD, PADDLE, REACTIVE, RESISTIVE, Work
from simsoft.core.arrays import Array
from simsoft.core.compiled import kernel, lean_kernel
from simsoft.hydrodynamics.section.motion import VELOCITY
from simsoft.mechanics.elastic import damping_power, elastic_energy
from simsoft.mechanics.multibody import Tree, momentum_turning, transform
from simsoft.mechanics.rod import Rod


@kernel()
def books_of(
    tree: Tree,
    chains: list[tuple[Rod, Work]],
    work: TreeWork,
    ahead: Ahead,
    impulse: Array,
) -> None:
    """Write energies and powers, and momentum and outer force (rows 0 and 2 of impulse)."""
    p, frame, twist = ahead.power, ahead.frame, ahead.twist
    p[:] = 0.0
    impulse[0] = 0.0
    impulse[2] = 0.0
    h, f, turned = np.zeros(6), np.zeros(6), np.zeros(6)
    push = np.zeros((2, 3))
    transform(tree.base.structure, twist, h)
    transform(tree.base.fluid, ahead.acceleration, f)
    momentum_turning(tree.base.fluid, twist, turned)
    for i in range(6):
        p[0] += 0.5 * twist[i] * h[i]
        p[2] += twist[i] * work.drag[i]
        p[3] += twist[i] * work.opened[i]
        p[4] += twist[i] * work.dead[i]
        p[7] -= twist[i] * (f[i] + turned[i])
    for i in range(3):
        velocity = 0.0
        for j in range(3):
            velocity += frame[i, j] * twist[3 + j]
            outer = (
                work.drag[3 + j] + work.dead[3 + j] + work.opened[3 + j] - f[3 + j] - turned[3 + j]
            )
            impulse[0, i] += frame[i, j] * h[3 + j]
            impulse[2, i] += frame[i, j] * outer
        p[8] += velocity * ahead.pull[i]
        impulse[2, i] += ahead.pull[i]
    for c in range(tree.carrier.shape[0]):
        a, b = tree.first[c], tree.first[c + 1]
        rod, own = chains[c]
        p[1] += elastic_energy(rod, ahead.angle[a:b])
        p[6] += damping_power(rod, own.bending)
        for k in range(a, b):
            link_books(tree, work, k, h, push, p, impulse)


@lean_kernel()
def link_books(
    tree: Tree, work: TreeWork, k: int, twist: Array, push: Array, p: Array, impulse: Array
) -> None:
    """Add one link's energy, powers, momentum and outer force to the books.

    ``twist`` (6,) and ``push`` (2, 3) are scratch space.
    """
    reach = 0.5 * tree.length[k]
    frame, w, link = work.frame[k], work.wrench[k], work.link[k]
    structure, carried = tree.structure[k], tree.fluid[k]
    for i in range(3):
        twist[i] = work.spin[k, i]
        twist[3 + i] = work.state[k, VELOCITY, i]
    drag = reactive = dead = paddle = kinetic = lost = 0.0
    for i in range(6):
        drag += w[RESISTIVE, i] * twist[i]
        reactive += w[REACTIVE, i] * twist[i]
        dead += w[DEAD, i] * twist[i]
        paddle += w[PADDLE, i] * twist[i]
    twist[3] -= twist[1] * reach
    twist[4] += twist[0] * reach
    for i in range(6):
        momentum = fluid = 0.0
        for j in range(6):
            momentum += structure[i, j] * twist[j]
            fluid += carried[i, j] * link[j]
        kinetic += twist[i] * momentum
        lost += twist[i] * fluid
        if i >= 3:
            push[0, i - 3] = momentum
            push[1, i - 3] = w[0, i] + w[1, i] + w[2, i] + w[3, i] - fluid
    p[0] += 0.5 * kinetic
    p[2] += drag
    p[3] += reactive
    p[4] += dead
    p[5] += paddle
    p[7] -= lost
    for m in range(3):
        x, y, z = frame[m, 0], frame[m, 1], frame[m, 2]
        impulse[0, m] += x * push[0, 0] + y * push[0, 1] + z * push[0, 2]
        impulse[2, m] += x * push[1, 0] + y * push[1, 1] + z * push[1, 2]
